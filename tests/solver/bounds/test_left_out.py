"""Bounds where routes are few: never above brute force, and above what ignores what is left out."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack.numbered.problem import Mix, Problem
from knobpack.solver.bounds import left_out
from knobpack.solver.bounds.left_out import left_out_bound
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.set_partitioning.closing import Shelf, choose
from knobpack.solver.set_partitioning.column_pool import columns_of, knob_slots
from knobpack.solver.store import Store
from tests.oracles.problems import a_problem, possible, watch
from tests.solver.bounds.test_crowded import best, drawn


def short(seed: int) -> Problem:
    """Room for all but a few, of which some are worth more than others."""
    problem, draw = drawn(seed), random.Random(seed)  # noqa: S311 (no secret)
    atoms = tuple(
        attrs.evolve(atom, omission=0 if atom.hidden else draw.choice((4, 4, 16)))
        for atom in problem.atoms
    )
    routes = problem.items - draw.randint(1, 2)
    return attrs.evolve(problem, atoms=atoms, routes=routes, per_knob=problem.items)


@pytest.mark.parametrize("small", [0, 11])
def test_no_bound_is_above_what_brute_force_finds(
    small: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(left_out, "SMALL", small)
    found = whole = 0
    for seed in range(40):
        problem = short(seed)
        values = best(problem)
        assert values is not None
        for more in (0, 4):
            held = (values[0] + more, *values[1:3])
            bound, _ = left_out_bound(problem, held, values[3] + 700, {}, watch())
            assert bound <= values[3], seed
            if not more:
                found, whole = found + bound, whole + values[3] * bool(values[0])
    assert found > 0.6 * whole > 0


def test_no_bound_is_above_the_value_of_a_request_of_any_sort(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(left_out, "SMALL", 1)
    met = 0
    for case in possible(range(80)):
        value = case.values[3]
        bound, _ = left_out_bound(case.problem, case.values[:3], value + 1, {}, watch())
        assert bound <= value, case.seed
        met += bound == value > 0
    assert met > 2


def test_the_sets_that_come_up_make_what_is_as_good_as_the_bound() -> None:
    # Twelve loads on four knobs are three on each, whichever two are left out.
    problem = short_of_two()
    bound, sets = left_out_bound(problem, (8, 0, 0), 10**6, {}, watch())
    store = Store(problem)
    store.offer(greedy(problem, watch()))
    shelf = Shelf(problem, knob_slots(problem), None)
    choose(shelf, columns_of(problem, sets), store, 3, watch())
    assert store.upper[:3] == (8, 0, 0)
    # A point is lost, as ways that leave out some are bounded alone.
    assert bound == store.upper[3] - 1


def short_of_two() -> Problem:
    """Fourteen items on four knobs, three wanting a travel of their own, and twelve routes."""
    problem = a_problem(4, 14, routes=12, mixes=(Mix(2000, (), 800), Mix(100)))
    atoms = tuple(attrs.evolve(atom, omission=4) for atom in problem.atoms)
    travels = tuple(tuple(700 * (item % 5 == 4) * way for item in range(14)) for way in (1, 0))
    wanted = tuple(int(item % 5 == 4) for item in range(14))
    return attrs.evolve(problem, atoms=atoms, travel_prices=travels, wanted=wanted)
