"""Linear programmes: solved by GLOP, which is given a second chance, and read in whole numbers.

The primal simplex method at times goes astray and says that there is no solution, from where it
ended the last time as from the beginning; the dual one then finds it. A bound would be lost for
that. Dual prices are doubles, so they are rounded: any whole prices give a bound that holds.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from ortools.linear_solver import pywraplp

from knobpack.solver.costs import QUANTUM


def dual_prices(
    solver: pywraplp.Solver, rows: Iterable[tuple[pywraplp.Constraint, int]]
) -> list[int]:
    """Solve a linear programme; the dual prices of some rows, in whole 1024ths.

    Args:
        solver: the programme.
        rows: each with the most that its price may be, up or down, so that sums of them fit.

    Returns:
        The prices, rounded down; 0 where there is none, as where neither method succeeds.
    """
    found = solved(solver)
    prices = ((row.dual_value() * QUANTUM if found else 0.0, most) for row, most in rows)
    return [
        math.floor(max(-most, min(most, price))) if math.isfinite(price) else 0
        for price, most in prices
    ]


def solved(solver: pywraplp.Solver) -> bool:
    """Whether a linear programme was solved, by the primal simplex method or else by the dual one.

    Args:
        solver: the programme. Solved to its end, its values and dual prices can be read.
    """
    if solver.Solve() == pywraplp.Solver.OPTIMAL:
        return True
    anew = pywraplp.MPSolverParameters()
    anew.SetIntegerParam(anew.INCREMENTALITY, anew.INCREMENTALITY_OFF)
    anew.SetIntegerParam(anew.LP_ALGORITHM, anew.DUAL)
    found: bool = solver.Solve(anew) == pywraplp.Solver.OPTIMAL
    return found
