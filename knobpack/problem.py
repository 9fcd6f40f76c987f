"""Problem: a request turned into whole numbers, for the solver.

Destinations become *items* 0, 1, … in the order of the request, knobs become positions 0, 1, … in
panel order, and sets of either become bit masks. Items that must share a knob, or stay out
together, are one *atom*. What is left of the demands are three facts about atoms: on which knobs
one may be, whether it may be left out, and which two may not share.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property

import attrs
import networkx as nx

from knobpack.words import Alone, Apart, Barred, Fixed, Request, Together, Travel


@attrs.frozen
class Atom:
    """Items that are on one knob together, or left out together.

    Args:
        items: mask of its items.
        size: how many they are.
        knobs: mask of the knobs it may be on.
        pinned: the knob it must be on, if ``keep`` or a required ``fixed`` says so.
        needed: whether it may not be left out.
        omission: what leaving it out costs, in points of the tier *unplaced*.
    """

    items: int
    size: int
    knobs: int
    pinned: int | None
    needed: bool
    omission: int


@attrs.frozen
class Spread:
    """Items that ought to be on one knob: each knob more than one costs ``weight``."""

    items: int
    weight: int


@attrs.frozen(eq=False)
class Problem:
    """All that the solver needs to know. Costs are whole numbers of points.

    Args:
        knobs: how many knobs the surface has.
        items: how many destinations there are.
        atoms: the atoms, by their lowest item.
        clashes: for each atom, the mask of the atoms it may not share a knob with.
        per_knob: how many items one knob may carry.
        routes: how many items may be placed in all.
        mix_kinds, mix_voices, crowd: the weights of the tier *sharing*.
        kinds, voices: the items of each kind and voice, as masks.
        travel_prices: for each travel wanted, what it would cost each item to have it.
        wanted: for each item, the position of its travel in ``travel_prices``.
        kept_travels: for each knob whose travel is kept, the position of that travel.
        spreads: bundles and preferred ``together`` rules.
        pairs: the price of each pair of items that share, from preferred ``apart`` rules.
        intrusions: preferred ``alone`` rules: the mask of the items and the weight.
        breakable: snapshots that may be broken: the mask of what moves and the weight.
        before: the knob of each item in the previous layout; None: no knob of this surface.
        places: what it costs each item to be on each knob (tier *layout*).
        steps: for each knob, how many steps down the order of reach it stands.
        pulls: how strongly each item is drawn up the order of reach.
        runs: voices and groups: the mask of the items and the weight of each run more than one.
        beside: for each knob, whether the one before it in panel order stands beside it.
    """

    knobs: int
    items: int
    atoms: tuple[Atom, ...]
    clashes: tuple[int, ...]
    per_knob: int
    routes: int
    mix_kinds: int
    mix_voices: int
    crowd: int
    kinds: tuple[int, ...]
    voices: tuple[int, ...]
    travel_prices: tuple[tuple[int, ...], ...]
    wanted: tuple[int, ...]
    kept_travels: dict[int, int]
    spreads: tuple[Spread, ...]
    pairs: dict[tuple[int, int], int]
    intrusions: tuple[tuple[int, int], ...]
    breakable: tuple[tuple[int, int], ...]
    before: dict[int, int | None]
    places: tuple[tuple[int, ...], ...]
    steps: tuple[int, ...]
    pulls: tuple[int, ...]
    runs: tuple[tuple[int, int], ...]
    beside: tuple[bool, ...]

    @cached_property
    def pinned_knobs(self) -> int:
        """Mask of the knobs that some atom is pinned to."""
        return sum(1 << knob for knob in {atom.pinned for atom in self.atoms} if knob is not None)

    def items_of(self, atoms: int) -> int:
        """Mask of the items that some atoms, given as a mask, consist of."""
        return sum(self.atoms[number].items for number in bits(atoms))

    def knobs_of(self, atoms: int) -> int:
        """Mask of the knobs that some atoms may be on as one set.

        A knob that an atom is pinned to carries that atom, so it is open only to sets with it.
        """
        knobs, pinned = (1 << self.knobs) - 1, self.pinned_knobs
        for number in bits(atoms):
            atom = self.atoms[number]
            knobs &= atom.knobs
            pinned &= -1 if atom.pinned is None else ~(1 << atom.pinned)
        return knobs & ~pinned

    def unbroken(self) -> Problem:
        """The same problem, but no snapshot that breaking costs anything may be broken."""
        clashes = list(self.clashes)
        torn = []
        for number, atom in enumerate(self.atoms):
            for mask, _ in self.breakable:
                moved, held = atom.items & mask, atom.items & ~mask
                if moved and held:
                    torn.append(number)
                for other, beside in enumerate(self.atoms):
                    if (moved and beside.items & ~mask) or (held and beside.items & mask):
                        clashes[number] |= (1 << other) & ~(1 << number)
        atoms = tuple(
            attrs.evolve(atom, knobs=0) if number in torn else atom
            for number, atom in enumerate(self.atoms)
        )
        return attrs.evolve(self, atoms=atoms, clashes=tuple(clashes), breakable=())

    @property
    def impossible(self) -> bool:
        """Whether some atom that may not be left out has no knob it may be on."""
        return any(atom.needed and not atom.knobs for atom in self.atoms)


def bits(mask: int) -> Iterator[int]:
    """The positions of the set bits, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def problem_of(request: Request) -> Problem:
    """Turn a request into whole numbers."""
    return _Compiler(request).problem()


