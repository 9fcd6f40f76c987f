"""The value function of a family: what it costs with 0, 1, 2, … knobs, by going through subsets.

For a family of a dozen atoms there are a few thousand sets and a few hundred thousand ways to take
a set from a larger one, so plain dynamic programming over subsets is exact and needs no search. It
goes by a *table* of what every set of atoms costs, on a knob or left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache, cached_property
from typing import Protocol

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import FAR, Whole, set_costs
from knobpack.solver.value_functions.scale import Scale

LARGEST = 14
"""Atoms in a family, at most: the work grows threefold with each."""


@attrs.frozen(eq=False)
class Table:
    """Every set of a family's atoms, priced on one scale.

    Sets are masks of positions in ``atoms``; set 0 is empty.

    Args:
        atoms: the numbers of the family's atoms.
        free: for each set, its cost on a knob that no atom is pinned to, FAR if it may not be.
        pinned: for each set, its cost on the knob that one of its atoms is pinned to.
        omitted: for each set, the cost of leaving out just that of all atoms, FAR if it is not
            allowed; of the empty set nothing.
    """

    atoms: tuple[int, ...]
    free: Whole
    pinned: Whole
    omitted: Whole

    @property
    def full(self) -> int:
        """The set of all atoms."""
        return (1 << len(self.atoms)) - 1


def table_of(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> Table:
    """Price every set of a family's atoms on one scale, and see where it may be."""
    count = len(atoms)
    members = [problem.atoms[number] for number in atoms]
    items = [item for atom in members for item in bits(atom.items)]
    sets = np.arange(1 << count, dtype=np.int64)
    holds = (sets[:, None] >> np.arange(count) & 1).astype(np.float64)
    owner = [position for position, atom in enumerate(members) for _ in range(atom.size)]
    cost = np.zeros_like(sets)
    cost[1:] = scale.cost(0, *set_costs(problem, items, holds[1:][:, owner]))
    clashes = [[problem.clashes[one] >> other & 1 for other in atoms] for one in atoms]
    agrees = ((holds @ np.array(clashes, dtype=np.float64)) * holds).sum(axis=1) == 0
    agrees &= holds @ np.array([atom.size for atom in members]) <= problem.per_knob
    agrees[0] = False
    free, pinned = np.full_like(sets, FAR), np.full_like(sets, FAR)
    for knob, pin in knobs_apart(problem, atoms):
        outside = sum(1 << at for at, atom in enumerate(members) if not atom.knobs >> knob & 1)
        held = sum(1 << at for at, atom in enumerate(members) if pin and atom.pinned == knob)
        fits = agrees & (sets & outside == 0) & ((sets & held != 0) | (not pin))
        into = pinned if pin else free
        into[fits] = cost[fits]
    return Table(atoms, free, pinned, _omitted(problem, scale, atoms))


