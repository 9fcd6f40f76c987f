"""Solving a problem: the fast way where it is exact, the general model everywhere else."""

from __future__ import annotations

import attrs

from knobpack.problem import Problem
from knobpack.solver.frontiers import (
    Frontiers,
    arranged,
    best_sets,
    known_costs,
    unsure_frontiers_of,
)
from knobpack.solver.general import arrange_sets, general
from knobpack.solver.outcome import ImpossibleError, NothingFoundError, Outcome
from knobpack.solver.variants import TooManyVariantsError
from knobpack.solver.watch import Told, Watch


def solve(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, tier by tier.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if problem.breakable:
        # If everything can be placed and nothing broken, no best placement breaks anything.
        outcome = _solved_unbroken(problem, watch)
        if outcome is not None:
            return outcome
    return _solved(problem, problem, watch)


def _solved_unbroken(problem: Problem, watch: Watch) -> Outcome | None:
    told = watch.told
    watch.told = _while_all_is_placed(told) if told else None
    try:
        outcome = _solved(problem.unbroken(), problem, watch)
    except (ImpossibleError, NothingFoundError):
        return None
    finally:
        watch.told = told
    return outcome if outcome.values[0] == 0 else None


def _while_all_is_placed(told: Told) -> Told:
    """Pass on what is known of the unbroken problem only while it holds for the whole one too."""
    lost = False

    def tell(tier: int, value: int | None, bound: int) -> None:
        nonlocal lost
        lost = lost or (tier == 0 and value != 0)
        if not lost:
            told(tier, value, bound)

    return tell


def _solved(problem: Problem, whole: Problem, watch: Watch) -> Outcome:
    """The best placement of a problem, and what is known of the whole that it stands for."""
    if problem.impossible:
        raise ImpossibleError
    solved = unsure_frontiers_of(problem, watch)
    outcome = _solved_fast(problem, solved, watch) if solved is not None and solved.sure else None
    outcome = outcome or general(problem, watch)
    known = None if solved is None else known_costs(problem, solved, whole)
    return attrs.evolve(outcome, known=known)


def _solved_fast(problem: Problem, solved: Frontiers, watch: Watch) -> Outcome | None:
    try:
        outcome = arranged(problem, solved, watch)
    except TooManyVariantsError:
        outcome = arrange_sets(problem, best_sets(solved), solved.values, watch)
    if outcome is not None:
        for tier, (value, bound) in enumerate(zip(outcome.values, outcome.bounds, strict=True)):
            watch.tell(tier, value, bound)
    return outcome
