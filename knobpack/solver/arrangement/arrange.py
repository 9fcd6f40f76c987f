"""Arranging clusters on knobs, best in the tiers *change* and *layout*.

The fewest changes are a matching (``assignment.py``), which also says which cluster may be on which
knob then. Among those the best layout is found on a panel (``path_relaxation.py``): a bound is
raised, knobs are filled under it, and both go deeper until they meet.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import islice

import attrs

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.cluster import Choice, Cluster, Places, Variant
from knobpack.solver.arrangement.deepening import Search
from knobpack.solver.costs import FAR
from knobpack.solver.watch import Watch

MOST_APART = 200
"""Ways to choose that are arranged one by one, at most: the knobs do not go round for some."""


class TooManyStatesError(Exception):
    """Proving an arrangement best would take too long. Never leaves the solver."""


ALWAYS = 64
"""Knobs up to which something is arranged however little time there is: a tenth of a second."""


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
    def knobs(self) -> dict[int, int]:
        """The knob of each item."""
        return {item: knob for knob, own in self.clusters.items() for item in bits(own.items)}

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
    return nearest + sum(min(cluster.signature.row) for cluster in clusters)


def least_of(problem: Problem, choice: Choice) -> int:
    """No arrangement of anything that can be chosen costs less."""
    clusters = [each for own in choice.families for way in own for each in way.clusters]
    if choice.count == 1:
        omission = sum(own[0].omission for own in choice.families)
        return lower_bound(problem, clusters) + omission + choice.omission
    omission = sum(min(way.omission for way in own) for own in choice.families)
    rows = sum(
        min(sum(min(each.signature.row) for each in way.clusters) for way in own)
        for own in choice.families
    )
    return rows + omission + choice.omission


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
    return best_choice(problem, [Choice(((variant,),), 0) for variant in variants], watch)


def best_choice(problem: Problem, choices: Sequence[Choice], watch: Watch) -> Arrangement | None:
    """The best arrangement of anything that can be chosen, what that leaves out being counted.

    Returns:
        The arrangement, the best found if the watch stopped the search; None if nothing can be
        arranged, or the panel is large and the watch said stop before that was begun.
    """
    if problem.knobs > ALWAYS and watch.over():
        return None
    contest = _Contest(problem, watch)
    for choice in choices:
        contest.enter(choice)
    contest.begin()
    depth = 1
    while contest.deepen(depth):
        depth += 1
    return contest.result()


class _Entry:
    """A choice, how far it was looked into, and a bound on what it costs."""

    def __init__(self, choice: Choice, bound: int) -> None:
        self.choice = choice
        self.bound = bound
        self.search: Search | None = None

    @property
    def clusters(self) -> tuple[Cluster, ...]:
        """Those of the first variant of each family."""
        return tuple(each for own in self.choice.families for each in own[0].clusters)


class _Contest:
    """Choices that are arranged with one another in sight: what cannot be best is left alone."""

    def __init__(self, problem: Problem, watch: Watch) -> None:
        self.problem = problem
        self.watch = watch
        self.entries: list[_Entry] = []
        self.cost = FAR
        self.clusters: dict[int, Cluster] = {}

    def enter(self, choice: Choice) -> None:
        """Add a choice."""
        for even in choice.even():
            entry = _Entry(even, least_of(self.problem, even))
            if len(entry.clusters) <= self.problem.knobs:
                self.entries.append(entry)

    def begin(self) -> None:
        """Arrange every choice that may be best for the first time."""
        self.entries.sort(key=lambda entry: entry.bound)
        for entry in list(self.entries):
            if self.cost < FAR and self.watch.over():
                break
            if entry.bound < self.cost:
                self._begin(entry)

    def _begin(self, entry: _Entry) -> None:
        if not entry.clusters:
            self._offer(entry.bound, {})
            return
        search = Search.of(self.problem, entry.choice)
        if search is not None:
            entry.search = search
            self._known(entry, search)
            self._look(entry, 0)
        elif entry.choice.count == 1:
            entry.bound = FAR
        else:
            self._part(entry)

    def deepen(self, depth: int) -> bool:
        """Look into what may still be best; returns whether anything was left to look into."""
        going = False
        for entry in sorted(self.entries, key=lambda entry: entry.bound):
            if self.watch.over() or entry.bound >= self.cost:
                break
            going |= self._look(entry, depth)
        return going

    def result(self) -> Arrangement | None:
        """The best that was found."""
        if self.cost >= FAR:
            return None
        bound = min(entry.bound for entry in self.entries)
        return Arrangement(self.cost, min(self.cost, bound), self.clusters)

    def _look(self, entry: _Entry, depth: int) -> bool:
        search = entry.search
        if search is None or search.exhausted(depth):
            return False
        if self.problem.knobs > ALWAYS and self.watch.over():
            return False  # to set up what would be cut short at once takes its time
        search.deepen(depth, self.cost, self.watch)
        self._known(entry, search)
        return True

    def _known(self, entry: _Entry, search: Search) -> None:
        entry.bound = max(entry.bound, search.bound)
        self._offer(search.cost, search.clusters)

    def _part(self, entry: _Entry) -> None:
        """Arrange every variant by itself, where the knobs do not go round for the first one."""
        entry.search, entry.bound = None, FAR
        for variant in islice(entry.choice.each(), MOST_APART):
            own = _Entry(Choice(((variant,),), 0), least_of(self.problem, entry.choice))
            self.entries.append(own)
            self._begin(own)
        if entry.choice.count > MOST_APART:
            entry.bound = least_of(self.problem, entry.choice)

    def _offer(self, cost: int, clusters: dict[int, Cluster]) -> None:
        if cost < self.cost:
            self.cost, self.clusters = cost, clusters
