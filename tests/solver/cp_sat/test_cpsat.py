"""The one place that runs CP-SAT: exact readings, and stops that come when they are asked for."""

from __future__ import annotations

import random
import time
from typing import NoReturn

import networkx as nx
import pytest
from ortools.sat.python import cp_model_helper as compiled

from knobpack.errors import KnobpackError
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.cpsat import Status, hint, solve
from knobpack.solver.watch import EFFORT, TIME_LIMIT, Watch
from tests.trust.interrupting import searches

# How soon a stop is answered is measured by ``python -m benchmarks.trust --interrupts``. Here it
# has to be what ended the search: left alone, these end when the effort of 1000 is used up.


def hard() -> cp_model.CpModel:
    """A market split problem: a handful of sums that seldom come out.

    Cornuéjols and Dawande 1998, "A class of hard small 0-1 programs" (from memory): five rows of
    forty numbers below a hundred take branch and bound for ever.
    """
    draw = random.Random(1)  # noqa: S311 (no secret)
    model = cp_model.CpModel()
    variables = [model.new_bool_var("") for _ in range(40)]
    misses = []
    for _ in range(5):
        row = [draw.randrange(100) for _ in variables]
        miss = model.new_int_var(0, sum(row), "")
        sides = cp_model.LinearExpr.weighted_sum(variables, row)
        model.add(miss >= sides - sum(row) // 2)
        model.add(miss >= sum(row) // 2 - sides)
        misses.append(miss)
    model.minimize(sum(misses))
    return model


def impossible() -> cp_model.CpModel:
    model = cp_model.CpModel()
    one = model.new_bool_var("")
    model.add(one >= 1)
    model.add(one <= 0)
    model.minimize(one)
    return model


def test_an_assignment_is_what_matching_says() -> None:
    for seed in range(5):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        size = 7
        cost = [[draw.randint(0, 99) for _ in range(size)] for _ in range(size)]
        model = cp_model.CpModel()
        on = [[model.new_bool_var("") for _ in range(size)] for _ in range(size)]
        for line in (*on, *zip(*on, strict=True)):
            model.add_exactly_one(line)
        total = sum(
            c * v for cs, vs in zip(cost, on, strict=True) for c, v in zip(cs, vs, strict=True)
        )
        model.minimize(total)
        answer = solve(model, Watch(60.0))
        graph: nx.Graph[int] = nx.Graph()
        for row in range(size):
            for column in range(size):
                graph.add_edge(row, size + column, weight=cost[row][column])
        matched = nx.min_weight_matching(graph)
        best = sum(graph[one][other]["weight"] for one, other in matched)
        assert answer.status is Status.OPTIMAL
        assert answer.value is not None
        assert (answer.bound, answer.value(total)) == (best, best)


@pytest.mark.parametrize("low", [-(10**11) - 3, -7, 0, 7, 10**11 + 3])
def test_the_bound_of_a_whole_cost_is_that_number(low: int) -> None:
    model = cp_model.CpModel()
    variable = model.new_int_var(low, low + 5, "")
    model.minimize(variable)
    answer = solve(model, Watch(60.0))
    assert (answer.status, answer.bound) == (Status.OPTIMAL, low)


def test_without_an_objective_there_is_no_bound() -> None:
    model = cp_model.CpModel()
    model.new_bool_var("")
    answer = solve(model, Watch(60.0))
    assert (answer.status, answer.bound, answer.found) == (Status.OPTIMAL, None, True)


def test_nothing_is_read_where_it_is_impossible(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> NoReturn:
        raise AssertionError("read after INFEASIBLE")

    for name in ("best_objective_bound", "inner_objective_lower_bound", "solution"):
        monkeypatch.setattr(compiled.CpSolverResponse, name, property(refuse))
    monkeypatch.setattr(compiled.ResponseHelper, "value", refuse)
    answer = solve(impossible(), Watch(60.0))
    assert (answer.status, answer.bound, answer.value) == (Status.IMPOSSIBLE, None, None)
    assert not answer.found


def test_a_watch_that_is_over_runs_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(compiled.SolveWrapper, "solve", lambda *_: pytest.fail("it ran"))
    answer = solve(hard(), Watch(0.0))
    assert (answer.status, answer.bound, answer.found) == (Status.UNKNOWN, None, False)


@pytest.mark.parametrize("effort", [0.0, -0.5])
def test_a_share_that_is_used_up_runs_nothing(
    effort: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(compiled.SolveWrapper, "solve", lambda *_: pytest.fail("it ran"))
    answer = solve(hard(), Watch(1.0), effort=effort)
    assert (answer.status, answer.bound, answer.found) == (Status.UNKNOWN, None, False)


def test_effort_stops_it_at_the_same_place_each_time() -> None:
    answers = []
    for _ in range(2):
        watch, model = Watch(0.05), hard()
        answer = solve(model, watch)
        assert answer.status in (Status.FEASIBLE, Status.UNKNOWN)
        assert watch.over()
        assert watch.stopped == EFFORT
        objective = answer.value and answer.value(_objective(model))
        answers.append((answer.status, answer.bound, objective, watch.effort))
    assert answers[0] == answers[1]


def _objective(model: cp_model.CpModel) -> cp_model.LinearExprT:
    proto = model.model_proto
    return sum(compiled.IntVar(proto, at) for at in proto.objective.vars)


def test_effort_of_a_run_alone_leaves_the_watch_its_own() -> None:
    watch = Watch(60.0)
    answer = solve(hard(), watch, effort=0.02)
    assert answer.status in (Status.FEASIBLE, Status.UNKNOWN)
    assert not watch.over()
    assert 59.0 < watch.effort < 60.0


def test_a_time_limit_stops_it() -> None:
    watch = Watch(1000.0, deadline=time.monotonic() + 0.2)
    answer = solve(hard(), watch)
    assert watch.stopped == TIME_LIMIT
    assert answer.status in (Status.FEASIBLE, Status.UNKNOWN)
    assert searches() == []


def test_what_stopped_it_is_noted_as_the_time_limit() -> None:
    for _ in range(5):
        watch = Watch(1000.0, deadline=time.monotonic() + 0.05)
        solve(hard(), watch)
        assert watch.stopped == TIME_LIMIT


def test_it_stops_once_the_value_is_known_to_be_enough() -> None:
    model = hard()
    watch = Watch(1000.0)
    answer = solve(model, watch, enough=10**4)
    assert answer.status is Status.FEASIBLE
    assert answer.value is not None
    assert answer.value(_objective(model)) <= 10**4
    assert watch.effort > 999.0
    assert not watch.over()


def test_a_model_that_is_not_valid_is_a_fault_of_ours() -> None:
    model = cp_model.CpModel()
    huge = model.new_int_var(0, 2**61, "")
    model.add(4 * huge + 4 * huge <= 1)
    with pytest.raises(KnobpackError, match="not valid"):
        solve(model, Watch(60.0))


def test_what_goes_wrong_in_the_solver_is_handed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> NoReturn:
        raise ZeroDivisionError

    monkeypatch.setattr(compiled.SolveWrapper, "solve", fail)
    with pytest.raises(ZeroDivisionError):
        solve(impossible(), Watch(60.0))


def test_a_hint_replaces_the_one_before() -> None:
    model = cp_model.CpModel()
    variables = [model.new_bool_var("") for _ in range(3)]
    hint(model, variables, [1, 1, 1])
    hint(model, variables[:2], [0, 1])
    assert list(model.model_proto.solution_hint.vars) == [0, 1]
    assert list(model.model_proto.solution_hint.values) == [0, 1]


def test_impossible_is_believed_the_second_time_only(monkeypatch: pytest.MonkeyPatch) -> None:
    runs: list[tuple[bool, int]] = []
    solved, told = compiled.SolveWrapper.solve, compiled.SolveWrapper.set_parameters

    def note(run: compiled.SolveWrapper, parameters: compiled.SatParameters) -> None:
        runs.append((parameters.cp_model_presolve, parameters.random_seed))
        told(run, parameters)

    def once_wrong(run: compiled.SolveWrapper, proto: compiled.CpModelProto) -> object:
        # The first run is told of a model that cannot be met, whatever it was given.
        given = impossible().model_proto if runs[-1][0] else proto
        return solved(run, given)  # type: ignore[no-untyped-call]

    monkeypatch.setattr(compiled.SolveWrapper, "set_parameters", note)
    monkeypatch.setattr(compiled.SolveWrapper, "solve", once_wrong)
    model = cp_model.CpModel()
    one = model.new_bool_var("")
    model.add(one >= 1)
    assert solve(model, Watch(5.0)).status is Status.IMPOSSIBLE
    confirmed = solve(model, Watch(5.0), confirm=True)
    assert confirmed.found
    assert solve(impossible(), Watch(5.0), confirm=True).status is Status.IMPOSSIBLE
    assert runs[1:3] == [(True, 1), (False, 2)]