class _Compiler:
    """Holds the numbering of one request while it is turned into a problem."""

    def __init__(self, request: Request) -> None:
        self.request = request
        self.names = tuple(request.destinations)
        self.item = {name: position for position, name in enumerate(self.names)}
        self.knob = {name: position for position, name in enumerate(request.surface.knob_names)}
        self.everything = (1 << len(self.names)) - 1
        self.apart = [0] * len(self.names)
        self.allowed = [self._open_knobs()] * len(self.names)
        self.pinned: dict[int, int] = {}

    def problem(self) -> Problem:
        request, surface, weights = self.request, self.request.surface, self.request.weights
        self._separate()
        self._restrict()
        atoms, clashes = self._atoms()
        travels, prices, wanted = self._travels()
        kept = {self.knob[s.knob]: s.travel for s in request.keep.travels}
        keeps = {self.knob[route.knob] for route in request.keep.routes}
        return Problem(
            knobs=len(surface.knobs),
            items=len(self.names),
            atoms=atoms,
            clashes=clashes,
            per_knob=surface.destinations_per_knob or max(1, len(self.names)),
            routes=len(self.names) if surface.routes is None else surface.routes,
            mix_kinds=weights.mix_kinds,
            mix_voices=weights.mix_voices,
            crowd=weights.crowd,
            kinds=self._classes(inner.kind for inner in request.destinations.values()),
            voices=self._classes(request.voice_of[name].name for name in self.names),
            travel_prices=prices,
            wanted=wanted,
            kept_travels={knob: travels.index(kept[knob]) for knob in kept if knob in keeps},
            spreads=self._spreads(),
            pairs=self._pairs(),
            intrusions=tuple(
                (self._mask(rule.names), rule.weight)
                for rule in request.rules
                if isinstance(rule, Alone) and rule.weight is not None
            ),
            breakable=tuple(
                (self._full_mask(request.moved(snapshot)), snapshot.break_weight)
                for snapshot in request.played
                if snapshot.break_weight
            ),
            before=self._before(),
            places=self._places(),
            steps=tuple(surface.reach_order.index(name) for name in surface.knob_names),
            pulls=tuple(
                weights.favour * (5 - inner.priority) for inner in request.destinations.values()
            ),
            runs=self._runs(),
            beside=tuple(
                position > 0 and knob.beside(surface.knobs[position - 1])
                for position, knob in enumerate(surface.knobs)
            ),
        )

    def _mask(self, names: Iterable[str]) -> int:
        return self._full_mask(self.request.named(names))

    def _full_mask(self, full_names: Iterable[str]) -> int:
        return sum(1 << self.item[name] for name in full_names)

    def _knob_mask(self, names: Iterable[str]) -> int:
        return sum(1 << self.knob[name] for name in names)

    def _open_knobs(self) -> int:
        everything = (1 << len(self.knob)) - 1
        return everything & ~self._knob_mask(self.request.surface.reserved)

    def _separate(self) -> None:
        """Note which items may not share."""
        for snapshot in self.request.played:
            if snapshot.break_weight is None:
                moved = self._full_mask(self.request.moved(snapshot))
                self._part(moved, self.everything & ~moved)
        for rule in self.request.rules:
            if isinstance(rule, Apart) and rule.weight is None:
                self._part(self._mask(rule.first), self._mask(rule.second))
            if isinstance(rule, Alone) and rule.weight is None:
                inside = self._mask(rule.names)
                self._part(inside, self.everything & ~inside)

    def _part(self, first: int, second: int) -> None:
        for item in bits(first):
            self.apart[item] |= second & ~(1 << item)
        for item in bits(second):
            self.apart[item] |= first & ~(1 << item)

    def _restrict(self) -> None:
        """Note on which knobs each item may be."""
        for route in self.request.keep.routes:
            item, knob = self.item[route.destination], self.knob[route.knob]
            self.pinned[item] = knob
            self.allowed[item] = 1 << knob
        for rule in self.request.rules:
            if rule.weight is not None:
                continue
            if isinstance(rule, Fixed):
                for item in bits(self._mask(rule.names)):
                    self.allowed[item] &= 1 << self.knob[rule.knob]
                    self.pinned[item] = self.knob[rule.knob]
            if isinstance(rule, Barred):
                for item in bits(self._mask(rule.names)):
                    self.allowed[item] &= ~self._knob_mask(rule.knobs)

    def _atoms(self) -> tuple[tuple[Atom, ...], tuple[int, ...]]:
        """Join what must be together, and what is pinned to one knob."""
        joined: nx.Graph[int] = nx.Graph()
        joined.add_nodes_from(range(len(self.names)))
        for rule in self.request.rules:
            if isinstance(rule, Together) and rule.weight is None:
                nx.add_path(joined, bits(self._mask(rule.names)))
        for knob in set(self.pinned.values()):
            nx.add_path(joined, [item for item, at in self.pinned.items() if at == knob])
        sets = sorted(sorted(part) for part in nx.connected_components(joined))
        atoms = tuple(self._atom(part) for part in sets)
        barring = [self._union(self.apart[item] for item in part) for part in sets]
        clashes = tuple(
            sum(1 << other for other, atom in enumerate(atoms) if atom.items & bar) & ~(1 << own)
            for own, bar in enumerate(barring)
        )
        return atoms, clashes

    def _atom(self, part: list[int]) -> Atom:
        mask = sum(1 << item for item in part)
        knobs = -1
        for item in part:
            knobs &= self.allowed[item]
        limit = self.request.surface.destinations_per_knob
        at_odds = any(self.apart[item] & mask for item in part)
        if at_odds or (limit is not None and len(part) > limit):
            knobs = 0
        pins = {self.pinned[item] for item in part if item in self.pinned}
        inner = [self.request.destinations[self.names[item]] for item in part]
        weights = self.request.weights.unplaced
        return Atom(
            items=mask,
            size=len(part),
            knobs=knobs,
            pinned=min(pins, default=None),
            needed=bool(pins) or any(each.must_place for each in inner),
            omission=sum(weights[each.priority - 1] for each in inner),
        )

    @staticmethod
    def _union(masks: Iterable[int]) -> int:
        union = 0
        for mask in masks:
            union |= mask
        return union

    def _classes(self, keys: Iterable[str]) -> tuple[int, ...]:
        found: dict[str, int] = {}
        for item, key in enumerate(keys):
            found[key] = found.get(key, 0) | 1 << item
        return tuple(found.values())

    def _travels(self) -> tuple[list[Travel], tuple[tuple[int, ...], ...], tuple[int, ...]]:
        """The different travels, what each would cost each item, and which each item wants."""
        request = self.request
        wishes = [request.wanted(name) for name in self.names]
        kept = [setting.travel for setting in request.keep.travels]
        travels = list(dict.fromkeys([*wishes, *kept]))
        rates = [
            request.weights.travel[inner.priority - 1] for inner in request.destinations.values()
        ]
        prices = tuple(
            tuple(
                rate * hundredths(wish, travel, request.surface.top)
                for wish, rate in zip(wishes, rates, strict=True)
            )
            for travel in travels
        )
        return travels, prices, tuple(travels.index(wish) for wish in wishes)

    def _spreads(self) -> tuple[Spread, ...]:
        request = self.request
        bundles: dict[tuple[str | None, str], int] = {}
        for name, inner in request.destinations.items():
            if inner.source_knob is not None:
                key = (request.voice_of[name].source, inner.source_knob)
                bundles[key] = bundles.get(key, 0) | 1 << self.item[name]
        found = [Spread(mask, request.weights.split) for mask in bundles.values()]
        found += [
            Spread(self._mask(rule.names), rule.weight)
            for rule in request.rules
            if isinstance(rule, Together) and rule.weight is not None
        ]
        return tuple(each for each in found if each.weight and each.items.bit_count() > 1)

    def _pairs(self) -> dict[tuple[int, int], int]:
        found: dict[tuple[int, int], int] = {}
        for rule in self.request.rules:
            if isinstance(rule, Apart) and rule.weight is not None:
                first, second = self._mask(rule.first), self._mask(rule.second)
                pairs = {
                    (min(a, b), max(a, b)) for a in bits(first) for b in bits(second) if a != b
                }
                for pair in sorted(pairs):
                    found[pair] = found.get(pair, 0) + rule.weight
        return found

    def _before(self) -> dict[int, int | None]:
        previous = self.request.previous
        return {
            self.item[route.destination]: self.knob.get(route.knob)
            for route in (previous.routes if previous else ())
            if route.destination in self.item
        }

    def _places(self) -> tuple[tuple[int, ...], ...]:
        """What each knob costs each item, but for its step in the order of reach."""
        surface, weights = self.request.surface, self.request.weights
        usual = {kind for knob in surface.knobs for kind in knob.usual}
        rows = []
        for inner in self.request.destinations.values():
            drawn = inner.kind in usual
            rows.append(
                [weights.habit * (drawn and inner.kind not in knob.usual) for knob in surface.knobs]
            )
        for rule in self.request.rules:
            if rule.weight is None or not isinstance(rule, Fixed | Barred):
                continue
            knobs = (rule.knob,) if isinstance(rule, Fixed) else rule.knobs
            named = self._knob_mask(knobs)
            wrong = ~named if isinstance(rule, Fixed) else named
            for item in bits(self._mask(rule.names)):
                for knob in range(len(surface.knobs)):
                    rows[item][knob] += rule.weight * (wrong >> knob & 1)
        return tuple(tuple(row) for row in rows)

    def _runs(self) -> tuple[tuple[int, int], ...]:
        request, weights = self.request, self.request.weights
        voices = ((self._mask([voice.name]), weights.voice_runs) for voice in request.voices)
        groups = ((self._mask([group.name]), weights.group_runs) for group in request.groups)
        return tuple((mask, weight) for mask, weight in (*voices, *groups) if mask and weight)


def hundredths(wished: Travel, given: Travel, top: int) -> int:
    """By how many hundredths of full travel one travel misses another, to the nearest.

    Half a hundredth counts as one. ``top`` is the highest position of the surface. From 0 for the
    same travel to 200 for the full travel reversed.
    """
    missed = abs(wished.start - given.start) + abs(wished.end - given.end)
    return (200 * missed + top) // (2 * top)