def _omitted(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> Whole:
    """What it costs to leave out each set; that all of a spread is left out is priced as well.

    A spread counts on its first knob too, which comes off in the end wherever it is on some knob
    (:class:`knobpack.solver.value_functions.scale.Offsets`).
    """
    sets = np.arange(1 << len(atoms), dtype=np.int64)
    cost = np.zeros_like(sets)
    for place, number in enumerate(atoms):
        atom = problem.atoms[number]
        own = FAR if atom.needed else scale.cost(*atom.costs)
        cost = np.minimum(cost + np.where(sets >> place & 1, own, 0), FAR)
    for inside, weight in _spreads_within(problem, atoms):
        lost = np.where(sets & inside == inside, scale.cost(0, 0, 0, weight), 0)
        cost = np.minimum(cost + lost, FAR)
    return cost


def omissions(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> tuple[int, list[int]]:
    """What it costs to leave out all of some atoms, and each of them; FAR: it must be placed."""
    members = [problem.atoms[number] for number in atoms]
    lost = [weight for _, weight in _spreads_within(problem, atoms)]
    whole = sum(scale.cost(*atom.costs) for atom in members) + sum(lost)
    each = [FAR if atom.needed else scale.cost(*atom.costs) for atom in members]
    return FAR if FAR in each else whole, each


def _spreads_within(problem: Problem, atoms: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Each spread that these atoms have all of: its atoms, as positions, and its weight."""
    own = sum(1 << number for number in atoms)
    place = {number: at for at, number in enumerate(atoms)}
    for spread, inside in zip(problem.spreads, problem.spread_atoms, strict=True):
        if inside and not inside & ~own:
            yield sum(1 << place[number] for number in bits(inside)), spread.weight


def knobs_apart(problem: Problem, atoms: tuple[int, ...]) -> Iterator[tuple[int, bool]]:
    """One knob of each sort that admits the same atoms, and each that one of them is pinned to."""
    pins = {atom.pinned for atom in problem.atoms if atom.pinned is not None}
    own = {problem.atoms[number].pinned for number in atoms}
    seen = set()
    for knob in range(problem.knobs):
        if knob in pins:
            if knob in own:
                yield knob, True
            continue
        admitted = tuple(problem.atoms[number].knobs >> knob & 1 for number in atoms)
        if admitted not in seen:
            seen.add(admitted)
            yield knob, False


class Parts(Protocol):
    """What a value function is about."""

    @property
    def atoms(self) -> tuple[int, ...]:
        """The numbers of the family's atoms."""

    @property
    def full(self) -> int:
        """The set of all atoms, as a mask of positions in ``atoms``."""


class ValueFunction(Protocol):
    """What a family costs with each number of knobs, and how that is reached.

    Knobs are those that no atom is pinned to, sets are masks of positions in ``table.atoms``.
    """

    @property
    def table(self) -> Parts:
        """What it is about."""

    @property
    def lowers(self) -> list[int]:
        """No way costs less on exactly 0, 1, 2, … knobs; FAR: there is none."""

    @property
    def uppers(self) -> list[int]:
        """What some way costs on exactly 0, 1, 2, … knobs; FAR: none is known."""

    def choices(self, knobs: int, atoms: int) -> Iterator[tuple[int, int, int]]:
        """What the lowest of ``atoms`` can do in a cheapest arrangement on exactly ``knobs``.

        Yields:
            The set it is on one knob with, the set that remains, and the knobs that remain. Where
            ``atoms`` are all there are, the first may be 0: what does not remain is left out then.
        """


@attrs.frozen(eq=False)
class SubsetTable:
    """The value function of a small family, all of it exact.

    Args:
        table: the priced sets of the family.
        best: for each number of knobs that no atom is pinned to (rows) and each set of atoms
            (columns), the least cost of placing the whole set on exactly so many such knobs.
    """

    table: Table
    best: Whole

    @cached_property
    def costs(self) -> list[int]:
        """The least cost of the whole family on exactly 0, 1, 2, … knobs; FAR: there is no way."""
        whole = (self.table.omitted + self._rest).min(axis=1)
        costs: list[int] = np.minimum(whole, FAR).tolist()
        return costs

    @property
    def lowers(self) -> list[int]:
        """What the cheapest way costs: all of it is exact."""
        return self.costs

    uppers = lowers

    @property
    def _rest(self) -> Whole:
        """For each number of knobs and each set, what placing all others costs."""
        return self.best[:, ::-1]  # the complement of a set stands as far from the end

    def choices(self, knobs: int, atoms: int) -> Iterator[tuple[int, int, int]]:
        """What the lowest of ``atoms`` can do in a cheapest arrangement on exactly ``knobs``.

        Yields:
            The set it is on one knob with, the set that remains, and the knobs that remain. Where
            ``atoms`` are all there are, the first may be 0: what does not remain is left out then.
        """
        for left_out in self._left_out(knobs) if atoms == self.table.full else [0]:
            if left_out:
                yield 0, atoms ^ left_out, knobs
            else:
                yield from self._taken(knobs, atoms)

    def _left_out(self, knobs: int) -> list[int]:
        """Every set that is left out in some cheapest arrangement on exactly ``knobs``."""
        whole = self.table.omitted + self._rest[knobs]
        cost = int(whole.min())
        sets: list[int] = np.nonzero(whole == cost)[0].tolist() if cost < FAR else []
        return sets

    def _taken(self, knobs: int, atoms: int) -> Iterator[tuple[int, int, int]]:
        """What the lowest of ``atoms`` can do where all of them are placed."""
        table, target = self.table, int(self.best[knobs, atoms])
        chosen = (atoms & -atoms) | _spread_out(atoms & (atoms - 1))
        others = atoms & ~chosen
        if knobs:
            for found in np.nonzero(table.free[chosen] + self.best[knobs - 1, others] == target)[0]:
                yield int(chosen[found]), int(others[found]), knobs - 1
        for found in np.nonzero(table.pinned[chosen] + self.best[knobs, others] == target)[0]:
            yield int(chosen[found]), int(others[found]), knobs


def subset_table_of(table: Table, most: int, known: SubsetTable | None = None) -> SubsetTable:
    """The least cost of placing every set of atoms on 0 to ``most`` knobs nothing is pinned to.

    Args:
        table: what sets of atoms cost on one knob.
        most: the most knobs.
        known: the same for fewer knobs, where that is known.
    """
    best = np.full((most + 1, table.full + 1), FAR, dtype=np.int64)
    best[0, 0] = 0
    first = 0 if known is None else len(known.best)
    if known is not None:
        best[:first] = known.best
    more = max(first, 1)
    count, any_pinned = len(table.atoms), bool((table.pinned < FAR).any())
    for low in reversed(range(count)):
        above, bit = low + 1, 1 << low
        for whole, chosen in _subsets(count - above):
            taken, left = bit | (chosen << above), (whole[:, None] ^ chosen) << above
            target = bit | (whole << above)
            if most:
                reach = (table.free[taken] + best[more - 1 : -1, left]).min(axis=2)
                best[more:, target] = np.minimum(best[more:, target], reach)
            if any_pinned:
                reach = (table.pinned[taken] + best[first:, left]).min(axis=2)
                best[first:, target] = np.minimum(best[first:, target], reach)
    return SubsetTable(table, best)


@cache
def _subsets(count: int) -> tuple[tuple[Whole, Whole], ...]:
    """Every set of ``count`` things with all its subsets, grouped by size.

    Returns:
        For each size, the sets (n,) and their subsets (n, 2**size).
    """
    sets = np.arange(1 << count, dtype=np.int64)
    sizes = sum((sets >> place & 1 for place in range(count)), np.zeros_like(sets))
    grouped = []
    for size in range(count + 1):
        whole = sets[sizes == size]
        left = whole.copy()
        picks = np.arange(1 << size, dtype=np.int64)
        subsets = np.zeros((len(whole), 1 << size), dtype=np.int64)
        for place in range(size):
            lowest = left & -left
            subsets |= lowest[:, None] * (picks >> place & 1)
            left ^= lowest
        grouped.append((whole, subsets))
    return tuple(grouped)


def _spread_out(mask: int) -> Whole:
    """Every subset of ``mask``."""
    found = np.zeros(1, dtype=np.int64)
    for place in bits(mask):
        found = np.concatenate([found, found | 1 << place])
    return found
