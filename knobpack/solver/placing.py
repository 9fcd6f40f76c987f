"""Sets put on knobs, each by itself on a knob that suits it: runs are not looked at."""

from __future__ import annotations

from collections.abc import Iterable

from ortools.graph.python import linear_sum_assignment  # type: ignore[import-untyped]

from knobpack.problem import Problem, bits
from knobpack.solver.cluster import Places


def placed(problem: Problem, sets: Iterable[int]) -> dict[int, int] | None:
    """Put sets of atoms on knobs, so that what each costs there by itself adds up to the least.

    Args:
        problem: the problem.
        sets: masks of atoms; each may be on some knob.

    Returns:
        The knob of each item, or None where the knobs do not go round.
    """
    places = Places.of(problem)
    clusters = [places.cluster(problem.items_of(atoms)) for atoms in sets]
    if len(clusters) > problem.knobs:
        return None
    assignment = linear_sum_assignment.SimpleLinearSumAssignment()
    for row, cluster in enumerate(clusters):
        for knob in bits(cluster.likeness.knobs):
            cost = cluster.likeness.row[knob] + cluster.pull * problem.steps[knob]
            assignment.add_arc_with_cost(row, knob, cost)
    for row in range(len(clusters), problem.knobs):
        # Knobs that stay empty.
        for knob in range(problem.knobs):
            assignment.add_arc_with_cost(row, knob, 0)
    if problem.knobs and assignment.solve() != assignment.OPTIMAL:
        return None
    return {
        item: assignment.right_mate(row)
        for row, cluster in enumerate(clusters)
        for item in bits(cluster.items)
    }
