"""Mixed whole-number programmes in exact arithmetic, solved with HiGHS.

Every variable is 0 or 1 and every number is whole, so a solution is rounded, checked against every
row, and priced again without floating point.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import attrs
import highspy
import numpy as np

Terms = tuple[tuple[int, int], ...]
"""A sum: (variable, factor) pairs."""


@attrs.frozen
class Sum:
    """A sum of variables, each with a whole factor, and a constant."""

    terms: Terms = ()
    constant: int = 0

    def __add__(self, other: Sum) -> Sum:
        return Sum(self.terms + other.terms, self.constant + other.constant)

    def __sub__(self, other: Sum) -> Sum:
        return self + (-1) * other

    def __rmul__(self, factor: int) -> Sum:
        return Sum(
            tuple((variable, factor * old) for variable, old in self.terms), factor * self.constant
        )

    def at(self, values: list[int]) -> int:
        """The value of the sum."""
        return self.constant + sum(factor * values[variable] for variable, factor in self.terms)

    @property
    def gathered(self) -> dict[int, int]:
        """The factor of each variable, those with 0 left out."""
        found: dict[int, int] = {}
        for variable, factor in self.terms:
            found[variable] = found.get(variable, 0) + factor
        return {variable: factor for variable, factor in found.items() if factor}


def total(sums: Iterable[Sum]) -> Sum:
    """All the sums together."""
    parts = list(sums)
    terms = tuple(term for part in parts for term in part.terms)
    return Sum(terms, sum(part.constant for part in parts))


def number(constant: int) -> Sum:
    """A sum that is a constant."""
    return Sum((), constant)


@attrs.define
class Programme:
    """Booleans and the rows ``sum <= 0`` that hold between them."""

    variables: int = 0
    rows: list[Sum] = attrs.field(factory=list)

    def boolean(self) -> Sum:
        """A new variable that is 0 or 1."""
        self.variables += 1
        return Sum(((self.variables - 1, 1),))

    def at_most(self, left: Sum, right: Sum) -> None:
        """Lay down that ``left <= right``."""
        self.rows.append(left - right)

    def equal(self, left: Sum, right: Sum) -> None:
        """Lay down that ``left == right``."""
        self.at_most(left, right)
        self.at_most(right, left)


@attrs.frozen
class Solved:
    """What HiGHS found.

    Args:
        status: ``solved``, ``impossible`` or ``stopped``.
        value: the value of the solution; None: none is known.
        bound: no solution is less.
    """

    status: str
    value: int | None
    bound: int | None


def minimise(programme: Programme, goal: Sum, seconds: float) -> Solved:
    """The least value of ``goal``.

    The presolve of HiGHS 1.16 calls some programmes impossible that are not, or ends them with a
    solve error; so either verdict is asked for again without presolve.

    Raises:
        ArithmeticError: the rounded solution breaks a row, or is not what HiGHS said it is.
    """
    if programme.variables == 0:
        possible = all(row.constant <= 0 for row in programme.rows)
        value = goal.constant if possible else None
        return Solved("solved" if possible else "impossible", value, value)
    highs = _loaded(programme, goal)
    highs.setOptionValue("time_limit", float(seconds))
    highs.run()
    if highs.getModelStatus() not in _BELIEVED:
        highs = _loaded(programme, goal)
        highs.setOptionValue("time_limit", float(seconds))
        highs.setOptionValue("presolve", "off")
        highs.run()
    return _outcome(programme, goal, highs)


_BELIEVED = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kTimeLimit)


def _outcome(programme: Programme, goal: Sum, highs: highspy.Highs) -> Solved:
    status = highs.getModelStatus()
    if status == highspy.HighsModelStatus.kInfeasible:
        return Solved("impossible", None, None)
    if status not in _BELIEVED:
        raise ArithmeticError(f"HiGHS gave up: {highs.modelStatusToString(status)}")
    info = highs.getInfo()
    low = info.mip_dual_bound
    bound = math.ceil(low - 1e-4) if math.isfinite(low) else None
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return Solved("stopped", None, bound)
    values = [round(value) for value in highs.getSolution().col_value]
    if any(row.at(values) > 0 for row in programme.rows):
        raise ArithmeticError("the rounded solution breaks a row")
    value = goal.at(values)
    if abs(value - info.objective_function_value) > 0.01:
        raise ArithmeticError(f"{value} was called {info.objective_function_value}")
    return Solved("solved" if bound is not None and bound >= value else "stopped", value, bound)


def _loaded(programme: Programme, goal: Sum) -> highspy.Highs:
    highs = highspy.Highs()  # type: ignore[no-untyped-call]
    for option, setting in (
        ("output_flag", False),
        ("threads", 1),
        ("random_seed", 1),
        ("mip_rel_gap", 0.0),
        # Values are whole, so a gap under 1 is none.
        ("mip_abs_gap", 0.9),
        ("mip_feasibility_tolerance", 1e-9),
        ("primal_feasibility_tolerance", 1e-9),
    ):
        highs.setOptionValue(option, setting)
    model = highspy.HighsLp()
    columns = programme.variables
    model.num_col_ = columns
    costs = np.zeros(columns)
    for variable, factor in goal.gathered.items():
        costs[variable] = factor
    model.col_cost_ = costs
    model.offset_ = float(goal.constant)
    model.col_lower_ = np.zeros(columns)
    model.col_upper_ = np.ones(columns)
    model.integrality_ = [highspy.HighsVarType.kInteger] * columns
    starts, indices, factors, uppers = [0], [], [], []
    for row in programme.rows:
        gathered = row.gathered
        indices += list(gathered)
        factors += list(gathered.values())
        starts.append(len(indices))
        uppers.append(float(-row.constant))
    model.num_row_ = len(programme.rows)
    model.row_lower_ = np.full(len(uppers), -highspy.kHighsInf)
    model.row_upper_ = np.array(uppers)
    model.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    model.a_matrix_.start_ = np.array(starts, dtype=np.int32)
    model.a_matrix_.index_ = np.array(indices, dtype=np.int32)
    model.a_matrix_.value_ = np.array(factors, dtype=float)
    highs.passModel(model)
    return highs
