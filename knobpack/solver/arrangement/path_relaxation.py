"""The panel as a path: knobs in order, and on each the cluster that comes next.

What a cluster costs on a knob and which runs begin there depend on the cluster and the one before
it, so an arrangement is a path through layers, one for each knob, that passes every cluster once.
The relaxation lets the path pass clusters any number of times, at prices that make up for it
(Lagrange multipliers; the time-dependent travelling salesman of Picard and Queyranne 1978, with
the memory of neighbours of Baldacci, Mingozzi and Roberti 2011; both from memory). It remembers
what was passed only inside a block, see :mod:`knobpack.solver.arrangement.ng_memory`.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import bits
from knobpack.solver.arrangement.ng_memory import NOWHERE, Unit, blocks, clusters_in, moves
from knobpack.solver.arrangement.precedence import Precedence
from knobpack.solver.costs import FAR, Whole, indicator

QUANTUM = 256
"""All costs and prices of a panel are whole numbers of 256ths of a point."""

TOO_FAR = FAR // 2
"""What costs so much is ruled out; prices are never so large."""


@attrs.frozen
class Pieces:
    """What is to be arranged, in points.

    Args:
        costs: for each piece (row) and knob (column) the price, FAR where it may not be.
        runs: for each piece and each voice or group whether it is found in the piece.
        weights: what each run of a voice or group costs, the first included.
        beside: for each knob, whether the one before it stands beside it.
        empty: for each knob what it costs that it stays empty: nothing, or FAR if it may not. As
            many stay empty as there are more knobs than pieces chosen.
        units: which pieces are chosen: those of a unit follow each other.
        parts: for each piece the elements it is made of, as a mask; whatever is chosen, there is
            every element once.
        pairs: elements of which the second is to come directly after the first, each two once.
        apart: for each pair what it costs that it does not; twice that where it comes before.
    """

    costs: Whole
    runs: NDArray[np.bool_]
    weights: Whole
    beside: Sequence[bool]
    empty: Whole
    units: Sequence[Unit]
    parts: Sequence[int]
    pairs: Sequence[tuple[int, int]]
    apart: Whole


@attrs.frozen
class CostToGo:
    """What the best way on costs, at some prices.

    Args:
        costs: for each knob (row) and state (column), what the knobs after it cost at least.
        value: what all knobs cost at least.
        prices: the price of each element, and last that of the hole, if any.
        nodes: the price of each node.
        early: for each pair and knob, what its second pays there and its first is paid.
        here: what each node costs on each knob (row) by itself, at these prices.
    """

    costs: Whole
    value: int
    prices: Whole
    nodes: Whole
    early: Whole
    here: Whole


class Panel:
    """Layers of states, one layer for each knob.

    The *nodes* are the pieces, those of one block side by side, and last the hole, if any.

    Args:
        pieces: what is arranged.
        seen: for each pair what is seen of what it weighs, in 256ths; None: all.

    Attributes:
        given: the pieces.
        ways: for each unit, the nodes of each of the ways to choose.
        order: for each node but the hole, the piece that it is.
        costs: for each knob (row) and node (column), the price.
        begins: for each two nodes, the price of the runs that begin with the second where it
            comes beside the first, and of what is not directly before it though it should be.
        alone: for each node, the same where it comes beside none.
        precedence: the pairs that are to come in sequence.
        cover: for each element (row) and node (column) whether it is part of it.
        demand: how often each element is to be passed.
        holes: how many knobs stay empty.
        joined, state: for each node (row) and set of its block (column) the set and the state
            that come of placing it, or NOWHERE.
    """

    def __init__(self, pieces: Pieces, seen: Whole | None = None) -> None:
        self.given = pieces
        units, inside = pieces.units, clusters_in(pieces.units)
        weighted = pieces.runs * pieces.weights
        shared = (weighted.astype(np.float64) @ pieces.runs.T).astype(np.int64)
        first = np.array([own[0] for own in inside], dtype=np.int64)
        between = shared + _linked(pieces)
        for axis in range(2 * bool(inside)):
            between = np.maximum.reduceat(between, first, axis=axis)
        groups = blocks(units, between.tolist())
        self.order = np.array([p for group in groups for u in group for p in inside[u]], np.int64)
        self.pieces = len(self.order)
        self.knobs = len(pieces.empty)
        self.beside = list(pieces.beside)
        self.holes = holes = self.knobs - sum(unit.ways[0].bit_count() for unit in units)
        node = {piece: at for at, piece in enumerate(self.order.tolist())}
        self.ways = [
            [[node[own[at]] for at in bits(way)] for way in unit.ways]
            for unit, own in zip(units, inside, strict=True)
        ]
        self.nodes = self.pieces + bool(holes)
        self._elements([pieces.parts[piece] for piece in self.order.tolist()], holes)
        apart = pieces.apart * QUANTUM if seen is None else seen
        self.precedence = own = Precedence(self.cover, pieces.pairs, apart)
        shared = shared[np.ix_(self.order, self.order)] * QUANTUM
        self.alone = own.apart @ own.follows
        self.alone[: self.pieces] += np.diag(shared)
        self.begins = np.tile(self.alone, (self.nodes, 1)) - own.after
        self.begins[: self.pieces, : self.pieces] -= shared
        self.costs = np.zeros((self.knobs, self.nodes), dtype=np.int64)
        costs = pieces.costs[self.order].T
        self.costs[:, : self.pieces] = np.where(costs < FAR, costs * QUANTUM, FAR)
        self.costs[:, self.pieces :] = pieces.empty[:, None]
        self.first_runs = int((pieces.runs.any(axis=0) * pieces.weights).sum()) * QUANTUM
        self._states([tuple(units[unit] for unit in group) for group in groups], holes)

    def _elements(self, parts: Sequence[int], holes: int) -> None:
        count = max(parts, default=0).bit_length()
        self.cover = np.zeros((count + bool(holes), self.nodes), dtype=np.int64)
        for node, mask in enumerate(parts):
            self.cover[list(bits(mask)), node] = 1
        self.demand = np.ones(count + bool(holes), dtype=np.int64)
        if holes:
            self.cover[-1, -1] = 1
            self.demand[-1] = holes

    def _states(self, groups: Sequence[tuple[Unit, ...]], holes: int) -> None:
        """Number the states, and note the moves within blocks and from block to block."""
        own = [moves(group) for group in groups]
        if holes:
            own.append(moves((Unit(),)))
        sizes = [len(each.joined) for each in own]
        states = [len(each.last) for each in own]
        first = np.cumsum([0, *states[:-1]]).tolist()
        before = np.cumsum([0, *sizes[:-1]]).tolist()
        self.block = np.repeat(np.arange(len(own)), sizes)
        self.last = np.concatenate([m.last + node for m, node in zip(own, before, strict=True)])
        self.root = np.searchsorted(self.last, np.arange(self.nodes))
        self.source = np.concatenate([m.source + at for m, at in zip(own, first, strict=True)])
        self.target = np.concatenate([m.target + at for m, at in zip(own, first, strict=True)])
        self.movable, self.cuts = np.unique(self.source, return_index=True)
        most = max(each.joined.shape[1] for each in own)
        self.joined = np.full((self.nodes, most), NOWHERE, dtype=np.int64)
        self.state = np.full((self.nodes, most), NOWHERE, dtype=np.int64)
        for each, node, at in zip(own, before, first, strict=True):
            rows, sets = each.joined.shape
            self.joined[node : node + rows, :sets] = each.joined
            there = np.where(each.state == NOWHERE, NOWHERE, each.state + at)
            self.state[node : node + rows, :sets] = there
        same = self.block[:, None] == self.block[None, :]
        if holes:
            # Any number of knobs in a row may stay empty: the set of the hole never grows.
            same[-1, -1] = False
            self.joined[-1, 0] = 0
        leaving = np.where(same, FAR, self.begins)
        apart = np.where(same, FAR, self.alone[None, :])
        ends = self.last[self.source], self.last[self.target]
        self.leaving = [leaving if beside else apart for beside in self.beside]
        moving, afresh = self.begins[ends], self.alone[ends[1]]
        self.moving = [moving if beside else afresh for beside in self.beside]

    @property
    def work(self) -> int:
        """How many numbers are looked at for all that is to go."""
        return self.knobs * (len(self.last) + 2 * len(self.source) + self.nodes**2 + 9_000)

    def to_go(self, prices: Whole, early: Whole | None = None) -> CostToGo:
        """What the best way on from every state costs, each element passed at its price less.

        Args:
            prices: the price of each element, and last that of the hole, if any.
            early: for each pair and knob, what its second pays there and its first is paid; None:
                nothing.
        """
        nodes = prices @ self.cover
        if early is None:
            early = np.zeros((len(self.precedence.apart), self.knobs), dtype=np.int64)
        costs = self.costs - nodes + self.precedence.paid(early)
        left = np.zeros((self.knobs, len(self.last)), dtype=np.int64)
        for knob in range(self.knobs - 1, 0, -1):
            after = costs[knob][self.last] + left[knob]
            leave = (self.leaving[knob] + after[self.root]).min(axis=1)
            best = leave[self.last]
            if len(self.source):
                within = np.minimum.reduceat(after[self.target] + self.moving[knob], self.cuts)
                best[self.movable] = np.minimum(best[self.movable], within)
            left[knob - 1] = np.minimum(best, FAR)
        first = self.alone + costs[0] + left[0][self.root]
        return CostToGo(left, int(first.min()), prices, nodes, early, costs)

    def bound(self, to_go: CostToGo) -> int:
        """No arrangement costs less, in 256ths; TOO_FAR or more if there is none."""
        if to_go.value >= TOO_FAR:
            return FAR
        return (
            to_go.value + int(to_go.prices @ self.demand) - self.first_runs + self.precedence.sure
        )

    def path(self, to_go: CostToGo) -> list[int]:
        """The nodes on the best path."""
        costs = to_go.here
        first = self.alone + costs[0] + to_go.costs[0][self.root]
        state = int(self.root[first.argmin()])
        nodes = [int(self.last[state])]
        for knob in range(1, self.knobs):
            after, node = to_go.costs[knob], nodes[-1]
            leave = self.leaving[knob][node] + costs[knob] + after[self.root]
            best = int(leave.argmin())
            state, cost = self._move(knob, state, costs[knob], after)
            if leave[best] <= cost:
                state = int(self.root[best])
            nodes.append(int(self.last[state]))
        return nodes

    def _move(self, knob: int, state: int, costs: Whole, after: Whole) -> tuple[int, int]:
        """The best move within the block, and what is to go with it."""
        begin, end = np.searchsorted(self.source, (state, state + 1))
        if begin == end:
            return state, FAR * 2
        targets = self.target[begin:end]
        cost = self.moving[knob][begin:end] + costs[self.last[targets]] + after[targets]
        best = int(cost.argmin())
        return int(targets[best]), int(cost[best])

    def missed(self, path: Sequence[int]) -> Whole:
        """For each element, how often it is passed too seldom."""
        passed: Whole = self.cover @ np.bincount(path, minlength=self.nodes)
        return self.demand - passed

    def complete(self, path: Sequence[int]) -> bool:
        """Whether a path that passes every element once passes nodes that can be chosen together.

        All that can be chosen from a unit are as many, so what is passed of each is one way.
        """
        sets = [0] * (int(self.block[-1]) + 1)
        for node in path:
            at = int(self.block[node])
            sets[at] = int(self.joined[node, sets[at]])
            if sets[at] == NOWHERE:
                return False
        return True

    def cost(self, nodes: Sequence[int]) -> int:
        """What an arrangement costs, in 256ths: the node on each knob."""
        path = np.array(nodes)
        total = int(self.costs[np.arange(self.knobs), path].sum()) - self.first_runs
        for knob, node in enumerate(nodes):
            beside = knob and self.beside[knob]
            total += int(self.begins[nodes[knob - 1], node] if beside else self.alone[node])
        return total + self.precedence.turned(path)


def _linked(pieces: Pieces) -> Whole:
    """For each two pieces, what the pairs between them weigh."""
    ends = np.array(pieces.pairs, dtype=np.int64).reshape(-1, 2)
    holds = indicator(pieces.parts, range(int(ends.max(initial=0)) + 1)) > 0
    first, second = holds[ends[:, 0]], holds[ends[:, 1]]
    weighed = (first & ~second).T * pieces.apart.astype(np.float64)
    linked = (weighed @ (second & ~first)).astype(np.int64)
    both: Whole = linked + linked.T
    return both
