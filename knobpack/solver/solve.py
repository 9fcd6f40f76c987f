"""Solving a problem: the fast way where it is exact, the general model everywhere else."""

from __future__ import annotations

import os

from knobpack.problem import Problem
from knobpack.solver.frontiers import arranged, frontiers_of
from knobpack.solver.general import general
from knobpack.solver.outcome import ImpossibleError, Outcome
from knobpack.solver.watch import Watch


def solve(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, tier by tier."""
    if problem.impossible:
        raise ImpossibleError
    solved = None if os.environ.get("GENERAL") else frontiers_of(problem, watch)
    if solved is not None:
        outcome = arranged(problem, solved, watch)
        if outcome is not None:
            return outcome
    return general(problem, watch)
