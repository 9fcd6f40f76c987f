"""The linear relaxation of the general model, by column generation, with a bound that is safe.

The dual prices of the linear solver are doubles. They are rounded to whole 1024ths, and from there
on everything is exact: any prices at all give a valid bound, once the reduced cost of every set is
known, and the catalogue knows every set.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs
import numpy as np
from ortools.linear_solver import pywraplp

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import QUANTUM, Whole
from knobpack.solver.linear import dual_prices
from knobpack.solver.set_partitioning.column_pool import Column, ColumnPool
from knobpack.solver.watch import Watch

HIGHEST = 1 << 60
"""All prices of one sort come to no more than this in any set, so that 64 bits hold their sum."""


EFFORT_PER_FLAG = 1e-8
"""Effort that going over one entry of a catalogue counts as: about what it takes in seconds."""


@attrs.frozen(eq=False)
class Relaxation:
    """What the linear relaxation of one tier says.

    Args:
        bound: no placement, as good in the earlier tiers, has a lower value.
        exact_bound: the same in 1024ths, not rounded up, ``Problem.apiece`` not taken off.
        reduced: for each catalogue, the reduced cost of each of its sets, in 1024ths.
        columns: the columns that the relaxation worked with.
    """

    bound: int
    exact_bound: int
    reduced: tuple[Whole, ...]
    columns: tuple[Column, ...]


def relax(
    problem: Problem,
    catalogues: Sequence[ColumnPool],
    slots: Sequence[int],
    held: Sequence[int],
    start: Iterable[Column],
    watch: Watch,
) -> Relaxation | None:
    """Relax the tier after those whose values are ``held``, one of the first four.

    Args:
        problem: what to solve.
        catalogues: the sets of each family.
        slots: the classes of knobs.
        held: the values of the earlier tiers.
        start: columns to begin with; those of a placement as good as ``held`` must be there.
        watch: what may cut the work short.

    Returns:
        The relaxation; if it was cut short, what the best prices so far say; None if none do.
    """
    master = Master(problem, slots, held)
    for column in start:
        master.add(column)
    for catalogue in catalogues:
        singles = np.nonzero(catalogue.members.sum(axis=1) == 1)[0]
        for single in singles:
            master.add(catalogue.column(problem, int(single)))
    best: Relaxation | None = None
    while not watch.over():
        prices = master.prices()
        reduced = tuple(_reduced(each, prices, len(held)) for each in catalogues)
        watch.spend(sum(each.members.size for each in catalogues) * EFFORT_PER_FLAG)
        added = 0
        for catalogue, costs in zip(catalogues, reduced, strict=True):
            for row in _most_promising(catalogue, costs):
                added += master.add(catalogue.column(problem, row))
        exact = bound_at(problem, slots, held, prices, reduced)
        if best is None or exact > best.exact_bound or not added:
            bound = -(-exact // QUANTUM) - problem.apiece[len(held)]
            best = Relaxation(bound, exact, reduced, ())
        if not added:
            break
    return best and attrs.evolve(best, columns=master.columns)


@attrs.frozen(eq=False)
class Prices:
    """Dual prices in 1024ths; of limits, what one more of each would save, as a negative number."""

    atoms: Whole
    slots: Whole
    routes: int
    held: tuple[int, ...]


class Master:
    """The linear programme over the columns made so far.

    Args:
        problem: the costs.
        slots: the classes of knobs.
        held: the values of the tiers before the one that is relaxed.
    """

    def __init__(self, problem: Problem, slots: Sequence[int], held: Sequence[int]) -> None:
        self._problem = problem
        self._slots = slots
        self._tier = len(held)
        self._known: dict[int, Column] = {}
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._cover = [self._solver.Constraint(1, 1) for _ in problem.atoms]
        self._room = [
            self._solver.Constraint(-self._solver.infinity(), s.bit_count()) for s in slots
        ]
        self._routes = self._solver.Constraint(-self._solver.infinity(), problem.routes)
        self._held = [
            self._solver.Constraint(-self._solver.infinity(), value + once)
            for value, once in zip(held, problem.apiece, strict=False)
        ]
        self._solver.Objective().SetMinimization()
        for atom, cover in zip(problem.atoms, self._cover, strict=True):
            if atom.needed:
                continue
            left_out = self._solver.NumVar(0, self._solver.infinity(), "")
            cover.SetCoefficient(left_out, 1)
            self._solver.Objective().SetCoefficient(left_out, atom.costs[self._tier])
            for row, cost in zip(self._held, atom.costs, strict=False):
                row.SetCoefficient(left_out, cost)

    @property
    def columns(self) -> tuple[Column, ...]:
        """All that were added."""
        return tuple(self._known.values())

    def add(self, column: Column) -> bool:
        """Add a column, unless it is there."""
        if column.atoms in self._known:
            return False
        self._known[column.atoms] = column
        for slot, room in zip(self._slots, self._room, strict=True):
            if not slot & column.knobs:
                continue
            variable = self._solver.NumVar(0, self._solver.infinity(), "")
            self._solver.Objective().SetCoefficient(variable, column.costs[self._tier])
            room.SetCoefficient(variable, 1)
            self._routes.SetCoefficient(variable, column.items.bit_count())
            for number in bits(column.atoms):
                self._cover[number].SetCoefficient(variable, 1)
            for row, cost in zip(self._held, column.costs, strict=False):
                row.SetCoefficient(variable, cost)
        return True

    def prices(self) -> Prices:
        """Solve, and round the dual prices; where the linear solver fails, they are all zero."""
        problem, atoms = self._problem, len(self._cover)
        broken = problem.items * sum(weight for _, weight in problem.breakable)
        most = [*[atoms] * atoms, *[1] * len(self._room), problem.items]
        rows = [*self._cover, *self._room, self._routes, *self._held]
        times = [*most, *(0, problem.items, broken)[: len(self._held)]]
        pairs = zip(rows, times, strict=True)
        found = dual_prices(self._solver, [(row, HIGHEST // max(1, own)) for row, own in pairs])
        limits = [min(0, price) for price in found[atoms:]]
        slots, (routes, *held) = limits[: len(self._room)], limits[len(self._room) :]
        return Prices(
            np.array(found[:atoms], dtype=np.int64),
            np.array(slots, dtype=np.int64),
            routes,
            tuple(held),
        )


def _reduced(catalogue: ColumnPool, prices: Prices, tier: int) -> Whole:
    """The reduced cost of every set of a catalogue, on the slot that suits it best."""
    cost = catalogue.costs[tier] * QUANTUM
    for price, own in zip(prices.held, catalogue.costs, strict=False):
        cost = cost - price * own
    cost = cost - prices.routes * catalogue.sizes
    for place, number in enumerate(catalogue.atoms):
        cost = cost - prices.atoms[number] * catalogue.members[:, place]
    lowest = np.iinfo(np.int64).min // 4
    reduced: Whole = cost - np.where(catalogue.slots, prices.slots, lowest).max(axis=1)
    return reduced


def _most_promising(catalogue: ColumnPool, reduced: Whole) -> list[int]:
    """For each atom, the set with it whose reduced cost is the lowest, if that is below zero."""
    found = set()
    below = np.nonzero(reduced < -1)[0]
    for place in range(len(catalogue.atoms)):
        rows = below[catalogue.members[below, place]]
        if len(rows):
            found.add(int(rows[reduced[rows].argmin()]))
    return sorted(found)


def bound_at(
    problem: Problem,
    slots: Sequence[int],
    held: Sequence[int],
    prices: Prices,
    reduced: Sequence[Whole],
) -> int:
    """The bound that the prices give, in 1024ths: exact, whatever the prices are."""
    total = int(prices.atoms.sum()) + prices.routes * problem.routes
    total += sum(
        int(price) * slot.bit_count() for price, slot in zip(prices.slots, slots, strict=True)
    )
    limits = zip(prices.held, held, problem.apiece, strict=False)
    total += sum(price * (value + once) for price, value, once in limits)
    for atom, price in zip(problem.atoms, prices.atoms, strict=True):
        if atom.needed:
            continue
        cost = QUANTUM * atom.costs[len(held)]
        cost -= sum(p * own for p, own in zip(prices.held, atom.costs, strict=False))
        total += min(0, cost - int(price))
    lowest = min((int(costs.min()) for costs in reduced if len(costs)), default=0)
    return total + min(0, lowest) * min(problem.knobs, len(problem.atoms))
