"""The part of ortools that is relied on is there, and does what the front of ortools does."""

from __future__ import annotations

import random

import pytest
from ortools.sat.python import cp_model as front
from ortools.sat.python import cp_model_helper as compiled

from knobpack.solver.cp_sat.cp_model import CpModel, LinearExpr
from knobpack.solver.cp_sat.cpsat import Status, solve
from knobpack.solver.watch import Watch

RELIED_ON = {
    "CpBaseModel": "model_proto get_or_make_boolean_index rebuild_constant_map "
    "_add_bool_argument_constraint _add_bounded_linear_expression _add_linear_argument_constraint",
    "BoolArgumentConstraint": "at_most_one bool_and bool_or exactly_one",
    "BoundedLinearExpression": "",
    "Constraint": "only_enforce_if",
    "CpModelProto": "clear_objective clear_solution_hint copy_from has_objective "
    "objective solution_hint variables",
    "CpObjectiveProto": "coeffs offset scaling_factor vars",
    "CpSatHelper": "validate_model",
    "CpSolverResponse": "best_objective_bound deterministic_time inner_objective_lower_bound "
    "solution status",
    "CpSolverStatus": "FEASIBLE INFEASIBLE MODEL_INVALID OPTIMAL UNKNOWN",
    "FlatIntExpr": "coeffs offset vars",
    "IntVar": "index with_domain with_name __invert__",
    "LinearArgumentConstraint": "max",
    "LinearExpr": "constant sum weighted_sum",
    "Literal": "",
    "ResponseHelper": "value",
    "SatParameters": "absolute_gap_limit catch_sigint_signal cp_model_presolve linearization_level "
    "max_deterministic_time max_time_in_seconds num_workers random_seed symmetry_level",
    "SolutionCallback": "ObjectiveValue StopSearch",
    "SolveWrapper": "add_solution_callback set_parameters solve stop_search",
}


@pytest.mark.parametrize("name", RELIED_ON)
def test_the_compiled_part_offers_what_is_relied_on(name: str) -> None:
    offered = getattr(compiled, name)
    missing = [each for each in RELIED_ON[name].split() if not hasattr(offered, each)]
    assert missing == [], (
        f"this ortools has another {name} than knobpack.solver.cp_sat.cp_model needs"
    )


def build(model: CpModel | front.CpModel, seed: int) -> None:
    """A model of every sort of constraint at once."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    on = [model.new_bool_var("") for _ in range(6)]
    whole = model.new_int_var(-3, 4, "whole")
    for add in (model.add_bool_or, model.add_at_most_one, model.add_exactly_one):
        literals = [each if draw.random() < 0.6 else ~each for each in draw.sample(on, 3)]
        add(literals)
        add(*literals, 0)
    model.add_implication(on[0], ~on[draw.randrange(1, 6)])
    model.add_max_equality(on[5], [on[1], on[2]])
    total = LinearExpr.weighted_sum(on, [draw.randint(-5, 5) for _ in on])
    model.add(total - whole <= draw.randint(-2, 4)).only_enforce_if(on[draw.randrange(6)])
    model.add(whole + on[1] == draw.randint(-4, 2))
    model.add(draw.random() < 2)
    model.minimize(LinearExpr.weighted_sum(on, [draw.randint(-9, 9) for _ in on]) + 2 * whole + 7)


@pytest.mark.parametrize("seed", range(20))
def test_a_model_is_the_one_that_the_front_builds(seed: int) -> None:
    mine, theirs = CpModel(), front.CpModel()
    for model in (mine, theirs):
        build(model, seed)
    assert str(mine.model_proto) == str(theirs.model_proto)
    assert str(mine.clone().model_proto) == str(theirs.model_proto)
    mine.clear_objective()
    assert not mine.has_objective()
    assert str(mine.model_proto) != str(theirs.model_proto)


@pytest.mark.parametrize("cost", [0, 12, -3])
def test_what_is_least_may_be_a_number(cost: int) -> None:
    model = CpModel()
    model.new_bool_var("")
    model.minimize(cost)
    answer = solve(model, Watch(5.0))
    assert (answer.status, answer.bound) == (Status.OPTIMAL, cost)


def test_what_is_false_of_numbers_cannot_be_met() -> None:
    model = CpModel()
    model.add(sum([]) >= 1)  # of no variables at all
    assert solve(model, Watch(5.0)).status is Status.IMPOSSIBLE
