"""Problem: a request turned into whole numbers, for the solver.

Destinations become *items* 0, 1, … in the order of the request, knobs become positions 0, 1, … in
panel order, and sets of either become bit masks. Items that must share a knob, or stay out
together, are one *atom*. What is left of the demands are three facts about atoms: on which knobs
one may be, whether it may be left out, and which two may not share.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property, reduce
from operator import or_

import attrs

from knobpack.definition.prices import TIERS


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
        strays: the same in the tier *bundles*: how many of its items are of a bundle.
        hidden: the same in the tier *sharing*.
        contradicted: whether what is asked of it alone leaves it no knob of a panel that has some
            to be on.
    """

    items: int
    size: int
    knobs: int
    pinned: int | None
    needed: bool
    omission: int
    strays: int = 0
    hidden: int = 0
    contradicted: bool = False

    @property
    def costs(self) -> tuple[int, int, int, int]:
        """What leaving it out costs in each of the first four tiers."""
        return self.omission, self.strays, 0, self.hidden

    @property
    def free_to_leave(self) -> bool:
        """Whether leaving it out costs nothing before the tier *independence*."""
        return not (self.needed or self.omission or self.strays)


@attrs.frozen
class Before:
    """What one knob drove in the previous layout.

    Args:
        items: mask of the items.
        bundle: mask of those of them that are to stay together there: the edit names none of them.
        knob: the knob; None: it is none of this surface.
        travel: the position of its travel in ``Problem.travel_prices``, -1 if nothing wants it;
            None: none was given.
    """

    items: int
    bundle: int
    knob: int | None
    travel: int | None


@attrs.frozen
class Spread:
    """Items that ought to be on one knob: each knob more than one costs ``weight``."""

    items: int
    weight: int


