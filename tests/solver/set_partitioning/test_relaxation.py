"""The relaxation: no bound above what brute force finds, whatever the prices; and not too weak."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import partial

import numpy as np
import pytest
from ortools.linear_solver import pywraplp
from scipy.optimize import linprog  # type: ignore[import-untyped]

from benchmarks.foreign_requests import planted
from knobpack.allocator import allocate_request
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import QUANTUM
from knobpack.solver.families import families
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning import column_pool as catalogues_room
from knobpack.solver.set_partitioning.column_pool import Column, ColumnPool, columns_of, knob_slots
from knobpack.solver.set_partitioning.relaxation import Prices, _reduced, bound_at, relax
from knobpack.solver.watch import Watch
from tests.oracles.problems import (
    Case,
    a_problem,
    atoms_of,
    every_placement,
    possible,
    size_of,
    watch,
)


def catalogues_of(problem: Problem) -> list[ColumnPool]:
    found = catalogues_room.column_pools_of(
        problem, families(problem), knob_slots(problem), watch()
    )
    assert found is not None
    return found


def counted_once_more(problem: Problem, tier: int) -> int:
    """What comes off: a bundle, and a spread's weight, counts on its first knob too."""
    weights = sum(spread.weight for spread in problem.spreads)
    return (0, len(problem.bundles), 0, weights)[tier]


def best_columns(case: Case) -> list[Column]:
    """The sets of a placement that is best in the first four tiers."""
    placements = every_placement(case.request)
    best = next(each for each in placements if each.values == case.upper)
    sets = {atoms_of(case.problem, items) for items in best.used}
    return list(columns_of(case.problem, sets))


def garbage(draw: random.Random, problem: Problem, tier: int) -> Prices:
    """Prices that have nothing to do with anything, but for the signs of those of limits."""
    most, slots = draw.choice((1, 1000, 10**5, 10**9)), len(knob_slots(problem))
    lowest, tight = draw.choice((0, -most)), draw.choice((0, 1))

    def limit() -> int:
        return -draw.randint(0, most) * tight

    return Prices(
        np.array([draw.randint(lowest, most) for _ in problem.atoms], dtype=np.int64),
        np.array([limit() for _ in range(slots)], dtype=np.int64),
        limit(),
        tuple(limit() for _ in range(tier)),
    )


def test_any_prices_at_all_give_a_bound_that_holds() -> None:
    above_zero = 0
    for case in possible(range(160)):
        problem, slots = case.problem, knob_slots(case.problem)
        catalogues = catalogues_of(problem)
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        for tier in (0, 1, 2, 3, 3):
            for _ in range(6):
                prices = garbage(draw, problem, tier)
                reduced = [_reduced(each, prices, tier) for each in catalogues]
                exact = bound_at(problem, slots, case.values[:tier], prices, reduced)
                reached = case.values[tier] + counted_once_more(problem, tier)
                assert exact <= QUANTUM * reached, (case.seed, tier)
                above_zero += exact > 0
    assert above_zero > 60


WILD = (float("inf"), float("-inf"), float("nan"), 1e300, -1e300, 1e18, -1e18, -0.0, 0.3)
"""What no dual price is, and what would not fit into 64 bits many times over."""


def test_dual_prices_beyond_all_measure_give_a_bound_that_holds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    tried = 0
    for case in possible(range(80)):
        if size_of(case.request) > 1100:
            continue
        problem, slots = case.problem, knob_slots(case.problem)
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        monkeypatch.setattr(pywraplp.Constraint, "dual_value", lambda _: draw.choice(WILD))  # noqa: B023
        start, catalogues = best_columns(case), catalogues_of(problem)
        for tier in range(UPPER):
            relaxed = relax(problem, catalogues, slots, case.values[:tier], start, watch())
            assert relaxed is not None
            assert relaxed.bound <= case.values[tier], (case.seed, tier)
            assert all(abs(int(cost)) < 2**63 - 1 for each in relaxed.reduced for cost in each)
            tried += 1
    assert tried > 90


def test_the_bound_is_no_higher_than_the_best() -> None:
    met = tried = 0
    for case in possible(range(160)):
        if size_of(case.request) > 1100:
            continue
        problem, catalogues = case.problem, catalogues_of(case.problem)
        start = best_columns(case)
        for tier in range(UPPER):
            relaxed = relax(
                problem, catalogues, knob_slots(problem), case.values[:tier], start, watch()
            )
            assert relaxed is not None
            assert relaxed.bound <= case.values[tier], (case.seed, tier)
            met += relaxed.bound == case.values[tier]
            tried += 1
    # A bound that is never met would be safe too, and worth nothing.
    assert met > 0.7 * tried
    assert tried > 180


