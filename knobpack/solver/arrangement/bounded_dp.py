"""Filling the knobs of a panel in order, many arrangements at once, the hopeless ones dropped.

What the rest costs at least is known from :meth:`Panel.to_go`; of two ways to place the same
pieces on the first knobs the cheaper is kept. Where more are left than there is room for, the
dearest are put off, and the least that any of them could cost is remembered: so what is found is
proven best, or the bound is known. What pairs in sequence cost at least from what is placed of
their component on is counted in advance (``orders.py``): each knob pays for what it makes dearer.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.arrangement.ng_memory import NOWHERE
from knobpack.solver.arrangement.orders import Component
from knobpack.solver.arrangement.path_relaxation import QUANTUM, TOO_FAR, CostToGo, Panel
from knobpack.solver.arrangement.subgradient import EFFORT_PER_NUMBER
from knobpack.solver.costs import FAR, Whole
from knobpack.solver.watch import Watch

AGAIN = 4
"""So many times as many as there is room for are looked through for doubles, at most."""


@attrs.frozen
class Filled:
    """What a search found.

    Args:
        path: the node on each knob; None if nothing is cheaper than what was known.
        cost: what it costs, in 256ths, or what was known did.
        bound: no arrangement costs less.
    """

    path: tuple[int, ...] | None
    cost: int
    bound: int


@attrs.frozen(eq=False)
class _Layer:
    """Ways to fill the first knobs, one a row.

    Args:
        placed: for each node (column) whether it is placed.
        passed: for each block (column) the number of the set of its nodes that is placed.
        tied: the same for each component of what is to come in sequence.
        last: the node on the last knob.
        cost: so far, at the prices.
        count: how many pieces are placed.
        least: what the whole costs at least.
        parent: the row in the layer before.
    """

    placed: NDArray[np.bool_]
    passed: NDArray[np.uint8 | np.uint16]
    tied: NDArray[np.int64]
    last: Whole
    cost: Whole
    count: Whole
    least: Whole
    parent: Whole

    def only(self, rows: NDArray[np.int64]) -> _Layer:
        """Some of the rows."""
        return _Layer(
            self.placed[rows],
            self.passed[rows],
            self.tied[rows],
            self.last[rows],
            self.cost[rows],
            self.count[rows],
            self.least[rows],
            self.parent[rows],
        )


class Filling:
    """What searches on one panel have in common.

    Args:
        panel: what is arranged.
        components: those whose pairs are only seen in part on the panel.
    """

    def __init__(self, panel: Panel, components: Sequence[Component]) -> None:
        self.panel = panel
        self.components = components
        # What leads nowhere is looked up past the last state.
        self.state = np.where(panel.state == NOWHERE, len(panel.last), panel.state)
        # Sets are kept in bytes, read as words: two for each block, or one if that is enough.
        self.sort = np.uint8 if panel.joined.max(initial=0) < 256 else np.uint16
        self.columns = (int(panel.block[-1]) + 8) // 8 * 8
        self._linked = np.argwhere(panel.precedence.after).tolist()

    def best(self, to_go: CostToGo, upper: int, room: int, watch: Watch) -> Filled:
        """The best arrangement that is cheaper than ``upper``, in 256ths.

        Args:
            to_go: what the rest costs at least.
            upper: what an arrangement known costs.
            room: how many ways are kept at each knob, at most.
            watch: what may cut the search short.
        """
        panel, lost = self.panel, FAR
        total = int(to_go.prices @ panel.demand) - panel.first_runs
        total += sum(each.least for each in self.components)
        layer = self._nothing(total)
        layers = []
        for knob in range(panel.knobs):
            if watch.over():
                return Filled(None, upper, min(upper, lost, int(layer.least.min(initial=FAR))))
            watch.spend(EFFORT_PER_NUMBER * (100_000 + 12 * len(layer.last) * panel.nodes))
            layer = self._next(layer, knob, to_go, min(upper - QUANTUM, TOO_FAR))
            watch.spend(EFFORT_PER_NUMBER * 200 * len(layer.last))
            rows, put_off = _cheapest(layer, room * AGAIN)
            layer, lost = layer.only(rows), min(lost, put_off)
            layer = layer.only(self._different(layer, knob))
            rows, put_off = _cheapest(layer, room)
            layer, lost = layer.only(rows), min(lost, put_off)
            layers.append(layer)
        if not len(layer.last):
            return Filled(None, upper, min(upper, lost))
        row = int(layer.cost.argmin())
        cost = int(layer.cost[row])
        return Filled(_walk_back(layers, row), cost, min(cost, lost))

    def _nothing(self, total: int) -> _Layer:
        nothing = np.zeros(1, dtype=np.int64)
        passed = np.zeros((1, self.columns), dtype=self.sort)
        # There is no node before the first knob: any will do, as no run can go on from it.
        placed = np.zeros((1, self.panel.nodes), dtype=np.bool_)
        tied = np.zeros((1, len(self.components)), dtype=np.int64)
        least = nothing + total + self.panel.precedence.sure
        return _Layer(placed, passed, tied, nothing, nothing + total, nothing, least, nothing)

    def _next(self, layer: _Layer, knob: int, to_go: CostToGo, most: int) -> _Layer:
        """Every way to fill one knob more that may cost ``most`` in all."""
        panel = self.panel
        left = np.append(to_go.costs[knob], FAR)
        states = self.state[np.arange(panel.nodes), layer.passed[:, panel.block]]
        here = layer.cost[:, None] + (panel.costs[knob] - to_go.nodes)
        if knob and panel.beside[knob]:
            here += panel.begins[layer.last]
        else:
            here += panel.alone
        turned, besides = self._turned(layer, knob, to_go)
        here += turned + self._dearer(layer, knob)
        least = here + left[states] + besides
        if panel.pieces < panel.nodes:
            used = knob - layer.count
            least[:, -1] = np.where(used < panel.demand[-1], least[:, -1], FAR)
        rows, nodes = np.nonzero(least <= most)
        passed = layer.passed[rows]
        blocks = panel.block[nodes]
        every = np.arange(len(rows))
        passed[every, blocks] = panel.joined[nodes, passed[every, blocks]]
        count = layer.count[rows] + (nodes < panel.pieces)
        placed = layer.placed[rows]
        placed[every, nodes] = True
        tied = layer.tied[rows]
        for at, own in enumerate(self.components):
            inside = np.nonzero(own.place[nodes] < len(own.nodes))[0]
            tied[inside, at] = own.joined[tied[inside, at], own.place[nodes[inside]]]
        least = least[rows, nodes]
        return _Layer(placed, passed, tied, nodes, here[rows, nodes], count, least, rows)

    def _dearer(self, layer: _Layer, knob: int) -> Whole:
        """By how much each node (column) makes what is to come in sequence dearer than it must."""
        beside = self.panel.beside
        dearer = np.zeros((len(layer.last), self.panel.nodes), dtype=np.int64)
        outside = np.zeros(len(layer.last), dtype=np.int64)
        ends = knob + 1 < len(beside) and not beside[knob + 1]
        for own, sets in zip(self.components, layer.tied.T, strict=True):
            nowhere = np.full(len(sets), len(own.nodes))
            last = own.place[layer.last] if knob and beside[knob] else nowhere
            other, inside = own.dearer(sets, last, ends=ends)
            outside += other
            dearer[:, own.nodes] += inside
        return dearer + outside[:, None]

    def _turned(self, layer: _Layer, knob: int, to_go: CostToGo) -> tuple[Whole, Whole]:
        """What it costs to place each node (column) before what is to come before it.

        And what comes, with it, to what is to go: what is counted of cycles of which nothing is
        placed then, less what is of those of which something is, and less what the prices of
        being early count for pairs of which only the first is.
        """
        pairs = self.panel.precedence
        early = to_go.early[:, knob + 1] if knob + 1 < self.panel.knobs else 0 * pairs.open
        between = (pairs.leads.T * early) @ pairs.follows
        out = early @ pairs.leads
        # Row: a node; column: a way. Few nodes have to do with each other.
        placed = np.ascontiguousarray(layer.placed.T).astype(np.int64)
        turned, besides = np.zeros_like(placed), np.zeros_like(placed)
        turned += (pairs.apart @ pairs.follows)[:, None]
        pending = out @ placed
        for one, other in self._linked:
            turned[other] -= pairs.after[one, other] * placed[one]
            if weight := between[one, other]:
                besides[other] += weight * placed[one]
                besides[one] += weight * placed[other]
                pending -= weight * (placed[one] & placed[other])
        besides += pairs.sure - pending - out[:, None]
        for own, counted in zip(pairs.touches, pairs.counted.tolist(), strict=True):
            touched = placed[own].any(axis=0)
            besides[own] -= counted
            besides[~own] -= counted * touched
        return turned.T, besides.T

    def _different(self, layer: _Layer, knob: int) -> NDArray[np.int64]:
        """The rows of those that no other is at least as good as."""
        panel = self.panel
        after = knob + 1
        last = np.full(len(layer.last), -1)
        if after < panel.knobs and panel.beside[after]:
            last = layer.last
        words = layer.passed.view(np.uint64)
        order = np.lexsort((layer.least, layer.cost, last, *words.T))
        same = (words[order[1:]] == words[order[:-1]]).all(axis=1)
        same &= last[order[1:]] == last[order[:-1]]
        return np.sort(order[np.append(True, ~same)[: len(order)]])


def _cheapest(layer: _Layer, room: int) -> tuple[NDArray[np.int64], int]:
    """The rows of the cheapest, and the least that any other costs."""
    if len(layer.last) <= room:
        return np.arange(len(layer.last)), FAR
    order = np.argsort(layer.least, kind="stable")
    return np.sort(order[:room]), int(layer.least[order[room]])


def _walk_back(layers: Sequence[_Layer], row: int) -> tuple[int, ...]:
    path = []
    for layer in reversed(layers):
        path.append(int(layer.last[row]))
        row = int(layer.parent[row])
    return tuple(reversed(path))
