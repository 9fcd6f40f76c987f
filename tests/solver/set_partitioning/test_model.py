"""The selection model: tier by tier what brute force finds, over every set."""

from __future__ import annotations

import networkx as nx
import pytest

from knobpack.numbered.problem import Problem
from knobpack.solver.cp_sat.cpsat import Status
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.column_pool import columns_of, knob_slots
from knobpack.solver.set_partitioning.model import SetPartitioning
from tests.oracles.problems import a_problem, every_column, needed_atoms, of_graph, possible, watch


def singles(problem: Problem) -> list[int]:
    return [1 << knob for knob in range(problem.knobs)]


def test_every_tier_on_single_knobs_is_what_brute_force_finds() -> None:
    for case in possible(range(45)):
        problem = case.problem
        selection = SetPartitioning(problem, every_column(problem), singles(problem))
        for tier in range(len(case.values)):
            answer = selection.best(tier, watch())
            assert answer.status is Status.OPTIMAL
            assert answer.bound == case.values[tier], (case.seed, tier)
            selection.hold(tier, case.values[tier])
        placed = selection.placed(answer)
        assert placed is not None
        assert values_of(problem, placed) == case.values, case.seed
        # From the best placement itself it finds the same.
        selection.start_from(placed)
        assert selection.best(UPPER + 1, watch()).bound == case.values[UPPER + 1]


def test_the_first_four_tiers_on_classes_of_knobs_are_the_same() -> None:
    for case in possible(range(70, 105)):
        problem = case.problem
        selection = SetPartitioning(problem, every_column(problem), knob_slots(problem))
        for tier in range(UPPER):
            assert selection.best(tier, watch()).bound == case.values[tier], (case.seed, tier)
            selection.hold(tier, case.values[tier])


def test_a_value_that_is_better_than_the_best_cannot_be_held() -> None:
    tried = 0
    for case in possible(range(45)):
        worse = [tier for tier, _ in enumerate(case.values) if case.values[tier] > 0]
        if not worse:
            continue
        problem, tier = case.problem, worse[0]
        selection = SetPartitioning(problem, every_column(problem), singles(problem))
        for earlier in range(tier):
            selection.hold(earlier, case.values[earlier])
        selection.hold(tier, case.values[tier] - 1)
        assert selection.any(watch()).status is Status.IMPOSSIBLE, case.seed
        tried += 1
    assert tried > 18


@pytest.mark.parametrize(("knobs", "possible_"), [(2, False), (3, True)])
def test_each_slot_takes_as_many_sets_as_it_has_knobs(knobs: int, *, possible_: bool) -> None:
    problem = needed_atoms(of_graph(nx.complete_graph(3), knobs))
    selection = SetPartitioning(problem, columns_of(problem, (1, 2, 4)), knob_slots(problem))
    answer = selection.any(watch())
    assert answer.found == possible_
    assert len(selection.placed(answer) or {}) == (3 if possible_ else 0)


def test_runs_are_counted_once_for_each_gap() -> None:
    # Items 0 and 2 are of one voice; item 1 is drawn to the middle knob.
    clashes, places = (0b110, 0b101, 0b011), ((0, 0, 0), (9, 0, 9), (0, 0, 0))
    problem = needed_atoms(a_problem(3, 3, runs=((0b101, 60),), clashes=clashes, places=places))
    selection = SetPartitioning(problem, columns_of(problem, (1, 2, 4)), singles(problem))
    # Side by side they push item 1 to an end (9); with it between them they are two runs (60).
    assert selection.best(UPPER + 1, watch()).bound == 9
