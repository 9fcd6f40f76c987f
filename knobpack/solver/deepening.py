"""Deepening: one set of clusters arranged better and better, until that is proven best.

First a matching, then small steps; then, deeper each time, prices that raise the bound, and knobs
filled under it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from knobpack.problem import Problem
from knobpack.solver.cluster import Cluster, Likeness, Places
from knobpack.solver.costs import FAR, Whole
from knobpack.solver.filling import Filling
from knobpack.solver.matching import match, prices_of, tight
from knobpack.solver.panel import QUANTUM, Panel, Pieces
from knobpack.solver.raising import raised
from knobpack.solver.shifting import shifted
from knobpack.solver.watch import Watch

DEPTHS = ((40, 20), (60, 100), (100, 500), (200, 3_000), (300, 20_000))
"""For each depth, how many rounds raise the bound and how many ways are kept at each knob."""

MOST_CELLS = 2_000_000
"""Ways kept at each knob times nodes, at most: what bounds the memory."""


class Search:
    """The search for the best arrangement of some clusters.

    Attributes:
        path: the best arrangement so far: the node of the panel on each knob.
        upper, lower: what it costs in 256ths, changes aside, and a bound on that.
    """

    def __init__(self, clusters: Sequence[Cluster], panel: Panel, base: int) -> None:
        self._panel = panel
        self._base = base
        self._own = [clusters[at] for at in panel.order]
        self._filling: Filling | None = None
        self.path: tuple[int, ...] = ()
        self.upper, self.lower = FAR, 0

    @classmethod
    def of(
        cls, problem: Problem, clusters: Sequence[Cluster], before: Search | None = None
    ) -> Search | None:
        """Begin a search.

        Args:
            problem: the costs.
            clusters: what is to be on knobs, one or more, and no more than there are knobs.
            before: a search of much the same clusters, whose prices are a good start.

        Returns:
            None if the knobs that the clusters may be on do not go round.
        """
        fewest = _fewest_changes(problem, clusters)
        if fewest is None:
            return None
        changes, costs, empty = fewest
        search = cls(clusters, Panel(_pieces(problem, clusters, costs, empty)), changes)
        return search if search._begun(before) else None

    def _begun(self, before: Search | None) -> bool:
        panel = self._panel
        full = panel.costs.T[np.minimum(np.arange(panel.knobs), panel.nodes - 1)]
        knobs = match(full)
        if knobs is None:
            return False
        nodes = [min(row, panel.nodes - 1) for row in np.argsort(knobs).tolist()]
        self.path, self.upper = tuple(nodes), panel.cost(nodes)
        self._prices = prices_of(full, knobs)[: panel.nodes]
        self.lower = panel.bound(panel.to_go(self._prices))
        if before is not None:
            prices = self._like(before)
            lower = panel.bound(panel.to_go(prices))
            if lower > self.lower:
                self._prices, self.lower = prices, lower
        return True

    def _like(self, before: Search) -> Whole:
        """The prices of another search, each cluster at that of the one most like it."""
        prices = np.zeros(self._panel.nodes, dtype=np.int64)
        for node, own in enumerate(self._own):
            common = [(each.items & own.items).bit_count() for each in before._own]
            prices[node] = before._prices[int(np.argmax(common))]
        if self._panel.pieces < self._panel.nodes and before._panel.pieces < before._panel.nodes:
            prices[-1] = before._prices[-1]
        return prices

    @property
    def cost(self) -> int:
        """What the best arrangement so far costs, on the scale of the clusters' rows."""
        return self._base + self.upper // QUANTUM

    @property
    def bound(self) -> int:
        """No arrangement costs less."""
        return self._base - -self.lower // QUANTUM

    @property
    def clusters(self) -> dict[int, Cluster]:
        """The cluster on each knob that has one, in the best arrangement so far."""
        own = self._own
        return {knob: own[node] for knob, node in enumerate(self.path) if node < len(own)}

    @staticmethod
    def exhausted(depth: int) -> bool:
        """Whether there is nothing as deep as that."""
        return depth >= len(DEPTHS)

    def deepen(self, problem: Problem, depth: int, most: int, watch: Watch) -> None:
        """Go so deep in looking for an arrangement that costs less than ``most``, and for a bound.

        Args:
            problem: the costs.
            depth: 0 or more; not exhausted.
            most: on the scale of the clusters' rows.
            watch: what may cut it short.
        """
        rounds, room = DEPTHS[depth]
        panel = self._panel
        if not depth:
            self._offer(shifted(panel, self.path, watch))
        upper = min(self.upper, (most - self._base) * QUANTUM)
        found = raised(panel, self._prices, upper, rounds, watch)
        self._prices = found.to_go.prices
        self.lower = max(self.lower, found.bound)
        if found.path is not None:
            self._offer(found.path)
        if self.lower > min(upper, self.upper) - QUANTUM or watch.over():
            return
        if self._filling is None:
            self._filling = Filling(panel, _leaders(problem, self._own))
        room = min(room, MOST_CELLS // panel.nodes)
        filled = self._filling.best(found.to_go, upper, room, watch)
        self.lower = max(self.lower, filled.bound)
        if filled.path is not None:
            self._offer(shifted(panel, filled.path, watch))

    def _offer(self, path: tuple[int, ...]) -> None:
        cost = self._panel.cost(path)
        if cost < self.upper:
            self.path, self.upper = path, cost


def _fewest_changes(
    problem: Problem, clusters: Sequence[Cluster]
) -> tuple[int, Whole, Whole] | None:
    """What the fewest changes cost, and what each cluster, and none, costs on each knob besides.

    Where a cluster may not be, or not with so few changes, that is FAR.
    """
    change = Places.of(problem).change
    rows = np.array([cluster.likeness.row for cluster in clusters], dtype=np.int64)
    open_ = np.array(
        [[each.likeness.knobs >> k & 1 for k in range(problem.knobs)] for each in clusters]
    )
    moved, place = np.divmod(rows, change)
    fewest, empty = 0, np.zeros(problem.knobs, dtype=np.int64)
    if moved.any():
        holes = np.zeros((problem.knobs - len(clusters), problem.knobs), dtype=np.int64)
        full = np.concatenate([np.where(open_, moved, FAR), holes])
        knobs = match(full)
        if knobs is None:
            return None
        fewest = int(full[np.arange(problem.knobs), knobs].sum())
        allowed = tight(full, knobs)
        open_ = open_ & allowed[: len(clusters)]
        empty = np.where(allowed[-1], 0, FAR)
    pulls = np.array([cluster.pull for cluster in clusters], dtype=np.int64)
    costs = place + pulls[:, None] * np.array(problem.steps, dtype=np.int64)
    return fewest * change, np.where(open_, costs, FAR), empty


def _pieces(problem: Problem, clusters: Sequence[Cluster], costs: Whole, empty: Whole) -> Pieces:
    count = range(len(problem.runs))
    runs = [[bool(each.likeness.runs >> at & 1) for at in count] for each in clusters]
    return Pieces(
        costs,
        np.array(runs, dtype=np.bool_).reshape(len(clusters), len(count)),
        np.array([weight for _, weight in problem.runs], dtype=np.int64),
        problem.beside,
        empty,
    )


def _leaders(problem: Problem, clusters: Sequence[Cluster]) -> list[int]:
    """For each cluster the one alike that may as well stand before it in panel order, or -1."""
    in_order = all(
        earlier <= later for earlier, later in zip(problem.steps, problem.steps[1:], strict=False)
    )
    leaders = [-1] * len(clusters)
    latest: dict[tuple[Likeness, int], int] = {}
    for at in sorted(range(len(clusters)), key=lambda at: (-clusters[at].pull, at)):
        sort = clusters[at].likeness, 0 if in_order else clusters[at].pull
        leaders[at] = latest.get(sort, -1)
        latest[sort] = at
    return leaders
