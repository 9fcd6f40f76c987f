"""Peer: the textbook model in CP-SAT (OR-tools), tier by tier, on one worker."""

from __future__ import annotations

import math
from collections.abc import Mapping

from ortools.sat.python import cp_model

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans, Goal
from benchmarks.peers.staged import Seen, Stage, solve_staged
from knobpack.words import Request

SETTINGS = {"num_workers": 1, "linearization_level": 2, "random_seed": 1}
"""One worker, as one core is given; it then searches with the fuller relaxation (measured)."""


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
    clock = Clock.of(seconds)
    problem, booleans = _built(model)
    for capped, cap in caps.items():
        problem.add(_expression(model.goals[capped], booleans) <= cap)
    problem.minimize(_expression(model.goals[tier], booleans))
    for variable, hinted in hint.items():
        problem.add_hint(booleans[variable - 1], hinted)
    solver = cp_model.CpSolver()
    for name, setting in SETTINGS.items():
        setattr(solver.parameters, name, setting)
    solver.parameters.max_time_in_seconds = clock.left
    solver.parameters.catch_sigint_signal = False
    status = solver.solve(problem, _Watching(booleans, seen))
    goal = model.goals[tier]
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Stage(None, goal.most, 0)
    true = [False, *(solver.boolean_value(each) for each in booleans)]
    value = goal.at(true)
    bound = value if status == cp_model.OPTIMAL else _up(solver.best_objective_bound)
    return Stage(true, value, min(value, max(0, bound)))


def _up(bound: float) -> int:
    """The least whole number that a bound in floating point allows."""
    return math.ceil(bound - 1e-6)


def _built(model: Booleans) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    problem = cp_model.CpModel()
    booleans = [problem.new_bool_var("") for _ in range(model.count)]

    def literal(number: int) -> cp_model.LiteralT:
        found = booleans[abs(number) - 1]
        return found if number > 0 else ~found

    for clause in model.clauses:
        problem.add_bool_or([literal(each) for each in clause])
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
    """Passes every better assignment on."""

    def __init__(self, booleans: list[cp_model.IntVar], seen: Seen) -> None:
        super().__init__()
        self._booleans, self._seen = booleans, seen

    def on_solution_callback(self) -> None:
        self._seen([False, *(self.boolean_value(each) for each in self._booleans)])
