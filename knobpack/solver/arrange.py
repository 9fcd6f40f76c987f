"""Arranging clusters on knobs, best in the tiers *change* and *layout*, from the first knob to the last.

Clusters of one likeness may be exchanged freely, so the one drawn more strongly stands nearer: it
is enough to know how many of each likeness have been placed so far, and what stands on the knob
before.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.problem import Problem, bits
from knobpack.solver.cluster import Cluster, Likeness

_EMPTY = -1
"""Stands for the likeness of a knob that drives nothing."""


@attrs.frozen
class Arrangement:
    """Clusters on knobs.

    Args:
        cost: what the two tiers cost together, on the scale of the clusters' rows.
        clusters: the cluster on each knob that has one.
    """

    cost: int
    clusters: dict[int, Cluster]


def lower_bound(problem: Problem, clusters: Sequence[Cluster]) -> int:
    """No arrangement of these clusters costs less: each voice and group is in a single run."""
    pulls = sorted((cluster.pull for cluster in clusters), reverse=True)
    steps = sorted(problem.steps)[: len(pulls)]
    nearest = sum(pull * step for pull, step in zip(pulls, steps, strict=True))
    return nearest + sum(min(cluster.likeness.row) for cluster in clusters)


def arrange(problem: Problem, clusters: Sequence[Cluster], below: int, most_states: int) -> Arrangement | None:
    """The best arrangement of these clusters, if one costs less than ``below``.

    Args:
        problem: the knobs and the costs.
        clusters: each is put on a knob of its own.
        below: arrangements that cost this much or more are of no interest.
        most_states: how many states may be gone through.

    Returns:
        The best arrangement, or None if none costs less than ``below``.

    Raises:
        TooManyStatesError: there would be more states than ``most_states``.
    """
    sorts = _sorts(problem, clusters)
    spare = problem.knobs - len(clusters)
    if spare < 0:
        return None
    present = 0
    for cluster in clusters:
        present |= cluster.likeness.runs
    base = -sum(problem.runs[at][1] for at in bits(present))
    starts = [[_starts(problem, now, before) for now in sorts] for before in (*sorts, [])]
    # A state: how many of each sort are placed, how many knobs are empty, what stood last.
    states: dict[tuple[tuple[int, ...], int], tuple[int, tuple[object, ...] | None]]
    states = {((0,) * len(sorts), _EMPTY): (base, None)}
    gone_through = 0
    for knob in range(problem.knobs):
        beside, step = problem.beside[knob], problem.steps[knob]
        after: dict[tuple[tuple[int, ...], int], tuple[int, tuple[object, ...] | None]] = {}
        gone_through += len(states)
        if gone_through > most_states:
            raise TooManyStatesError
        for (placed, last), (cost, trail) in states.items():
            if knob - sum(placed) < spare:
                key = (placed, _EMPTY)
                if key not in after or cost < after[key][0]:
                    after[key] = (cost, trail)
            begins = starts[last if beside else _EMPTY]
            for sort, members in enumerate(sorts):
                count = placed[sort]
                if count == len(members):
                    continue
                cluster = members[count]
                if not cluster.likeness.knobs >> knob & 1:
                    continue
                now = cost + begins[sort] + cluster.pull * step + cluster.likeness.row[knob]
                if now >= below:
                    continue
                key = ((*placed[:sort], count + 1, *placed[sort + 1 :]), sort)
                if key not in after or now < after[key][0]:
                    after[key] = (now, (knob, cluster, trail))
        states = after
    if not states:
        return None
    cost, trail = min(states.values(), key=lambda state: state[0])
    return Arrangement(cost, _walk_back(trail)) if cost < below else None


class TooManyStatesError(Exception):
    """Arranging would take too long. Never leaves the solver."""


def _sorts(problem: Problem, clusters: Sequence[Cluster]) -> list[list[Cluster]]:
    """The clusters by likeness, the one drawn most strongly first.

    Where the order of reach is not the panel order, the nearer of two knobs may come later, so
    there each cluster is a sort of its own.
    """
    ordered = sorted(clusters, key=lambda cluster: (-cluster.pull, cluster.items))
    if any(later < earlier for earlier, later in zip(problem.steps, problem.steps[1:], strict=False)):
        return [[cluster] for cluster in ordered]
    sorts: dict[Likeness, list[Cluster]] = {}
    for cluster in ordered:
        sorts.setdefault(cluster.likeness, []).append(cluster)
    return list(sorts.values())


def _starts(problem: Problem, now: list[Cluster], before: list[Cluster]) -> int:
    """What the runs that start cost where ``now`` stands beside ``before``."""
    going_on = before[0].likeness.runs if before else 0
    return sum(problem.runs[at][1] for at in bits(now[0].likeness.runs & ~going_on))


def _walk_back(trail: tuple[object, ...] | None) -> dict[int, Cluster]:
    clusters: dict[int, Cluster] = {}
    while trail is not None:
        knob, cluster, trail = trail  # type: ignore[assignment]
        clusters[knob] = cluster  # type: ignore[index]
    return clusters
