"""The linear programme of one family: its sets chosen in parts, so many knobs in all."""

from __future__ import annotations

import math
from collections.abc import Iterable

import attrs
import numpy as np
from ortools.linear_solver import pywraplp

from knobpack.numbered.problem import bits
from knobpack.solver.column_generation.lagrangian_bound import QUANTUM
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole

EFFORT_PER_STEP = 2e-5
"""Effort that a step of the linear solver counts as."""


@attrs.frozen(eq=False)
class Duals:
    """Prices of a linear programme, rounded to whole 1024ths.

    Args:
        atoms: what each atom is worth.
        knob: what one knob more would add to the cost: usually below zero.
        effort: what it took to find them.
    """

    atoms: Whole
    knob: int
    effort: float


class RestrictedMaster:
    """The linear programme over the sets known so far. Sets stay when the knobs change."""

    def __init__(self, terms: Terms, sets: Iterable[int]) -> None:
        self._terms = terms
        self.known: dict[int, int] = {}
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._cover = [self._solver.Constraint(1, 1) for _ in terms.atoms]
        self._count = self._solver.Constraint(0, 0)
        self._objective = self._solver.Objective()
        self._objective.SetMinimization()
        found = [each for each in sets if each]
        self.add(np.array(sorted(set(found)), dtype=np.int64))
        # What no way covers costs more than any way: there is always a solution to start from.
        highest = 10 * (1_000 + max(map(abs, self.known.values()), default=0))
        for cover in self._cover:
            missing = self._solver.NumVar(0, self._solver.infinity(), "")
            cover.SetCoefficient(missing, 1)
            self._objective.SetCoefficient(missing, highest)
        for sign in (1, -1):
            off = self._solver.NumVar(0, self._solver.infinity(), "")
            self._count.SetCoefficient(off, sign)
            self._objective.SetCoefficient(off, highest)

    def add(self, sets: Whole) -> int:
        """Add valid sets; says how many of them were not there."""
        fresh = [int(each) for each in sets if int(each) not in self.known]
        if not fresh:
            return 0
        costs = self._terms.costs(np.array(fresh, dtype=np.int64))
        pinned = self._terms.pinned
        for each, cost in zip(fresh, costs.tolist(), strict=True):
            self.known[each] = cost
            variable = self._solver.NumVar(0, self._solver.infinity(), "")
            self._objective.SetCoefficient(variable, cost)
            for place in bits(each):
                self._cover[place].SetCoefficient(variable, 1)
            if not each & pinned:
                self._count.SetCoefficient(variable, 1)
        return len(fresh)

    def duals(self, knobs: int) -> Duals:
        """Solve for exactly so many knobs that no atom is pinned to.

        Where the linear solver fails, all prices are zero: any prices give a valid bound.
        """
        self._count.SetBounds(knobs, knobs)
        solved = self._solver.Solve() == pywraplp.Solver.OPTIMAL
        effort = EFFORT_PER_STEP * (self._solver.iterations() + 10)
        if not solved:
            return Duals(np.zeros(self._terms.count, dtype=np.int64), 0, effort)
        prices = [math.floor(row.dual_value() * QUANTUM) for row in self._cover]
        knob = math.floor(self._count.dual_value() * QUANTUM)
        return Duals(np.array(prices, dtype=np.int64), knob, effort)
