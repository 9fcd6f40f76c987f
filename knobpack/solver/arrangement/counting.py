"""Counting: the best arrangement by dynamic programming over how many of each sort are placed.

The knobs are filled in panel order. Clusters of one signature may be exchanged freely, so the one
drawn more strongly stands nearer: it is enough to know how many of each signature are placed so
far, how many knobs were left empty, and what stands on the knob before. Exact, and fast where most
clusters are alike; where they all differ there are too many states.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.cluster import Cluster, Signature
from knobpack.solver.costs import FAR, Whole


def states_of(problem: Problem, clusters: Sequence[Cluster]) -> int:
    """How many states there are to go through for each knob."""
    sorts = sorts_of(problem, clusters)
    states = math.prod(len(members) + 1 for members in sorts)
    return (problem.knobs - len(clusters) + 1) * states * (len(sorts) + 1)


def arranged_by_counting(
    problem: Problem, clusters: Sequence[Cluster]
) -> tuple[int, dict[int, Cluster]] | None:
    """The cost of the best arrangement, and the cluster on each knob that has one.

    None if the knobs that the clusters may be on do not go round. There are no more clusters than
    knobs.
    """
    return _Board(problem, sorts_of(problem, clusters), problem.knobs - len(clusters)).best()


class _Board:
    """What the best way to fill the first knobs costs, for every state they can be in.

    A state is how many knobs were left empty, how many clusters of each sort are placed (as one
    number, in mixed radix) and the sort on the last knob (the last column: it is empty).
    """

    def __init__(self, problem: Problem, sorts: Sequence[Sequence[Cluster]], spare: int) -> None:
        self.problem = problem
        self.sorts = sorts
        self.spare = spare
        sizes = [len(members) + 1 for members in sorts]
        states = math.prod(sizes)
        self.radix = [math.prod(sizes[:sort]) for sort in range(len(sizes))]
        numbers = np.arange(states)
        self.placed = [
            numbers // radix % size for radix, size in zip(self.radix, sizes, strict=True)
        ]
        total = sum(self.placed, np.zeros_like(numbers))
        self.with_total = [
            np.nonzero(total == count)[0] for count in range(sum(sizes) - len(sizes) + 1)
        ]
        self.pulls = [
            np.array([each.pull for each in members], dtype=np.int64) for members in sorts
        ]
        self.sequence = problem.out_of_sequence
        self.leads = [members[0].signature.leads for members in sorts]
        present = sum(self.leads) if self.sequence else 0
        self.follows = [
            members[0].signature.follows & ~members[0].signature.leads & present
            for members in sorts
        ]
        self.begins = self._begins()
        self.cost = np.full((spare + 1, states, len(sorts) + 1), FAR, dtype=np.int64)
        self.cost[0, 0, -1] = -self._all_runs()

    def best(self) -> tuple[int, dict[int, Cluster]] | None:
        """Fill every knob, then walk back from the cheapest way."""
        for knob in range(self.problem.knobs):
            for empty in range(min(self.spare, knob) + 1):
                if knob - empty < len(self.with_total):
                    self._fill(knob, empty, self.with_total[knob - empty])
        last = int(self.cost[self.spare, -1].argmin())
        cost = int(self.cost[self.spare, -1, last])
        return (cost, self._walk_back(last)) if cost < FAR else None

    def _fill(self, knob: int, empty: int, states: NDArray[np.int64]) -> None:
        so_far = self.cost[empty, states]
        if empty < self.spare:
            self.cost[empty + 1, states, -1] = so_far.min(axis=1)
        for sort, members in enumerate(self.sorts):
            if not members[0].signature.knobs >> knob & 1:
                continue
            placed = self.placed[sort][states]
            going = placed < len(members)
            here = (so_far[going] + self._begins_at(knob)[:, sort]).min(axis=1)
            here += self._place(knob, sort, placed[going])
            here += self._reversed(sort, states[going])
            self.cost[empty, states[going] + self.radix[sort], sort] = np.minimum(here, FAR)

    def _place(self, knob: int, sort: int, placed: NDArray[np.int64]) -> Whole:
        """What the next cluster of a sort costs on a knob, runs aside."""
        row = self.sorts[sort][0].signature.row
        cost: Whole = self.pulls[sort][placed] * self.problem.steps[knob] + row[knob]
        return cost

    def _reversed(self, sort: int, states: NDArray[np.int64]) -> Whole:
        """What it costs that something is not placed yet that is to come before this sort."""
        cost = np.zeros(len(states), dtype=np.int64)
        for before, leads in enumerate(self.leads):
            missing = (leads & self.follows[sort]).bit_count()
            if missing:
                cost += self.sequence * missing * (self.placed[before][states] == 0)
        return cost

    def _begins_at(self, knob: int) -> Whole:
        """For each sort before (rows) and each now (columns), the price of the runs that start."""
        return (
            self.begins
            if self.problem.beside[knob]
            else np.broadcast_to(self.begins[-1], self.begins.shape)
        )

    def _begins(self) -> Whole:
        runs = [members[0].signature.runs for members in self.sorts]
        now = list(zip(runs, self.follows, strict=True))
        rows = [
            [
                self._weight(here & ~before) + self.sequence * (follows & ~leads).bit_count()
                for here, follows in now
            ]
            for before, leads in [*zip(runs, self.leads, strict=True), (0, 0)]
        ]
        return np.array(rows, dtype=np.int64).reshape(len(now) + 1, len(now))

    def _weight(self, runs: int) -> int:
        return sum(self.problem.runs[at][1] for at in bits(runs))

    def _all_runs(self) -> int:
        """The price of one run of every voice and group that is there: the first is free."""
        present = 0
        for members in self.sorts:
            present |= members[0].signature.runs
        return self._weight(present)

    def _walk_back(self, last: int) -> dict[int, Cluster]:
        clusters: dict[int, Cluster] = {}
        empty, state = self.spare, self.cost.shape[1] - 1
        for knob in reversed(range(self.problem.knobs)):
            cost = self.cost[empty, state, last]
            if last == len(self.sorts):
                empty -= 1
                last = int((self.cost[empty, state] == cost).argmax())
                continue
            sort, state = last, state - self.radix[last]
            placed = self.placed[sort][state]
            before = cost - self._place(knob, sort, placed)
            before -= self._reversed(sort, np.array([state]))[0]
            last = int(
                (self.cost[empty, state] + self._begins_at(knob)[:, sort] == before).argmax()
            )
            clusters[knob] = self.sorts[sort][placed]
        return clusters


def sorts_of(problem: Problem, clusters: Sequence[Cluster]) -> list[list[Cluster]]:
    """The clusters by signature, the one drawn most strongly first.

    Where the order of reach is not the panel order, the nearer of two knobs may come later, so
    there each cluster is a sort of its own.
    """
    ordered = sorted(clusters, key=lambda cluster: (-cluster.pull, cluster.items))
    if any(
        later < earlier for earlier, later in zip(problem.steps, problem.steps[1:], strict=False)
    ):
        return [[cluster] for cluster in ordered]
    sorts: dict[Signature, list[Cluster]] = {}
    for cluster in ordered:
        sorts.setdefault(cluster.signature, []).append(cluster)
    return list(sorts.values())