@attrs.frozen
class Mix:
    """Classes of items: a knob that carries some of more than one pays for each more than one.

    Args:
        weight: in points.
        masks: the items of each class of two or more; an item in none is a class of its own.
        heap: what each two classes more than one cost besides; of one mix at most.
        among: the items that count; a knob with none of them pays nothing. -1: all count.
    """

    weight: int
    masks: tuple[int, ...] = ()
    heap: int = 0
    among: int = -1

    @property
    def of_all(self) -> bool:
        """Whether all items count, so that the first class of each knob in use is free."""
        return self.among == -1

    def alone(self, items: int) -> int:
        """Those of some items that are a class of their own."""
        return items & self.among & ~sum(self.masks)

    def count(self, items: int) -> int:
        """How many classes some items are of."""
        return self.alone(items).bit_count() + sum(1 for mask in self.masks if mask & items)


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
        mixes: what costs something to have more than one of on a knob (tier *sharing*).
        travel_prices: for each travel wanted, what it would cost each item to have it.
        wanted: for each item, the position of its travel in ``travel_prices``.
        kept_travels: for each knob whose travel is kept, the position of that travel.
        bundles: the masks of the bundles; a knob more than one costs a point.
        spreads: preferred ``together`` rules.
        pairs: the price of each pair of items that share, from preferred ``apart`` rules.
        intrusions: preferred ``alone`` rules: the mask of the items and the weight.
        breakable: snapshots that may be broken: the mask of what moves and the weight.
        before: what each knob drove in the previous layout.
        standing: for each item, what its importance counts where its route there changes.
        places: what it costs each item to be on each knob (tier *layout*).
        steps: for each knob, how many steps down the order of reach it stands.
        pulls: how strongly each item is drawn up the order of reach.
        runs: voices and groups: the mask of the items and the weight of each run more than one.
        beside: for each knob, whether the one before it in panel order stands beside it.
        sequence: pairs of items of which the second is to come directly after the first.
        out_of_sequence: what it costs that it does not; twice that where it comes before.
        order: the names of the tiers, the most important first.
        joined: of a layout in use, for each item the mask of those that it shared a knob with, and
            may go on sharing with whatever snapshots move; empty: no layout is in use.
        travels_there: of a layout in use, for each knob the position of the travel that it has.
        one_empty: of a layout in use, the mask of the knobs of which one at least is to carry
            nothing; 0: none need.
    """

    knobs: int
    items: int
    atoms: tuple[Atom, ...]
    clashes: tuple[int, ...]
    per_knob: int
    routes: int
    mixes: tuple[Mix, ...]
    travel_prices: tuple[tuple[int, ...], ...]
    wanted: tuple[int, ...]
    kept_travels: dict[int, int]
    bundles: tuple[int, ...]
    spreads: tuple[Spread, ...]
    pairs: dict[tuple[int, int], int]
    intrusions: tuple[tuple[int, int], ...]
    breakable: tuple[tuple[int, int], ...]
    before: tuple[Before, ...]
    standing: tuple[int, ...]
    places: tuple[tuple[int, ...], ...]
    steps: tuple[int, ...]
    pulls: tuple[int, ...]
    runs: tuple[tuple[int, int], ...]
    beside: tuple[bool, ...]
    sequence: tuple[tuple[int, int], ...]
    out_of_sequence: int
    order: tuple[str, ...] = TIERS
    joined: tuple[int, ...] = ()
    travels_there: dict[int, int] = attrs.Factory(dict)
    one_empty: int = 0

    @property
    def in_use(self) -> bool:
        """Whether it is an edit of a layout in use."""
        return self.order != TIERS

    @cached_property
    def routed_before(self) -> int:
        """Mask of the items that the previous layout had on some knob."""
        return sum(before.items for before in self.before)

    @cached_property
    def a_route(self) -> int:
        """More than all importance and all travels that can be set anew (tier *change*)."""
        return 1 + sum(self.standing[item] for item in bits(self.routed_before)) + len(self.before)

    @cached_property
    def a_bundle(self) -> int:
        """More than all that can change besides bundles (tier *change*)."""
        return self.a_route * (1 + self.routed_before.bit_count())

    def elsewhere(self, items: int) -> int:
        """What it costs that items are not where they were, bundles aside (tier *change*)."""
        return sum(self.a_route + self.standing[item] for item in bits(items))

    @cached_property
    def first(self) -> int:
        """What comes off the price of each knob in use: its first class of a mix of all is free."""
        return sum(mix.weight for mix in self.mixes if mix.of_all)

    @cached_property
    def classes(self) -> tuple[tuple[int, int], ...]:
        """The classes of two or more items, and what each costs on every knob that has some.

        Of a mix that is not of all, what counts is one class more that costs less than nothing: the
        first class on a knob is free.
        """
        found: dict[int, int] = {}
        for mix in self.mixes:
            free = () if mix.of_all else ((mix.among, -mix.weight),)
            for mask, weight in (*((mask, mix.weight) for mask in mix.masks), *free):
                found[mask] = found.get(mask, 0) + weight
        return tuple((mask, weight) for mask, weight in found.items() if mask and weight)

    @cached_property
    def each(self) -> tuple[int, ...]:
        """What each item costs wherever it is: its classes that consist of it alone."""
        found = [0] * self.items
        for mix in self.mixes:
            for item in bits(mix.alone((1 << self.items) - 1)):
                found[item] += mix.weight
        return tuple(found)

    @cached_property
    def heap(self) -> int:
        """What each two loads more than one on a knob cost."""
        return sum(mix.heap for mix in self.mixes)

    @cached_property
    def load_masks(self) -> tuple[int, ...]:
        """The classes of the mix that has a heap, each item in one."""
        several = [mask for mix in self.mixes if mix.heap for mask in mix.masks]
        alone = (1 << self.items) - 1 & ~sum(several)
        return (*several, *(1 << item for item in bits(alone)))

    def heaped(self, items: int) -> int:
        """What a knob with these items costs for each two loads more than one."""
        if not (self.heap and items):
            return 0
        more = len({self._load_of[item] for item in bits(items)}) - 1
        return self.heap * (more * (more - 1) // 2)

    @cached_property
    def _load_of(self) -> dict[int, int]:
        """For each item its load: the position in ``load_masks``."""
        return {item: at for at, load in enumerate(self.load_masks) for item in bits(load)}

    @cached_property
    def pinned_knobs(self) -> int:
        """Mask of the knobs that some atom is pinned to."""
        return sum(1 << knob for knob in {atom.pinned for atom in self.atoms} if knob is not None)

    @cached_property
    def open_knobs(self) -> int:
        """Mask of the knobs that some atom may be on."""
        return reduce(or_, (atom.knobs for atom in self.atoms), 0)

    @cached_property
    def atom_of(self) -> dict[int, int]:
        """The number of the atom that each item is of."""
        return {item: at for at, atom in enumerate(self.atoms) for item in bits(atom.items)}

    def atoms_on(self, knobs: Mapping[int, int]) -> dict[int, int]:
        """Mask of the atoms on each knob that has some, from the knob of each item."""
        found: dict[int, int] = {}
        for number, atom in enumerate(self.atoms):
            knob = knobs.get(next(bits(atom.items)))
            if knob is not None:
                found[knob] = found.get(knob, 0) | 1 << number
        return found

    @cached_property
    def atom_pairs(self) -> dict[tuple[int, int], int]:
        """The price of each two atoms that share, and of an atom with itself, what is within it."""
        found: dict[tuple[int, int], int] = {}
        for (one, other), price in self.pairs.items():
            first, second = sorted((self.atom_of[one], self.atom_of[other]))
            found[first, second] = found.get((first, second), 0) + price
        return found

    @cached_property
    def by_itself(self) -> tuple[int, ...]:
        """What each atom adds wherever it is: single classes, and pairs within it."""
        return tuple(
            sum(self.each[item] for item in bits(atom.items)) + self.atom_pairs.get((at, at), 0)
            for at, atom in enumerate(self.atoms)
        )

    @cached_property
    def travel_costs(self) -> tuple[tuple[int, ...], ...]:
        """For each travel wanted, what it would cost each atom to have it."""
        return tuple(
            tuple(sum(row[item] for item in bits(atom.items)) for atom in self.atoms)
            for row in self.travel_prices
        )

    @cached_property
    def touched(self) -> tuple[tuple[int, int], ...]:
        """What costs a knob something if it has any of some items: their mask, and the cost.

        An intrusion costs its weight where a knob has some of its items and some others: once for
        each side that is touched, less once for every knob. Bundles are not among these.
        """
        everything = (1 << self.items) - 1
        spreads = ((spread.items, spread.weight) for spread in self.spreads)
        sides = ((side, w) for mask, w in self.intrusions for side in (mask, everything & ~mask))
        return (*self.classes, *spreads, *sides)

    @cached_property
    def apiece(self) -> tuple[int, int, int, int]:
        """What comes off each of the first four tiers: what a first knob is counted by mistake.

        Each bundle counts its knobs and what is left out, less one. Each spread counts its knobs,
        less one if anything of it is on a knob.
        """
        return 0, len(self.bundles), 0, sum(spread.weight for spread in self.spreads)

    @cached_property
    def spread_atoms(self) -> tuple[int, ...]:
        """For each spread, a mask of those of its atoms that may be on a knob."""
        of = {
            item: n for n, atom in enumerate(self.atoms) if atom.knobs for item in bits(atom.items)
        }
        sets = ({of[item] for item in bits(spread.items) if item in of} for spread in self.spreads)
        return tuple(sum(1 << number for number in own) for own in sets)

    @cached_property
    def items_pinned(self) -> dict[int, int]:
        """Mask of the items of the atoms that are pinned to each knob."""
        found: dict[int, int] = {}
        for atom in self.atoms:
            if atom.pinned is not None:
                found[atom.pinned] = found.get(atom.pinned, 0) | atom.items
        return found

    def may_share(self, one: int, other: int) -> bool:
        """Whether two atoms, given by number, may be on one knob, if each may be on any."""
        atom, beside = self.atoms[one], self.atoms[other]
        fits = atom.size + beside.size <= self.per_knob
        apart = not (fits and atom.knobs & beside.knobs) or self.clashes[one] >> other & 1
        return one == other or not apart

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

    def poses_the_same_as(self, other: Problem) -> bool:
        """Whether both have the same answers, item by item and knob by knob."""
        return attrs.astuple(self, recurse=False) == attrs.astuple(other, recurse=False)

    @property
    def impossible(self) -> bool:
        """Whether an atom is contradicted, or may not be left out and has no knob it may be on."""
        return any(a.contradicted or (a.needed and not a.knobs) for a in self.atoms)

    def movable(self, number: int) -> bool:
        """Whether an atom has more than one place, being left out among them."""
        atom = self.atoms[number]
        return bool(atom.knobs) and (atom.knobs.bit_count() > 1 or not atom.needed)


def sets_of(knobs: Mapping[int, int]) -> frozenset[int]:
    """Masks of the items that share each knob of a placement."""
    sets: dict[int, int] = {}
    for item, knob in knobs.items():
        sets[knob] = sets.get(knob, 0) | 1 << item
    return frozenset(sets.values())


def bits(mask: int) -> Iterator[int]:
    """The positions of the set bits, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low