def by_linprog(problem: Problem, catalogues: list[ColumnPool], held: tuple[int, ...]) -> float:
    """The linear programme over every set, by another solver: one variable a set and slot."""
    slots, tier = knob_slots(problem), len(held)
    rows = len(problem.atoms) + len(slots) + 1 + tier
    columns, costs = [], []
    for number, atom in enumerate(problem.atoms):
        if atom.needed:
            continue
        column = np.zeros(rows)
        column[number] = 1
        if held:
            column[-tier:] = atom.costs[:tier]
        columns.append(column)
        costs.append(atom.costs[tier])
    for catalogue in catalogues:
        for row in range(len(catalogue.members)):
            own = catalogue.column(problem, row)
            for at, slot in enumerate(slots):
                if not slot & own.knobs:
                    continue
                column = np.zeros(rows)
                column[list(bits(own.atoms))] = 1
                column[len(problem.atoms) + at] = 1
                column[len(problem.atoms) + len(slots)] = own.items.bit_count()
                if held:
                    column[-tier:] = own.costs[:tier]
                columns.append(column)
                costs.append(own.costs[tier])
    table = np.array(columns).T
    count = len(problem.atoms)
    reached = [value + counted_once_more(problem, at) for at, value in enumerate(held)]
    limits = [*(slot.bit_count() for slot in slots), problem.routes, *reached]
    solved = linprog(
        costs, A_ub=table[count:], b_ub=limits, A_eq=table[:count], b_eq=np.ones(count)
    )
    assert solved.status == 0
    return float(solved.fun)


def test_it_is_as_strong_as_the_linear_programme_over_every_set() -> None:
    compared = 0
    for case in possible(range(100)):
        if not case.problem.items >= 4 or size_of(case.request) > 1100:
            continue
        problem, catalogues = case.problem, catalogues_of(case.problem)
        best = next(p for p in every_placement(case.request) if p.values == case.upper)
        start = columns_of(problem, {atoms_of(problem, items) for items in best.used})
        for tier in range(UPPER):
            held = case.values[:tier]
            relaxed = relax(problem, catalogues, knob_slots(problem), held, start, watch())
            assert relaxed is not None
            exact, known = relaxed.exact_bound / QUANTUM, by_linprog(problem, catalogues, held)
            assert exact <= known + 1e-6
            # Prices rounded to 1024ths lose a little, times what they are multiplied by.
            lost = (
                2 * problem.items + problem.knobs + 2 + sum(held) + len(problem.bundles)
            ) / QUANTUM
            assert exact >= known - lost - 1e-6, (case.seed, tier)
            compared += 1
    assert compared > 40


def test_half_a_knob_each_is_a_relaxation() -> None:
    # Three items, any two of which may share, two on a knob at most, on one knob: placing two is
    # the best, and so says the relaxation: each is placed by two thirds.
    problem = a_problem(1, 3, per_knob=2)
    relaxed = relax(problem, catalogues_of(problem), knob_slots(problem), (), (), watch())
    assert relaxed is not None
    assert relaxed.bound == 1


def test_it_is_cut_short_by_the_watch() -> None:
    problem = a_problem(2, 3)
    assert relax(problem, catalogues_of(problem), knob_slots(problem), (), (), Watch(0.0)) is None


def test_what_is_known_when_it_is_cut_short_is_a_bound() -> None:
    cut = 0
    for case in possible(range(80)):
        if size_of(case.request) > 1100:
            continue
        slots, catalogues = knob_slots(case.problem), catalogues_of(case.problem)
        start, held, most = best_columns(case), case.values[:3], case.values[3]
        for looks in (1, 2, 3):
            left = iter(range(looks))
            short = Watch(1.0, cancelled=partial(_none_left, left))
            relaxed = relax(case.problem, catalogues, slots, held, start, short)
            assert relaxed is not None
            assert relaxed.bound <= most, case.seed
            cut += short.stopped is not None
    assert cut > 5


def _none_left(looks: Iterator[int]) -> bool:
    return next(looks, None) is None


def test_where_the_linear_solver_goes_astray_the_bound_is_not_lost() -> None:
    # By the primal simplex method alone it came to nothing here, and a bound of 65,600 was left.
    found = allocate_request(planted(151), effort=2)
    assert found.tier("sharing").bound > 82_000
