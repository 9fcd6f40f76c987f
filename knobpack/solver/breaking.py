"""Placements in which only a few of the snapshots that may be broken are: good ones to start from.

The more snapshots may be broken, the larger are the families. With most of them firm the families
are small, and the best placement is found at once; one snapshot more at a time is let be broken, as
long as that makes it better.
"""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.problem import Problem
from knobpack.solver.evaluate import values_of
from knobpack.solver.families import families
from knobpack.solver.frontiers import SMALL, some_sets, unsure_frontiers_of
from knobpack.solver.outcome import ImpossibleError, Values
from knobpack.solver.placing import placed
from knobpack.solver.watch import Watch

MOST_TRIED = 8
"""Sorts of snapshots that are let be broken, at most: those that cost the least."""

EFFORT_PER_TRIAL = 0.02
"""Effort for each choice of snapshots that is tried, about what it takes in seconds."""


def few_broken(problem: Problem, watch: Watch) -> dict[int, int] | None:
    """The knob of each item in a good placement; None where none is found at once."""
    sorts = _sorts(problem)
    some: tuple[int, ...] = ()
    best: tuple[Values, dict[int, int]] | None = None
    while len(some) < len(problem.breakable):
        better = None
        for own in sorts:
            tried = (*some, *own)
            if own[0] in some or len(tried) == len(problem.breakable) or watch.over():
                continue
            found = _best_where(problem, tried, watch)
            if found is not None and (best is None or found[0] < best[0]):
                best, better = found, tried
        if better is None:
            break
        some = better
    return None if best is None else best[1]


def _sorts(problem: Problem) -> list[tuple[int, ...]]:
    """The breakable snapshots, those together that move the same; the cheapest sorts first."""
    moving: dict[int, list[int]] = {}
    for at, (mask, _) in enumerate(problem.breakable):
        moving.setdefault(mask, []).append(at)
    sorts = [tuple(own) for own in moving.values()]
    return sorted(sorts, key=lambda own: sum(problem.breakable[at][1] for at in own))[:MOST_TRIED]


def _best_where(
    problem: Problem, broken: Sequence[int], watch: Watch
) -> tuple[Values, dict[int, int]] | None:
    """The best placement where only these of the breakable snapshots may be broken."""
    part = problem.unbroken(broken)
    if part.impossible or max(map(len, families(part)), default=0) > SMALL:
        return None
    watch.spend(EFFORT_PER_TRIAL)
    try:
        solved = unsure_frontiers_of(part, watch)
    except ImpossibleError:
        return None
    knobs = None if solved is None else placed(part, some_sets(solved))
    return None if knobs is None else (values_of(problem, knobs), knobs)
