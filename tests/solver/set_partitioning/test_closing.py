"""The set partitioning model: tier by tier what brute force finds, over every set."""

from __future__ import annotations

import networkx as nx
import pytest

from knobpack.solver.cp_sat.cpsat import Status
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.closing import SetPartitioning
from knobpack.solver.set_partitioning.column_pool import columns_of, knob_slots
from tests.oracles.problems import every_column, needed_atoms, of_graph, possible, watch


def test_the_first_four_tiers_are_what_brute_force_finds() -> None:
    for case in possible(range(70, 130)):
        problem = case.problem
        selection = SetPartitioning(problem, every_column(problem), knob_slots(problem))
        for tier in range(UPPER):
            answer = selection.best(tier, watch())
            assert answer.status is Status.OPTIMAL
            assert answer.bound == case.values[tier], (case.seed, tier)
            selection.hold(tier, case.values[tier])
        placed = selection.placed(answer)
        assert placed is not None
        assert values_of(problem, placed)[:UPPER] == case.upper, case.seed
        # From the best placement itself it finds the same.
        selection.start_from(placed)
        assert selection.best(UPPER - 1, watch()).bound == case.upper[UPPER - 1]


def test_a_value_that_is_better_than_the_best_cannot_be_held() -> None:
    tried = 0
    for case in possible(range(45)):
        worse = [tier for tier, value in enumerate(case.upper) if value > 0]
        if not worse:
            continue
        problem, tier = case.problem, worse[0]
        selection = SetPartitioning(problem, every_column(problem), knob_slots(problem))
        for earlier in range(tier):
            selection.hold(earlier, case.values[earlier])
        selection.hold(tier, case.values[tier] - 1)
        assert selection.best(tier, watch()).status is Status.IMPOSSIBLE, case.seed
        tried += 1
    assert tried > 18


@pytest.mark.parametrize(("knobs", "possible_"), [(2, False), (3, True)])
def test_each_slot_takes_as_many_sets_as_it_has_knobs(knobs: int, *, possible_: bool) -> None:
    problem = needed_atoms(of_graph(nx.complete_graph(3), knobs))
    selection = SetPartitioning(problem, columns_of(problem, (1, 2, 4)), knob_slots(problem))
    answer = selection.best(0, watch())
    assert answer.found == possible_
    assert len(selection.placed(answer) or {}) == (3 if possible_ else 0)
