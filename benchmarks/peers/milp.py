"""Peer: the textbook model as a mixed integer programme in HiGHS, tier by tier, on one thread.

Each stage starts from the best layout so far. Measured within 10 s on single requests: in the first
two tiers that is better at one of 32 knobs, worse at another, and no different at 16 and 64.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import highspy
import numpy as np

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans, Goal
from benchmarks.peers.staged import Seen, Stage, solve_staged
from knobpack.words import Request

Row = tuple[float, float, dict[int, float]]
"""Lower and upper end, and the factor of each column, counted from 0."""

OPTIONS: Mapping[str, bool | int | float] = {
    "output_flag": False,
    "threads": 1,
    "random_seed": 1,
    "mip_rel_gap": 0.0,
    # Values are whole, so a gap under 1 is none.
    "mip_abs_gap": 0.9,
    # No value is below 0, so a layout that costs nothing ends the search.
    "objective_target": 0.5,
}


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Solve the textbook model with HiGHS, knobs that are alike being taken in order (measured)."""
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
    highs = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, setting in OPTIONS.items():
        highs.setOptionValue(option, setting)
    highs.passModel(_loaded(model, goal, caps))
    if hint:
        columns = np.array([variable - 1 for variable in hint], dtype=np.int32)
        values = np.array(list(hint.values()), dtype=np.float64)
        highs.setSolution(len(columns), columns, values)

    def better(event: highspy.HighsCallbackEvent) -> None:
        seen(_true(event.data_out.mip_solution))

    highs.cbMipImprovingSolution += better
    highs.setOptionValue("time_limit", clock.left)
    highs.run()
    info = highs.getInfo()
    bound = math.ceil(info.mip_dual_bound - 1e-4) if math.isfinite(info.mip_dual_bound) else 0
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Stage(None, goal.most, max(0, bound))
    true = _true(highs.getSolution().col_value)
    if hint and info.objective_function_value < goal.at(true) - 0.5:
        # HiGHS 1.16 has ended with the solution that it was given, not with the better one that
        # it found; without one to start from that does not happen.
        return minimise(model, tier, caps, {}, clock.left, seen)
    value = goal.at(true)
    return Stage(true, value, min(value, max(0, bound)))


def _true(values: object) -> list[bool]:
    found: list[bool] = (np.asarray(values) > 0.5).tolist()
    return [False, *found]


def _rows(model: Booleans, caps: Mapping[int, int]) -> list[Row]:
    rows: list[Row] = []
    for clause in model.clauses:
        negative = sum(1 for literal in clause if literal < 0)
        factors = {abs(literal) - 1: 1.0 if literal > 0 else -1.0 for literal in clause}
        rows.append((1.0 - negative, math.inf, factors))
    for limit in model.limits:
        counted: dict[int, float] = {}
        for variable in limit.variables:
            counted[variable - 1] = counted.get(variable - 1, 0.0) + 1.0
        rows.append((-math.inf, float(limit.most), counted))
    for tier, cap in caps.items():
        constant, priced = _linear(model.goals[tier])
        if priced:
            rows.append((-math.inf, float(cap - constant), priced))
    return rows


def _linear(goal: Goal) -> tuple[int, dict[int, float]]:
    """A goal as a constant and a factor for each column."""
    constant, factors = goal.constant, dict[int, float]()
    for literal, weight in goal.prices:
        signed = weight if literal > 0 else -weight
        constant += weight if literal < 0 else 0
        factors[abs(literal) - 1] = factors.get(abs(literal) - 1, 0.0) + signed
    return constant, factors


def _loaded(model: Booleans, goal: Goal, caps: Mapping[int, int]) -> highspy.HighsLp:
    constant, priced = _linear(goal)
    rows = _rows(model, caps)
    loaded = highspy.HighsLp()
    loaded.num_col_, loaded.num_row_ = model.count, len(rows)
    cost = np.zeros(model.count)
    for column, factor in priced.items():
        cost[column] = factor
    loaded.col_cost_, loaded.offset_ = cost, float(constant)
    loaded.col_lower_, loaded.col_upper_ = np.zeros(model.count), np.ones(model.count)
    loaded.row_lower_ = np.array([row[0] for row in rows])
    loaded.row_upper_ = np.array([row[1] for row in rows])
    starts = np.cumsum([0, *(len(row[2]) for row in rows)])
    loaded.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    loaded.a_matrix_.start_ = starts.astype(np.int32)
    loaded.a_matrix_.index_ = np.array([at for row in rows for at in row[2]], dtype=np.int32)
    loaded.a_matrix_.value_ = np.array([each for row in rows for each in row[2].values()])
    loaded.integrality_ = [highspy.HighsVarType.kInteger] * model.count
    return loaded
