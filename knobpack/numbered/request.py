"""A request numbered: the problem it poses, in whole numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from knobpack.definition.importance_prices import hidden_price, omission_price, route_importance
from knobpack.definition.phrases import ESSENTIAL
from knobpack.definition.prices import tiers_of
from knobpack.definition.travel_prices import missed
from knobpack.numbered.components import components
from knobpack.numbered.problem import Atom, Before, Mix, Problem, Spread, bits
from knobpack.words import Request, Travel


def problem_of(request: Request, *, spare: bool = False) -> Problem:
    """Turn a request into whole numbers.

    Args:
        request: what is asked.
        spare: whether only what may share is of interest, if there were room for all: on one knob
            more, which stands last and which everything may be on, with no snapshot broken and
            nothing left out. Then nothing has a price.
    """
    numbering = _Numbering(request, spare)
    return numbering.sharing() if spare else numbering.problem()


class _Numbering:
    """Holds the numbering of one request while it is turned into a problem."""

    def __init__(self, request: Request, spare: bool) -> None:
        self.request, self.spare = request, spare
        self.names = tuple(request.by_full_name)
        self.item = {name: position for position, name in enumerate(self.names)}
        self.knob = {name: position for position, name in enumerate(request.surface.knob_names)}
        self.everything = (1 << len(self.names)) - 1
        self.per_knob = request.surface.destinations_per_knob or max(1, len(self.names))
        self.apart: list[int] = []
        self.allowed = [self._open_knobs()] * len(self.names)
        self.pinned: dict[int, int] = {}
        self.joined = self._joined()
        bundles = request.bundles
        self.bundled = {self.item[name] for bundle in bundles for name in bundle.names}

    def sharing(self) -> Problem:
        """Who may share with whom, and nothing else."""
        self._separate()
        self._restrict()
        atoms, clashes = self._atoms()
        nothing = (0,) * len(self.names)
        return Problem(
            knobs=len(self.knob) + 1,
            items=len(self.names),
            atoms=atoms,
            clashes=clashes,
            per_knob=self.per_knob,
            routes=len(self.names),
            mixes=(),
            # Where the fewest knobs are sought sets are priced, at nothing.
            travel_prices=(nothing,),
            wanted=nothing,
            kept_travels={},
            bundles=(),
            spreads=(),
            pairs={},
            intrusions=(),
            breakable=(),
            before=(),
            standing=(),
            places=(),
            steps=(),
            pulls=(),
            runs=(),
            beside=(),
            sequence=(),
            out_of_sequence=self.request.weights.sequence,
        )

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
            per_knob=self.per_knob,
            routes=len(self.names) if surface.routes is None else surface.routes,
            mixes=self._mixes(),
            travel_prices=prices,
            wanted=wanted,
            kept_travels={knob: travels.index(kept[knob]) for knob in kept if knob in keeps},
            bundles=tuple(self._full_mask(bundle.names) for bundle in request.bundles),
            spreads=self._spreads(),
            pairs=self._pairs(),
            intrusions=tuple(
                (self._full_mask(each.alone), each.weight)
                for each in request.preferred
                if each.alone
            ),
            breakable=tuple(
                (self._full_mask(request.moved(snapshot)), snapshot.break_weight)
                for snapshot in request.played
                if snapshot.break_weight
            ),
            before=self._before(travels),
            standing=tuple(route_importance(request, name) for name in self.names),
            places=self._places(),
            steps=tuple(surface.reach_order.index(name) for name in surface.knob_names),
            pulls=tuple(
                weights.favour * (5 - inner.priority) for inner in request.by_full_name.values()
            ),
            runs=self._runs(),
            beside=tuple(
                position > 0 and knob.beside(surface.knobs[position - 1])
                for position, knob in enumerate(surface.knobs)
            ),
            sequence=tuple((self.item[one], self.item[two]) for one, two in request.sequence),
            out_of_sequence=weights.sequence,
            order=tiers_of(request.in_use),
            joined=self.joined if request.in_use else (),
            travels_there={knob: travels.index(travel) for knob, travel in self._travels_there()},
        )

    def _mask(self, names: Iterable[str]) -> int:
        return self._full_mask(self.request.named(names))

    def _full_mask(self, full_names: Iterable[str]) -> int:
        return sum(1 << self.item[name] for name in full_names)

    def _knob_mask(self, names: Iterable[str]) -> int:
        return sum(1 << self.knob[name] for name in names)

    def _open_knobs(self) -> int:
        everything = (1 << len(self.knob) + self.spare) - 1
        return everything & ~self._knob_mask(self.request.surface.reserved)

    def _separate(self) -> None:
        """Note which items may not share."""
        alike = {self.everything}
        for snapshot in self.request.played:
            if snapshot.break_weight is None or self.spare:
                moved = self._full_mask(self.request.moved(snapshot))
                alike = {part for own in alike for part in (own & moved, own & ~moved)}
        others = {item: self.everything & ~part for part in alike for item in bits(part)}
        # What shares a knob in a layout in use may go on doing so, whatever the snapshots move.
        self.apart = [others[item] & ~joined for item, joined in enumerate(self.joined)]
        for each in self.request.required:
            if each.parted:
                self._part(*map(self._full_mask, each.parted))
            inside = self._full_mask(each.alone)
            self._part(inside, self.everything & ~inside)
        if not self.spare:
            self._separate_expendable()

    def _separate_expendable(self) -> None:
        """To join what is expendable costs more than to leave it out, in the tier *bundles*."""
        expendable = self._full_mask(self.request.expendable)
        own = [1 << item for item in range(len(self.names))]
        for bundle in self.request.bundles:
            mask = self._full_mask(bundle.names)
            for item in bits(mask):
                own[item] = mask
        for item, mask in enumerate(own):
            kept_off = self.everything if expendable >> item & 1 else expendable
            self.apart[item] |= kept_off & ~mask

    def _part(self, first: int, second: int) -> None:
        for item in bits(first):
            self.apart[item] |= second & ~(1 << item)
        for item in bits(second):
            self.apart[item] |= first & ~(1 << item)

    def _joined(self) -> tuple[int, ...]:
        """For each item, those that it shared a knob with already and need not be parted from."""
        use = self.request.use
        if use is None:
            return (0,) * len(self.names)
        mates: dict[str, int] = {}
        for name, knob in use.knob_of.items():
            if name not in use.edited:
                mates[knob] = mates.get(knob, 0) | 1 << self.item[name]
        found = [0] * len(self.names)
        for mask in mates.values():
            for item in bits(mask):
                found[item] = mask & ~(1 << item)
        return tuple(found)

    def _travels_there(self) -> list[tuple[int, Travel]]:
        """The travel of each knob in a layout in use, which the knob may keep."""
        request = self.request
        on_knobs = request.in_use and not request.surface.per_route
        previous = request.previous if on_knobs else None
        if previous is None:
            return []
        there = (each for each in previous.travels if each.knob in self.knob)
        return [(self.knob[each.knob], each.travel) for each in there]

    def _restrict(self) -> None:
        """Note on which knobs each item may be."""
        for route in self.request.keep.routes:
            item, knob = self.item[route.destination], self.knob[route.knob]
            self.pinned[item] = knob
            self.allowed[item] = 1 << knob
        for each in self.request.required:
            for item in bits(self._full_mask(each.limited)):
                self.allowed[item] &= ~self._knob_mask(each.off)
                if each.on is not None:
                    self.pinned[item] = self.knob[each.on]
                    self.allowed[item] &= 1 << self.knob[each.on]

    def _atoms(self) -> tuple[tuple[Atom, ...], tuple[int, ...]]:
        """Join what must be together, and what is pinned to one knob."""
        together = [self._full_mask(each.joined) for each in self.request.required]
        together += [
            sum(1 << item for item, at in self.pinned.items() if at == knob)
            for knob in set(self.pinned.values())
        ]
        sets = components(len(self.names), together)
        atoms = tuple(self._atom(part) for part in sets)
        barring = [self._union(self.apart[item] for item in part) for part in sets]
        several = [(number, more) for number, (_, *more) in enumerate(sets) if more]
        clashing = {bar: self._atoms_with(bar, sets, several) for bar in set(barring)}
        clashes = tuple(clashing[bar] & ~(1 << own) for own, bar in enumerate(barring))
        return atoms, clashes

    def _atoms_with(
        self, items: int, sets: Sequence[list[int]], several: Iterable[tuple[int, list[int]]]
    ) -> int:
        """A mask of the atoms, ``several`` of them with more items, that hold some items."""
        told = f"{items:0{len(self.names)}b}"[::-1]  # the first item first
        found = int("".join([told[part[0]] for part in reversed(sets)]), 2)
        for number, more in several:
            if any(items >> item & 1 for item in more):
                found |= 1 << number
        return found

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
        names = [self.names[item] for item in part]
        must = any(self.request.by_full_name[name].must_place for name in names)
        return Atom(
            items=mask,
            size=len(part),
            knobs=knobs,
            pinned=min(pins, default=None),
            needed=bool(pins) or must,
            omission=sum(omission_price(self.request, name) for name in names),
            strays=sum(item in self.bundled for item in part),
            hidden=sum(hidden_price(self.request, name) for name in names),
            # Where no knob is open to anything, none is closed to it by what is asked of it.
            contradicted=not knobs and not pins and bool(self._open_knobs()),
        )

    @staticmethod
    def _union(masks: Iterable[int]) -> int:
        union = 0
        for mask in masks:
            union |= mask
        return union

    def _mixes(self) -> tuple[Mix, ...]:
        request, weights = self.request, self.request.weights
        kinds: dict[str, int] = {}
        for item, inner in enumerate(request.by_full_name.values()):
            kinds[inner.kind] = kinds.get(inner.kind, 0) | 1 << item
        loads = [self._full_mask(load) for load in request.loads]
        priorities = [inner.priority for inner in request.by_full_name.values()]
        essential = sum(1 << item for item, own in enumerate(priorities) if own == ESSENTIAL)
        voices = [self._mask([voice.name]) for voice in request.voices]
        stances = [self._full_mask(each) for each in request.stances]
        beside = [(own & essential, self.everything & ~own) for own in voices]
        found = (
            (weights.mix_kinds, kinds.values(), 0, -1),
            (weights.mix_voices, voices, 0, -1),
            (weights.join, loads, weights.heap, -1),
            (weights.essential, (load & essential for load in loads), 0, essential),
            (weights.company, (essential, self.everything & ~essential), 0, -1),
            *((weights.company, pair, 0, sum(pair)) for pair in beside if all(pair)),
            *((weights.held, stances, 0, sum(stances)) for _ in stances[:1]),
            (weights.crowd, (), 0, -1),
        )
        return tuple(
            Mix(weight, tuple(mask for mask in masks if mask.bit_count() > 1), heap, among)
            for weight, masks, heap, among in found
        )

    def _travels(self) -> tuple[list[Travel], tuple[tuple[int, ...], ...], tuple[int, ...]]:
        """The different travels, what each would cost each item, and which each item wants."""
        request, surface = self.request, self.request.surface
        if surface.per_route:  # a knob goes all the way, and each route as far as is wanted
            return [Travel.full(surface.bits)], ((0,) * len(self.names),), (0,) * len(self.names)
        wishes = [request.wanted(name) for name in self.names]
        kept = [setting.travel for setting in request.keep.travels]
        had = [travel for _, travel in self._travels_there()]
        travels = list(dict.fromkeys([*wishes, *kept, *had]))
        rates = [
            request.weights.travel[inner.priority - 1] for inner in request.by_full_name.values()
        ]
        place = {travel: at for at, travel in enumerate(travels)}
        wanted = tuple(place[wish] for wish in wishes)
        # Many want the same at the same rate.
        same = list(zip(wanted, rates, strict=True))
        different = {each: row for row, each in enumerate(dict.fromkeys(same))}
        rows = [different[each] for each in same]
        top, prices = surface.top, []
        for travel in travels:
            off = [missed(wish, travel, top) for wish in travels]
            each = [rate * off[at] for at, rate in different]
            prices.append(tuple([each[row] for row in rows]))
        return travels, tuple(prices), wanted

    def _spreads(self) -> tuple[Spread, ...]:
        found = [
            Spread(self._full_mask(each.joined), each.weight) for each in self.request.preferred
        ]
        return tuple(each for each in found if each.items.bit_count() > 1)

    def _pairs(self) -> dict[tuple[int, int], int]:
        found: dict[tuple[int, int], int] = {}
        for each in self.request.preferred:
            first, second = map(self._full_mask, each.parted or ((), ()))
            pairs = {(min(a, b), max(a, b)) for a in bits(first) for b in bits(second) if a != b}
            for pair in sorted(pairs):
                found[pair] = found.get(pair, 0) + each.weight
        return found

    def _before(self, travels: list[Travel]) -> tuple[Before, ...]:
        previous = self.request.previous
        if previous is None:
            return ()
        drove: dict[str, int] = {}
        for route in previous.routes:
            if route.destination in self.item:
                drove[route.knob] = drove.get(route.knob, 0) | 1 << self.item[route.destination]
        edited = self._mask(self.request.edited)
        place = {travel: position for position, travel in enumerate(travels)}
        had = {setting.knob: place.get(setting.travel, -1) for setting in previous.travels}
        if self.request.surface.per_route:
            had = {}
        return tuple(
            Before(items, items & ~edited, self.knob.get(knob), had.get(knob))
            for knob, items in drove.items()
        )

    def _places(self) -> tuple[tuple[int, ...], ...]:
        """What each knob costs each item, but for its step in the order of reach."""
        surface, weights = self.request.surface, self.request.weights
        habits = {
            kind: [weights.habit * (knob not in usual) for knob in surface.knob_names]
            for kind, usual in surface.usual_of.items()
        }
        nothing = [0] * len(surface.knobs)
        kinds = (inner.kind for inner in self.request.by_full_name.values())
        rows = [list(habits.get(kind, nothing)) for kind in kinds]
        for each in self.request.preferred:
            for item in bits(self._full_mask(each.limited)):
                for knob in each.off:
                    rows[item][self.knob[knob]] += each.weight
        return tuple(tuple(row) for row in rows)

    def _runs(self) -> tuple[tuple[int, int], ...]:
        request, weights = self.request, self.request.weights
        voices = ((self._mask([voice.name]), weights.voice_runs) for voice in request.voices)
        groups = ((self._mask([group.name]), weights.group_runs) for group in request.groups)
        return tuple((mask, weight) for mask, weight in (*voices, *groups) if mask and weight)
