"""Choosing from some sets of a family, so many knobs in all: in parts, for prices, and whole.

In parts they are chosen by a linear programme, whole by CP-SAT.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import attrs
import numpy as np
from ortools.linear_solver import pywraplp

from knobpack.numbered.problem import bits
from knobpack.solver.column_generation.agglomeration import Way
from knobpack.solver.column_generation.lagrangian_bound import worth_of
from knobpack.solver.column_generation.terms import SetMasks, Terms
from knobpack.solver.costs import FAR, QUANTUM, Whole
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.cpsat import Status, hint, solve
from knobpack.solver.linear import dual_prices
from knobpack.solver.watch import Watch

EFFORT_PER_STEP = 2e-5
"""Effort that a step of the linear solver counts as."""


HIGHEST = 1 << 52
"""All prices of a set come to no more than this, so that doubles hold their sum exactly."""


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
        # What its atoms cost at least, a set costs in any case: prices are sought of the rest, as
        # the linear solver goes astray where that is little beside it.
        self._least = terms.own.min(axis=0)
        self.known: dict[int, int] = {}
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._cover = [self._solver.Constraint(1, 1) for _ in terms.atoms]
        self._count = self._solver.Constraint(0, 0)
        self._objective = self._solver.Objective()
        self._objective.SetMinimization()
        rest = self.add(terms.sets(sorted(set(filter(None, sets)))))
        # What no way covers costs more than any way: there is always a solution to start from.
        self._highest = 10 * (1_000 + max(map(abs, rest), default=0))
        self._missing = [self._beside(cover, 1) for cover in self._cover]
        self._off = [self._beside(self._count, sign) for sign in (1, -1)]
        self._charge([self._highest] * len(self._missing))

    def _beside(self, row: pywraplp.Constraint, sign: int) -> pywraplp.Variable:
        """What makes up for what a row lacks."""
        variable = self._solver.NumVar(0, self._solver.infinity(), "")
        row.SetCoefficient(variable, sign)
        return variable

    def charge(self, omissions: Sequence[int]) -> None:
        """From now on atoms may be left out, for so much each; FAR: it must be placed."""
        known = [own for own in omissions if own < FAR]
        self._highest = max(self._highest, 4 * max(known, default=0))
        costs = zip(omissions, self._least.tolist(), strict=True)
        self._charge([min(self._highest, own - least) for own, least in costs])

    def _charge(self, missing: Sequence[int]) -> None:
        costs = [*missing, self._highest, self._highest]
        for variable, cost in zip([*self._missing, *self._off], costs, strict=True):
            self._objective.SetCoefficient(variable, cost)

    def add(self, sets: SetMasks) -> list[int]:
        """Add valid sets; what those cost that were not there, but for the least of its atoms."""
        fresh = [int(each) for each in sets if int(each) not in self.known]
        terms, sets = self._terms, self._terms.sets(fresh)
        costs = terms.costs(sets)
        self.known.update(zip(fresh, costs.tolist(), strict=True))
        found: list[int] = (costs - worth_of(terms, self._least, sets)).tolist()
        for each, cost in zip(fresh, found, strict=True):
            variable = self._solver.NumVar(0, self._solver.infinity(), "")
            self._objective.SetCoefficient(variable, cost)
            for place in bits(each):
                self._cover[place].SetCoefficient(variable, 1)
            if not each & terms.pinned:
                self._count.SetCoefficient(variable, 1)
        return found

    def duals(self, knobs: int) -> Duals:
        """Solve for exactly so many knobs that no atom is pinned to.

        Where the linear solver fails, all prices are zero: any prices give a valid bound.
        """
        self._count.SetBounds(knobs, knobs)
        rows = [*self._cover, self._count]
        *prices, knob = dual_prices(self._solver, [(row, HIGHEST // len(rows)) for row in rows])
        effort = EFFORT_PER_STEP * (self._solver.iterations() + 10)
        return Duals(np.array(prices, dtype=np.int64) + QUANTUM * self._least, knob, effort)


@attrs.frozen
class Parted:
    """What was found.

    Args:
        way: the cheapest way found; None: none was.
        bound: no way of these sets costs less; None: not known.
        done: whether ``way`` is the cheapest of all, or there is none.
    """

    way: Way | None
    bound: int | None
    done: bool


def partition(
    terms: Terms,
    sets: SetMasks,
    costs: Whole,
    knobs: int,
    watch: Watch,
    *,
    start: Way | None = None,
    enough: int | None = None,
    effort: float = math.inf,
) -> Parted:
    """Choose sets that hold each atom once, ``knobs`` of them on knobs that no atom is pinned to.

    Args:
        terms: the family.
        sets: the sets to choose from, all valid.
        costs: what each costs.
        knobs: how many sets are to be on knobs that no atom is pinned to.
        watch: how long the search may go on.
        start: a way to begin with; its sets need not be among ``sets``.
        enough: a cost that is known to be a bound.
        effort: a limit of deterministic effort for this search.
    """
    known = dict(zip(sets.tolist(), costs.tolist(), strict=True))
    if start is not None:
        own = terms.sets(start.sets)
        known.update(zip(own.tolist(), terms.costs(own).tolist(), strict=True))
    order = sorted(known)
    holds = terms.holds(terms.sets(order)).astype(bool)
    model = cp_model.CpModel()
    chosen = [model.new_bool_var("") for _ in order]
    for place in range(terms.count):
        model.add_exactly_one(chosen[at] for at in np.nonzero(holds[:, place])[0])
    free = [v for v, each in zip(chosen, order, strict=True) if not each & terms.pinned]
    model.add(cp_model.LinearExpr.sum(free) == knobs)
    model.minimize(cp_model.LinearExpr.weighted_sum(chosen, [known[each] for each in order]))
    if start is not None:
        hint(model, chosen, [int(each in start.sets) for each in order])
    answer = solve(model, watch, effort=effort, enough=enough)
    if answer.status is Status.IMPOSSIBLE:
        return Parted(None, None, done=True)
    if answer.value is None:
        return Parted(None, answer.bound, done=False)
    taken = tuple(each for v, each in zip(chosen, order, strict=True) if answer.value(v))
    cost = sum(known[each] for each in taken)
    done = answer.status is Status.OPTIMAL or cost == enough
    return Parted(Way(cost, taken), answer.bound, done=done)
