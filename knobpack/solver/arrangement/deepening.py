"""Deepening: one choice of clusters arranged better and better, until that is proven best.

First a matching, then small steps; then, deeper each time, prices that raise the bound, and knobs
filled under it.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.grouped import grouped
from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.assignment import match
from knobpack.solver.arrangement.bounded_dp import Filling
from knobpack.solver.arrangement.cluster import Choice, Cluster
from knobpack.solver.arrangement.local_search import shifted
from knobpack.solver.arrangement.orders import (
    Component,
    components_of,
    eased,
    next_shares,
)
from knobpack.solver.arrangement.path_relaxation import QUANTUM, Panel
from knobpack.solver.arrangement.pieces import Taken, pieces_of, taken_apart
from knobpack.solver.arrangement.subgradient import Multipliers, Raised, raised
from knobpack.solver.costs import FAR
from knobpack.solver.watch import Watch

DEPTHS = ((0, 200), (60, 600), (200, 1_500), (100, 6_000))
"""For each depth, how many rounds raise the bound and how many ways are kept at each knob: at first
none, as small panels are filled before a bound is raised."""

MOST_CELLS = 200_000
"""Ways kept at each knob times nodes, at most: what bounds the memory."""


WIDER = 2
"""How many times as many ways a depth keeps at each knob as the one before it, at least: to go
through nearly the same ones again seldom finds anything."""


class Search:
    """The search for the best arrangement of one choice of clusters.

    Attributes:
        path: the best arrangement so far: the node of the panel on each knob.
        upper, lower: what it costs in 256ths, and a bound on that; both without what is the same
            whatever is chosen.
    """

    def __init__(self, problem: Problem, taken: Taken, panel: Panel, base: int) -> None:
        self._problem = problem
        self._taken = taken
        self._panel = panel
        self._base = base
        self._own = [taken.clusters[at] for at in panel.order]
        self._ease(())
        self._prices = Multipliers.none(self._eased)
        self._raised: Raised | None = None
        self._room = 0
        self.path: tuple[int, ...] = ()
        self.upper, self.lower = FAR, 0

    @classmethod
    def of(cls, problem: Problem, choice: Choice) -> Search | None:
        """Begin a search.

        Args:
            problem: the costs.
            choice: clusters to put on knobs, one or more, and no more than there are knobs. The
                variants of a family place the same items, in as many clusters.

        Returns:
            None if the knobs do not go round for the first variant of each family.
        """
        taken = taken_apart(choice)
        pieces = pieces_of(problem, taken)
        if pieces is None:
            return None
        base = choice.omission + sum(variants[0].omission for variants in choice.families)
        search = cls(problem, taken, Panel(pieces.pieces), base + pieces.changes)
        return search if search._matched() else None

    def _matched(self) -> bool:
        """Put the first way of each unit on the knobs where that is cheapest but for runs.

        Or in the order of its items, where that costs no more.
        """
        panel = self._panel
        node = {piece: at for at, piece in enumerate(panel.order.tolist())}
        first = [node[piece] for piece in self._taken.first]
        rows = np.array(first + [panel.nodes - 1] * (panel.knobs - len(first)))
        costs = panel.costs.T[rows]
        knobs = match(costs)
        if knobs is None:
            return False
        self.path = tuple(rows[np.argsort(knobs)].tolist())
        self.upper = panel.cost(self.path)
        lowest = [*(each.items & -each.items for each in self._own), 1 << self._problem.items]
        plain = tuple(sorted(rows.tolist(), key=lowest.__getitem__))
        if panel.costs[range(panel.knobs), plain].max() < FAR and panel.cost(plain) <= self.upper:
            self.path, self.upper = plain, panel.cost(plain)
        self._bound(self._eased.bound(self._prices.to_go(self._eased)))
        return True

    def _ease(self, components: Sequence[Component]) -> None:
        """Count what these cost by themselves; the relaxation sees a share of it only."""
        self._components = components
        less = any(each.seen < QUANTUM for each in components)
        self._eased = eased(self._panel, components) if less else self._panel
        self._counted = sum(each.least for each in components)
        self._filling: Filling | None = None

    def _bound(self, bound: int) -> None:
        """Take a bound of the panel that sees only a share of what is counted otherwise."""
        self.lower = max(self.lower, bound + self._counted)

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
        """The cluster on each knob that has one, in the best arrangement so far.

        What is alike, and drawn as strongly, stands in the order of its items.
        """
        own = self._own
        found = {knob: own[node] for knob, node in enumerate(self.path) if node < len(own)}
        alike = grouped(((each.signature, each.pull), knob) for knob, each in found.items())
        for knobs in alike.values():
            some = sorted(
                (found[knob] for knob in knobs), key=lambda each: each.items & -each.items
            )
            found |= zip(knobs, some, strict=True)
        return found

    @staticmethod
    def exhausted(depth: int) -> bool:
        """Whether there is nothing as deep as that."""
        return depth >= len(DEPTHS)

    def deepen(self, depth: int, most: int, watch: Watch) -> None:
        """Go so deep in looking for an arrangement that costs less than ``most``, and for a bound.

        Args:
            depth: 0 or more; not exhausted.
            most: on the scale of the clusters' rows.
            watch: what may cut it short.
        """
        panel = self._panel
        upper = (most - self._base) * QUANTUM
        rounds, room = DEPTHS[depth]
        room = min(room, MOST_CELLS // panel.nodes)
        if self.lower > min(upper, self.upper) - QUANTUM or room < WIDER * self._room:
            return
        self._room = room
        if self._raised is None:
            self._offer(shifted(panel, self.path, watch))
        else:
            self._share_out(self._raised)
        upper = min(self.upper, upper)
        found = raised(self._eased, self._prices, upper - self._counted, rounds, watch)
        self._prices, self._raised = found.prices, found
        self._bound(found.bound)
        if found.path is not None and panel.complete(found.path):
            self._offer(found.path)
        if self.lower > min(upper, self.upper) - QUANTUM or watch.over():
            return
        if self._filling is None:
            less = [each for each in self._components if each.seen < QUANTUM]
            self._filling = Filling(self._eased, less)
        filled = self._filling.best(found.to_go, upper, room, watch)
        self.lower = max(self.lower, filled.bound)
        if filled.path is not None:
            self._offer(shifted(panel, filled.path, watch))

    def _share_out(self, found: Raised) -> None:
        """Let the relaxation see more or less of what is to come in sequence than it did."""
        # They are of no use where a first look is enough.
        components = self._components or components_of(self._panel)
        shares = next_shares(self._eased, components, found)
        if shares != [own.seen for own in components]:
            pairs = zip(components, shares, strict=True)
            self._ease([attrs.evolve(own, seen=share) for own, share in pairs])

    def _offer(self, path: tuple[int, ...]) -> None:
        cost = self._panel.cost(path)
        if cost < self.upper:
            self.path, self.upper = path, cost
