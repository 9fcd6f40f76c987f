"""Frontiers: what other numbers of knobs would cost, as far as that takes no search."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.allocation import Allocation, Frontier, Frontiers
from knobpack.limits import DEFAULT_EFFORT

if TYPE_CHECKING:
    from knobpack.numbered.problem import Problem
    from knobpack.solver.watch import Watch


def frontiers_of(
    allocation: Allocation, watch: Watch | None = None, problem: Problem | None = None
) -> Frontiers | None:
    """What each family, and the whole, would cost with other numbers of knobs.

    Args:
        allocation: any but the one of an edit.
        watch: what may cut it short; None: the default effort.
        problem: its request numbered, where that is done.

    Returns:
        The costs that are known for sure; None where the solver does not need them.
    """
    from knobpack.numbered.problem import bits
    from knobpack.numbered.request import problem_of
    from knobpack.solver.outcome import ImpossibleError
    from knobpack.solver.value_functions.known import known_costs
    from knobpack.solver.watch import Watch

    request, names = allocation.request, tuple(allocation.request.by_full_name)
    if request.in_use:
        return None
    unplaced, bundles, breaks, sharing, *_ = allocation.prices.totals
    values = unplaced, bundles, breaks, sharing
    try:
        problem = problem or problem_of(request)
        known = known_costs(problem, values, watch or Watch(DEFAULT_EFFORT), allocation)
    except ImpossibleError:
        return None  # the layout is valid for having less to place than was asked
    if known is None:
        return None
    *families, whole = (
        Frontier(tuple(names[item] for item in bits(each.items)), each.costs)
        for each in (*known.families, known.whole)
    )
    return Frontiers(tuple(families), whole)
