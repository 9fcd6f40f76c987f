"""A bound on *sharing* where knobs carry many loads: families by the number of their loads.

For each family and each number of knobs, any prices of its atoms give a bound: what the atoms are
worth in all, and for each knob the reduced cost of the cheapest set at least, as
:class:`~knobpack.solver.bounds.cardinality_pricing.CardinalityPricing` bounds it; and what is
essential on fewer knobs than it has loads is joined, whatever else is. Equal prices say
what counting says, at once and at any size. Where the division of the knobs can use it, prices are
raised from there by subgradient steps (Held, Wolfe and Crowder 1974, from memory) with the last
direction kept in part.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import Problem
from knobpack.solver.bounds.capacity import clique
from knobpack.solver.bounds.cardinality_pricing import CardinalityPricing
from knobpack.solver.bounds.modes import firm_atoms
from knobpack.solver.costs import FAR, QUANTUM, Whole
from knobpack.solver.families import families
from knobpack.solver.value_functions.division import Division, divide
from knobpack.solver.watch import Watch

ROUNDS = 60
"""Steps for a family and a number of knobs at a time."""

PATIENCE = 8
"""Steps without a better bound after which they become shorter."""

SHORTER = 0.75
"""How much of the step is left then."""

SHORTEST = 0.01
"""The step, in gaps, at which there is no use in going on."""

INERTIA = 0.8
"""How much of the last direction is kept."""

STEEP = 1 << 40
"""A price of a load, in 1024ths, at which no set is worth leaving any out."""

EFFORT_PER_NUMBER = 4e-9
"""Effort that a number of a table counts as: about what it takes in seconds."""


def crowded_bound(problem: Problem, held: Sequence[int], most: int, watch: Watch) -> int:
    """No placement whose earlier tiers are no worse than ``held`` has less in *sharing*.

    Args:
        problem: the costs.
        held: the values of the earlier tiers.
        most: a value that is reached; a bound as high ends the search.
        watch: what may cut it short: what counting says is found in any case.

    Returns:
        The bound.
    """
    return _Crowded(problem, held, most).bound(watch)


class _Crowded:
    """The search for the best bound."""

    def __init__(self, problem: Problem, held: Sequence[int], most: int) -> None:
        placed = firm_atoms(problem, held[1])
        firm = [
            sure or atom.omission > held[0]
            for sure, atom in zip(placed, problem.atoms, strict=True)
        ]
        self._knobs = problem.open_knobs.bit_count()
        self._families = [_Family(problem, part, firm, self._knobs) for part in families(problem)]
        # What no knob takes is left out in any case.
        self._besides = sum(atom.hidden for atom in problem.atoms if not atom.knobs)
        self._besides -= problem.apiece[3]
        self._most = most - self._besides

    def bound(self, watch: Watch) -> int:
        """The best bound found."""
        division = self._divide()
        while division.cost < self._most and not watch.over():
            counts = zip(self._families, division.counts(), strict=True)
            used = [(own, knobs) for own, several in counts for knobs in sorted(several)]
            rough = [(own, knobs) for own, knobs in used if own.rough(knobs)]
            if not rough:
                break
            for own, knobs in rough:
                if not watch.over():
                    own.climb(knobs, self._most - division.cost, watch)
            division = self._divide()
        return min(self._most, division.cost) + self._besides

    def _divide(self) -> Division:
        return divide([own.lowers for own in self._families], self._knobs)


class _Family:
    """What one family costs at least on each number of knobs.

    Args:
        problem: the costs.
        part: the numbers of its atoms.
        firm: for each atom of the problem, whether it is placed wherever the earlier tiers are as
            good as is asked.
        knobs: how many there are.
    """

    def __init__(
        self, problem: Problem, part: Sequence[int], firm: Sequence[bool], knobs: int
    ) -> None:
        self._pricing = CardinalityPricing(problem, part)
        loads = self._pricing.loads
        self._heap = problem.heap
        self._join = sum(mix.weight for mix in problem.mixes if mix.heap)
        self._firm = sum(1 for own in loads if any(firm[part[place]] for place in own))
        hidden = [QUANTUM * problem.atoms[number].hidden for number in part]
        free = np.array([not firm[number] for number in part])
        self._out = np.where(free, np.array(hidden, dtype=np.int64), FAR // len(part))
        self._none = sum(hidden) // QUANTUM
        bound = [number for number, own in zip(part, free, strict=True) if not own]
        size = sum(problem.atoms[number].size for number in bound)
        self._least = max(len(clique(problem, bound)), -(-size // problem.per_knob))
        self._numbers = np.arange(min(knobs, len(part)) + 1)
        items, mixed = problem.items_of(sum(1 << number for number in bound)), 0 * self._numbers
        for mix in (mix for mix in problem.mixes if not mix.of_all):
            mixed += mix.weight * np.maximum(0, mix.count(items) - self._numbers)
        self._mixed: Whole = QUANTUM * mixed
        self._best = np.full(len(self._numbers), -FAR, dtype=np.int64)
        self._prices = np.zeros((len(self._numbers), len(part)), dtype=np.int64)
        self._steps = np.ones(len(self._numbers))
        self._count()

    @property
    def lowers(self) -> list[int]:
        """What it costs at least on 0, 1, 2, … knobs."""
        found = np.maximum(0, -(-self._best // QUANTUM))
        found[0] = self._none
        found[: self._least] = FAR
        return [int(each) for each in found]

    def rough(self, knobs: int) -> bool:
        """Whether the bound on so many knobs may still be raised."""
        return knobs > 0 and self._steps[knobs] >= SHORTEST

    def _count(self) -> None:
        """Begin with equal prices of all loads, which say what counting says."""
        by_loads = self._pricing.by_loads
        prices = self._pricing.adds.min(axis=0)
        of_load = np.zeros(len(prices), dtype=np.int64)
        for own in self._pricing.loads:
            of_load[own] = len(own)
        loads = np.arange(1, len(by_loads))
        for price in {max(0, slope) for slope in _slopes(by_loads[1:].tolist())}:
            knob = int((by_loads[1:] - price * loads).min())
            self._learn(prices + price // of_load, min(0, knob), self._numbers >= 0)

    def _learn(self, prices: Whole, knob: int, where: NDArray[np.bool_]) -> int:
        """Take what follows from prices and the least that a knob adds; says what is best."""
        worth = int(np.minimum(prices, self._out).sum())
        values = worth + self._numbers * knob + self._mixed
        better = where & (values > self._best)
        self._best[better], self._prices[better] = values[better], prices
        return worth

    def climb(self, knobs: int, excess: int, watch: Watch) -> None:
        """Raise the bound on so many knobs by some steps.

        Args:
            knobs: 1 or more.
            excess: how far the bound of the whole is from the value to be reached: no family costs
                more above its own bound.
            watch: what may cut it short.
        """
        most = self._most_loads(excess)
        where, aim = most <= most[knobs], int(self._best[knobs]) + QUANTUM * excess
        prices, toward = self._prices[knobs].astype(np.float64), np.zeros(self._prices.shape[1])
        waited = 0
        for _ in range(ROUNDS):
            if self._steps[knobs] < SHORTEST or self._best[knobs] >= aim or watch.over():
                break
            asked = np.rint(prices).astype(np.int64)
            least = self._pricing.cheapest(asked, int(most[knobs]))
            watch.spend(EFFORT_PER_NUMBER * least.work)
            before = int(self._best[knobs])
            value = self._learn(asked, least.cost, where) + knobs * least.cost
            value += int(self._mixed[knobs])
            waited = 0 if self._best[knobs] > before else waited + 1
            if waited > PATIENCE:
                self._steps[knobs] *= SHORTER
                waited = 0
            slope = np.where(asked > self._out, 0.0, 1.0)
            slope[least.places] -= knobs
            toward = INERTIA * toward + slope
            length = self._steps[knobs] * (max(0, aim - value) + QUANTUM)
            prices += length / (float(toward @ toward) or 1.0) * toward
        self._steps[knobs] *= SHORTER

    def _most_loads(self, excess: int) -> Whole:
        """For each number of knobs, the loads on one of them, at most, if so much is exceeded."""
        join, heap = self._join, self._heap
        loads = np.arange(1, self._pricing.most + 1)
        others = np.maximum(1, self._numbers - 1)[:, None]
        each, more = np.divmod(np.maximum(0, self._firm - loads), others)

        def heaped(count: Whole) -> Whole:
            over = np.maximum(0, count - 1)
            cost: Whole = join * over + heap * (over * (over - 1) // 2)
            return cost

        least = heaped(loads) + (others - more) * heaped(each) + more * heaped(each + 1)
        within = least * QUANTUM < self._best[:, None] + QUANTUM * (excess + 1)
        within[:2] = True  # one knob carries all
        found: Whole = np.maximum(1, (within * loads).max(axis=1))
        return found


def _slopes(costs: Sequence[int]) -> list[int]:
    """The slopes of the lower convex hull of a sequence, and one that is steeper than any."""
    found, at = [STEEP], 0
    while at + 1 < len(costs):
        rises = [(costs[to] - costs[at]) / (to - at) for to in range(at + 1, len(costs))]
        slope = min(rises)
        found.append(int(slope))
        at += 1 + max(step for step, rise in enumerate(rises) if rise == slope)
    return found
