"""Peer: the textbook model in CP-SAT (OR-tools), tier by tier, on one worker.

Small models are searched for a proof at once. Larger ones are improved first, from the layout that
insertion makes: parts of it are freed in turn (large neighbourhood search). Measured on two
requests each of 16 and 32 knobs, 6 to 10 s from the same start: *sharing* came out 1 to 18 in 100
cheaper so than by the search for a proof. In the first tier of one of 32 knobs this reached 0, and
relaxations of level 0, 1 and 2 in that search did not. At 64 knobs building the model and its
presolve take most of 10 s.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from ortools.sat.python import cp_model

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans, Goal
from benchmarks.peers.staged import Seen, Stage, solve_staged
from knobpack.words import Request

SETTINGS = {"num_workers": 1, "random_seed": 1, "catch_sigint_signal": False}
"""One worker, as one core is given."""

PROVING = {"linearization_level": 2}
"""With the fuller relaxation one worker proves sooner (measured)."""

IMPROVING = {
    "interleave_search": True,
    "use_lns_only": True,
    "linearization_level": 0,
    "cp_model_probing_level": 0,
    "symmetry_level": 0,
}
"""One worker frees a part of the layout after another; what proofs need is left out (measured)."""

LARGE = 2_000
"""Models of more booleans are improved before anything is proven."""

TOO_LARGE = 10_000
"""Of models of more booleans nothing is proven within seconds: they are only improved."""


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Solve the textbook model with CP-SAT, which finds the symmetries itself."""
    return solve_staged(request, seconds, tell, minimise, ordered=False)


def solve_ordered(request: Request, seconds: float, tell: Tell) -> Answer:
    """Solve the textbook model with CP-SAT, knobs that are alike being taken in order.

    Proofs come sooner and good layouts later, so it is a peer of its own.
    """
    return solve_staged(request, seconds, tell, minimise, ordered=True)


def minimise(
    model: Booleans,
    tier: int,
    caps: Mapping[int, int],
    hint: Mapping[int, bool],
    seconds: float,
    seen: Seen,
) -> Stage:
    """Make the goal of one tier least; see :class:`benchmarks.peers.staged.Minimise`."""
    clock, goal = Clock.of(seconds), model.goals[tier]
    problem, booleans = _built(model)
    for capped, cap in caps.items():
        problem.add(_expression(model.goals[capped], booleans) <= cap)
    problem.minimize(_expression(goal, booleans))
    watching = _Watching(booleans, goal, seen)
    stage = Stage(None, goal.most, 0)
    if model.count > LARGE and hint:
        _hint(problem, hint)
        hopeless = model.count > TOO_LARGE
        stage = _run(problem, clock.left / (1 if hopeless else 2), IMPROVING, watching)
        if hopeless or stage.value == stage.bound:
            return stage
    _hint(problem, dict(enumerate(stage.true[1:], 1)) if stage.true else hint)
    last = _run(problem, clock.left, PROVING, watching)
    if last.true is None or last.value > stage.value:
        return Stage(stage.true, stage.value, min(stage.value, last.bound))
    return last


def _run(
    problem: cp_model.CpModel,
    seconds: float,
    settings: Mapping[str, int],
    watching: _Watching,
) -> Stage:
    solver = cp_model.CpSolver()
    for name, setting in {**SETTINGS, **settings}.items():
        setattr(solver.parameters, name, setting)
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(problem, watching)
    goal = watching.goal
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Stage(None, goal.most, 0)
    true = [False, *(solver.boolean_value(each) for each in watching.booleans)]
    value = goal.at(true)
    bound = value if status == cp_model.OPTIMAL else _up(solver.best_objective_bound)
    return Stage(true, value, min(value, max(0, bound)))


def _hint(problem: cp_model.CpModel, hint: Mapping[int, bool]) -> None:
    """Start from an assignment and from no other."""
    problem.clear_hints()  # type: ignore[no-untyped-call]
    problem.proto.solution_hint.vars.extend([variable - 1 for variable in hint])
    problem.proto.solution_hint.values.extend([int(hinted) for hinted in hint.values()])


def _up(bound: float) -> int:
    """The least whole number that a bound in floating point allows."""
    return math.ceil(bound - 1e-6)


def _built(model: Booleans) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    problem = cp_model.CpModel()
    booleans = [problem.new_bool_var("") for _ in range(model.count)]
    # Written to the protocol buffer itself, which takes half the time (measured).
    constraints = problem.proto.constraints
    for clause in model.clauses:
        # A variable's index, or, where it is negated, minus one less than that.
        literals = [each - 1 if each > 0 else each for each in clause]
        constraints.add().bool_or.literals.extend(literals)
    for limit in model.limits:
        variables = [booleans[each - 1] for each in limit.variables]
        if limit.most == 1 and len(set(limit.variables)) == len(variables):
            problem.add_at_most_one(variables)
        else:
            problem.add(cp_model.LinearExpr.sum(variables) <= limit.most)
    return problem, booleans


def _expression(goal: Goal, booleans: list[cp_model.IntVar]) -> cp_model.LinearExprT:
    factors = [weight if literal > 0 else -weight for literal, weight in goal.prices]
    constant = goal.constant + sum(weight for literal, weight in goal.prices if literal < 0)
    variables = [booleans[abs(literal) - 1] for literal, _ in goal.prices]
    return cp_model.LinearExpr.weighted_sum(variables, factors) + constant


class _Watching(cp_model.CpSolverSolutionCallback):
    """Passes every better assignment on, and ends the search at one that costs nothing."""

    def __init__(self, booleans: list[cp_model.IntVar], goal: Goal, seen: Seen) -> None:
        super().__init__()
        self.booleans, self.goal, self._seen = booleans, goal, seen

    def on_solution_callback(self) -> None:
        true = [False, *(self.boolean_value(each) for each in self.booleans)]
        self._seen(true)
        if self.goal.at(true) == 0:
            self.stop_search()
