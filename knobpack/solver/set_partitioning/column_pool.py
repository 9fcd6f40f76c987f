"""The catalogue: every set of atoms of a family that may be on one knob, priced."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import reduce
from operator import or_
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.less import part_of
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import Whole, indicator, set_costs
from knobpack.solver.outcome import UPPER, Upper
from knobpack.solver.watch import Watch

MOST_SETS = 1 << 20
"""Sets in the catalogue of one family, at most; for a larger one there is none."""

_CHUNK = 1 << 15

_AT_ONCE = 400_000
"""Sets, times the items of the problem, that are priced between two looks at the watch."""

EFFORT_PER_ENTRY = 5e-8
"""Effort that pricing a set counts as, for each item it might hold: about what it takes in seconds
on a fast machine, as that of a move in an annealing is."""

Flags: TypeAlias = NDArray[np.bool_]


@attrs.frozen
class Column:
    """A set of items that may be on one knob.

    Args:
        items: mask of the items.
        atoms: mask of the atoms they make up.
        knobs: mask of the knobs the set may be on.
        costs: what it costs in each of the first four tiers, each bundle and spread counted on
            every knob.
    """

    items: int
    atoms: int
    knobs: int
    costs: Upper


@attrs.frozen(eq=False)
class ColumnPool:
    """The sets of one family, one a row.

    Args:
        atoms: the numbers of the family's atoms.
        members: which atoms (columns) each set holds.
        slots: which slots (columns) each set may be on.
        sizes: how many items each set holds.
        costs: what each costs in each of the first four tiers (rows), each bundle and spread
            counted on every knob.
    """

    atoms: tuple[int, ...]
    members: Flags
    slots: Flags
    sizes: Whole
    costs: Whole

    def column(self, problem: Problem, row: int) -> Column:
        """One set as a column of the general model."""
        atoms = sum(1 << self.atoms[place] for place in np.nonzero(self.members[row])[0])
        return Column(
            problem.items_of(atoms), atoms, problem.knobs_of(atoms), _upper(self.costs[:, row])
        )


def columns_of(
    problem: Problem, sets: Iterable[int], watch: Watch | None = None
) -> tuple[Column, ...]:
    """Price sets of atoms, given as masks, that may each be on one knob.

    Args:
        problem: the problem.
        sets: the masks.
        watch: what may cut it short, so that some are missing; None: nothing.
    """
    wanted = sorted(set(sets))
    found: list[Column] = []
    step = max(1, _AT_ONCE // max(1, problem.items))
    for start in range(0, len(wanted), step):
        if start and watch is not None and watch.over():
            break
        some = _columns_of(problem, wanted[start : start + step])
        if watch is not None:
            watch.spend(EFFORT_PER_ENTRY * len(some) * problem.items)
        found += some
    return tuple(found)


def _columns_of(problem: Problem, wanted: Sequence[int]) -> tuple[Column, ...]:
    masks = [problem.items_of(atoms) for atoms in wanted]
    items = list(bits(reduce(or_, masks, 0)))
    if not items:
        return ()
    costs = np.zeros((UPPER, len(masks)), dtype=np.int64)
    costs[1:] = set_costs(problem, items, indicator(masks, items).T)
    return tuple(
        Column(mask, atoms, problem.knobs_of(atoms), _upper(own))
        for mask, atoms, own in zip(masks, wanted, costs.T, strict=True)
    )


def columns_on(problem: Problem, knobs: Mapping[int, int]) -> tuple[Column, ...]:
    """The sets that a placement, the knob of each item, has on its knobs."""
    return columns_of(problem, problem.atoms_on(knobs).values())


def _upper(costs: Whole) -> Upper:
    unplaced, bundles, breaks, sharing = costs.tolist()
    return unplaced, bundles, breaks, sharing


def knob_slots(problem: Problem) -> tuple[int, ...]:
    """Classes of knobs, as masks, that all sets see alike: same atoms admitted, same pins."""
    classes: dict[tuple[bool, ...], int] = {}
    for knob in range(problem.knobs):
        seen = tuple(
            (atom.pinned == knob)
            if problem.pinned_knobs >> knob & 1
            else bool(atom.knobs >> knob & 1)
            for atom in problem.atoms
        )
        classes[seen] = classes.get(seen, 0) | 1 << knob
    return tuple(classes.values())


def column_pools_of(
    problem: Problem,
    parts: Sequence[tuple[int, ...]],
    slots: tuple[int, ...],
    watch: Watch,
    most: int = MOST_SETS,
) -> list[ColumnPool] | None:
    """The catalogue of each family; None where one is too large, or the watch stopped it."""
    found = []
    if any(_all_share(problem, part) >= most for part in parts):
        return None
    for part in parts:
        posed = None if watch.kept is None else _posed(problem, part, slots, most)
        catalogue: ColumnPool | None = watch.kept.found(posed) if watch.kept else None
        if catalogue is None:
            catalogue = column_pool_of(problem, part, slots, watch, most)
            if watch.kept is not None and catalogue is not None:
                watch.kept.keep(posed, catalogue)
        if catalogue is None:
            return None
        found.append(catalogue)
    return found


def _posed(
    problem: Problem, part: tuple[int, ...], slots: tuple[int, ...], most: int
) -> tuple[object, ...]:
    """All that the catalogue of a family depends on."""
    inner = part_of(problem, part, (1 << problem.knobs) - 1, problem.routes)
    own = problem.items_of(sum(1 << number for number in part))

    def here(weighed: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
        return [(mask & own, weight) for mask, weight in weighed if mask & own]

    return (
        *(part, slots, most, problem.pinned_knobs, problem.per_knob),
        *(inner.atoms, inner.clashes, inner.pairs),
        [
            (mix.heap, mix.weight, mix.among & own, here((mask, 1) for mask in mix.masks))
            for mix in problem.mixes
        ],
        here((spread.items, spread.weight) for spread in problem.spreads),
        *(here(problem.intrusions), here(problem.breakable)),
        here((mask, 1) for mask in problem.bundles),
        *(problem.travel_prices, problem.wanted, problem.kept_travels),
    )


def _all_share(problem: Problem, part: tuple[int, ...]) -> int:
    """How many sets there are at least: those of some atoms that may all share."""
    left, sizes = sum(1 << number for number in part), []
    knobs = (1 << problem.knobs) - 1
    for number in sorted(part, key=lambda n: (problem.clashes[n].bit_count(), n)):
        if left >> number & 1 and knobs & problem.atoms[number].knobs:
            left &= ~problem.clashes[number]
            knobs &= problem.atoms[number].knobs
            sizes.append(problem.atoms[number].size)
    sizes.sort()
    most = sum(1 for at in range(len(sizes)) if sum(sizes[: at + 1]) <= problem.per_knob)
    return sum(math.comb(len(sizes), size) for size in range(1, most + 1) if size <= 40)


def column_pool_of(
    problem: Problem,
    atoms: tuple[int, ...],
    slots: tuple[int, ...],
    watch: Watch,
    most: int = MOST_SETS,
) -> ColumnPool | None:
    """Every set of some atoms that may be on one knob, small sets first.

    The sets grow by one atom at a time, each after the last it holds, so none is made twice. None
    where there are more than ``most``, or the watch stopped the search.
    """
    facts = _Facts.of(problem, atoms, slots)
    layers = [facts.singles()]
    total = len(layers[0].members)
    while len(layers[-1].members):
        total += int(layers[-1].may_add.sum())
        if total > most or watch.over():
            return None
        layers.append(facts.grown(layers[-1]))
    return _pool_of_layers(problem, facts, atoms, layers, watch)


def pool_of_sets(
    problem: Problem, atoms: tuple[int, ...], slots: tuple[int, ...], sets: Flags, watch: Watch
) -> ColumnPool | None:
    """Those of some sets of atoms, (sets, atoms), that may be on one knob; None: it was stopped."""
    facts = _Facts.of(problem, atoms, slots)
    held = sets.astype(np.float64)
    sizes = (held @ facts.sizes).astype(np.int64)
    open_ = held @ ~facts.open_to == 0
    apart = ((held @ ~facts.goes_with) * held).any(axis=1)
    may = ~apart & (sizes <= facts.per_knob) & open_.any(axis=1)
    layer = _Layer(sets[may], sets[may], open_[may], sizes[may])
    return _pool_of_layers(problem, facts, atoms, [layer], watch)


def _pool_of_layers(
    problem: Problem, facts: _Facts, atoms: tuple[int, ...], layers: list[_Layer], watch: Watch
) -> ColumnPool | None:
    """The sets of some layers for which there is a knob, priced; None: it was stopped."""
    for at, layer in enumerate(layers):
        if watch.over():
            return None
        where = facts.reachable(layer.members, layer.slots)
        somewhere: Flags = np.logical_or.reduce(where, axis=1)
        layers[at] = attrs.evolve(layer, slots=where).only(somewhere)
    if watch.over():
        return None
    members = np.concatenate([layer.members for layer in layers])
    costs = _priced(problem, atoms, members, watch)
    where = np.concatenate([layer.slots for layer in layers])
    sizes = np.concatenate([layer.sizes for layer in layers])
    return None if costs is None else ColumnPool(atoms, members, where, sizes, costs)


@attrs.frozen(eq=False)
class _Layer:
    """The sets of one size.

    Args:
        members: which atoms (columns) each set (rows) holds.
        may_add: which later atoms each set could take on.
        slots: which slots all its atoms may be on.
        sizes: how many items each set holds.
    """

    members: Flags
    may_add: Flags
    slots: Flags
    sizes: Whole

    def only(self, rows: Flags) -> _Layer:
        return _Layer(self.members[rows], self.may_add[rows], self.slots[rows], self.sizes[rows])


@attrs.frozen(eq=False)
class _Facts:
    """What decides whether atoms go together.

    Args:
        later: for each atom (rows), which come after it.
        goes_with: which it may share a knob with.
        open_to: which slots (columns) it may be on.
        pinned: for each atom, the slot it is pinned to, if any.
        taken: which slots some atom of any family is pinned to.
        sizes: how many items it holds.
        per_knob: how many items one knob may carry.
    """

    later: Flags
    goes_with: Flags
    open_to: Flags
    pinned: Flags
    taken: Flags
    sizes: Whole
    per_knob: int

    @classmethod
    def of(cls, problem: Problem, atoms: tuple[int, ...], slots: tuple[int, ...]) -> _Facts:
        own = [problem.atoms[number] for number in atoms]
        count = len(atoms)
        goes_with = [[not problem.clashes[a] >> b & 1 for b in atoms] for a in atoms]
        pins = [0 if atom.pinned is None else 1 << atom.pinned for atom in own]
        return cls(
            later=np.triu(np.ones((count, count), dtype=bool), 1),
            goes_with=np.array(goes_with, dtype=bool),
            open_to=np.array([[bool(a.knobs & slot) for slot in slots] for a in own], dtype=bool),
            pinned=np.array([[pin == slot for slot in slots] for pin in pins], dtype=bool),
            taken=np.array([bool(slot & problem.pinned_knobs) for slot in slots], dtype=bool),
            sizes=np.array([atom.size for atom in own], dtype=np.int64),
            per_knob=problem.per_knob,
        )

    def singles(self) -> _Layer:
        """The sets of one atom."""
        every = np.eye(len(self.sizes), dtype=bool)
        layer = _Layer(every, self.later & self.goes_with, self.open_to, self.sizes)
        return layer.only((self.sizes <= self.per_knob) & self.open_to.any(axis=1))

    def grown(self, layer: _Layer) -> _Layer:
        """Every set of a layer with one atom more."""
        grows, added = np.nonzero(layer.may_add)
        fits = layer.sizes[grows] + self.sizes[added] <= self.per_knob
        fits &= (layer.slots[grows] & self.open_to[added]).any(axis=1)
        grows, added = grows[fits], added[fits]
        larger = layer.members[grows]
        larger[np.arange(len(added)), added] = True
        still = layer.may_add[grows] & self.goes_with[added] & self.later[added]
        slots = layer.slots[grows] & self.open_to[added]
        return _Layer(larger, still, slots, layer.sizes[grows] + self.sizes[added])

    def reachable(self, members: Flags, slots: Flags) -> Flags:
        """A knob that an atom is pinned to takes only sets with that atom."""
        if not self.taken.any():
            return slots
        with_pinned = members @ self.pinned
        reached: Flags = slots & (with_pinned | ~self.taken)
        return reached


def _priced(problem: Problem, atoms: tuple[int, ...], sets: Flags, watch: Watch) -> Whole | None:
    """What each set costs; None where the watch stopped the search."""
    items = [item for number in atoms for item in bits(problem.atoms[number].items)]
    owner = [at for at, number in enumerate(atoms) for _ in range(problem.atoms[number].size)]
    costs = np.zeros((UPPER, len(sets)), dtype=np.int64)
    for start in range(0, len(sets), _CHUNK):
        if start and watch.over():
            return None
        part = sets[start : start + _CHUNK][:, owner].astype(np.float64)
        watch.spend(EFFORT_PER_ENTRY * part.size)
        costs[1:, start : start + _CHUNK] = set_costs(problem, items, part)
    return costs
