"""Linear programmes: solved by GLOP, which is given a second chance.

The primal simplex method at times goes astray and says that there is no solution, from where it
ended the last time as from the beginning; the dual one then finds it. A bound would be lost for
that.
"""

from __future__ import annotations

from ortools.linear_solver import pywraplp


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
