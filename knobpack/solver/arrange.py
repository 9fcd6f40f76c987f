"""Arranging clusters on knobs, best in the tiers *change* and *layout*.

The fewest changes are a matching, which also says which cluster may be on which knob then. Among
those the best layout is found on a panel (:mod:`knobpack.solver.panel`): a bound is raised, knobs
are filled under it, and both go deeper until they meet. Where most clusters are alike, counting
them is faster still (:mod:`knobpack.solver.counting`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import attrs

from knobpack.problem import Problem
from knobpack.solver.cluster import Cluster, Places, Variant
from knobpack.solver.costs import FAR
from knobpack.solver.counting import counted, states_of
from knobpack.solver.deepening import Search
from knobpack.solver.watch import Watch

FEW_STATES = 20_000
"""States for each knob up to which clusters are counted."""

MOST_STATES = 3_000_000
"""States up to which they are counted where nothing else has found a proof."""

EFFORT_PER_STATE = 3e-8
"""Effort for each state of each knob."""


class TooManyStatesError(Exception):
    """Proving an arrangement best would take too long. Never leaves the solver."""


@attrs.frozen
class Arrangement:
    """Clusters on knobs.

    Args:
        cost: what the two tiers cost together, on the scale of the clusters' rows.
        bound: no arrangement costs less.
        clusters: the cluster on each knob that has one.
    """

    cost: int
    bound: int
    clusters: dict[int, Cluster]

    @property
    def proven(self) -> bool:
        """Whether no arrangement is better."""
        return self.bound >= self.cost

    def bounds(self, places: Places) -> tuple[int, int]:
        """For each of the two tiers a bound; that on *layout* is for as few changes as these."""
        change, layout = places.values(self.bound)
        return change, layout if change == places.values(self.cost)[0] else 0


def lower_bound(problem: Problem, clusters: Sequence[Cluster]) -> int:
    """No arrangement of these clusters costs less: each voice and group is in a single run."""
    pulls = sorted((cluster.pull for cluster in clusters), reverse=True)
    steps = sorted(problem.steps)[: len(pulls)]
    nearest = sum(pull * step for pull, step in zip(pulls, steps, strict=False))
    return nearest + sum(min(cluster.likeness.row) for cluster in clusters)


def arrange(
    problem: Problem, clusters: Sequence[Cluster], watch: Watch | None = None
) -> Arrangement | None:
    """The best arrangement of these clusters, each on a knob of its own.

    Args:
        problem: the costs.
        clusters: what is to be on knobs.
        watch: what may cut the search short; None: nothing.

    Returns:
        The arrangement, or None if the knobs they may be on do not go round.
    """
    return best_arrangement(problem, [Variant(tuple(clusters), 0)], watch or Watch(math.inf))


def best_arrangement(
    problem: Problem, variants: Sequence[Variant], watch: Watch
) -> Arrangement | None:
    """The best arrangement of any of these variants, what they leave out being counted.

    Returns:
        The arrangement, the best found if the watch stopped the search; None if none of them can
        be arranged.
    """
    contest = _Contest(problem, watch)
    entries = [_Entry(problem, each) for each in variants if len(each.clusters) <= problem.knobs]
    entries.sort(key=lambda entry: entry.bound)
    for entry in entries:
        contest.begin(entry)
    depth = 0
    while contest.deepen(entries, depth):
        depth += 1
    return contest.result(entries)


class _Entry:
    """A variant, how far it was looked into, and a bound on what it costs."""

    def __init__(self, problem: Problem, variant: Variant) -> None:
        self.variant = variant
        self.bound = lower_bound(problem, variant.clusters) + variant.omission
        self.search: Search | None = None


class _Contest:
    """Variants that are arranged with one another in sight: what cannot be best is left alone."""

    def __init__(self, problem: Problem, watch: Watch) -> None:
        self.problem = problem
        self.watch = watch
        self.cost = FAR
        self.clusters: dict[int, Cluster] = {}
        self.before: Search | None = None

    def begin(self, entry: _Entry) -> None:
        """Arrange a variant for the first time."""
        if entry.bound >= self.cost or (self.cost < FAR and self.watch.over()):
            return
        clusters, omission = entry.variant.clusters, entry.variant.omission
        if not clusters or states_of(self.problem, clusters) <= FEW_STATES:
            self._count(entry)
            return
        search = Search.of(self.problem, clusters, self.before)
        if search is None:
            entry.bound = FAR
            return
        entry.search = self.before = search
        entry.bound = max(entry.bound, search.bound + omission)
        self._offer(search.cost + omission, search.clusters)
        self._look(entry, 0)

    def deepen(self, entries: Sequence[_Entry], depth: int) -> bool:
        """Look into what may still be best; returns whether anything was left to look into."""
        going = False
        for entry in sorted(entries, key=lambda entry: entry.bound):
            if self.watch.over() or entry.bound >= self.cost:
                break
            if entry.search is not None:
                going |= self._look(entry, depth)
        return going

    def result(self, entries: Sequence[_Entry]) -> Arrangement | None:
        """The best that was found."""
        if self.cost >= FAR:
            return None
        bound = min(entry.bound for entry in entries)
        return Arrangement(self.cost, min(self.cost, bound), self.clusters)

    def _look(self, entry: _Entry, depth: int) -> bool:
        search, omission = entry.search, entry.variant.omission
        if search is None:
            return False
        if search.exhausted(depth):
            if states_of(self.problem, entry.variant.clusters) > MOST_STATES:
                return False
            self._count(entry)
            return True
        search.deepen(self.problem, depth, self.cost - omission, self.watch)
        entry.bound = max(entry.bound, search.bound + omission)
        self._offer(search.cost + omission, search.clusters)
        return True

    def _count(self, entry: _Entry) -> None:
        clusters, omission = entry.variant.clusters, entry.variant.omission
        self.watch.spend(self.problem.knobs * states_of(self.problem, clusters) * EFFORT_PER_STATE)
        found = counted(self.problem, clusters)
        entry.search, entry.bound = None, FAR
        if found is not None:
            entry.bound = found[0] + omission
            self._offer(entry.bound, found[1])

    def _offer(self, cost: int, clusters: dict[int, Cluster]) -> None:
        if cost < self.cost:
            self.cost, self.clusters = cost, clusters
