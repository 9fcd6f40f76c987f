"""Precedence: pairs of which the second is to come directly after the first.

A pair costs nothing where its second is on the knob right after its first, ``apart`` where it
comes later, and twice that where it comes before. The first half is seen between neighbours. Of the
second half two things are known without any order: of pairs that go round in a *cycle* one at least
is turned round; and for any prices ``early``, which fall from knob to knob and are ``apart`` at
most, a pair that is turned round costs at least what its second pays where it is, less what its
first is paid where it is (the Lagrangian of: up to no knob there are more seconds than firsts,
unless the pair is turned round).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from knobpack.solver.costs import Whole


class Precedence:
    """The pairs of a panel, by its nodes.

    Args:
        cover: for each element (row) and node whether it is part of it.
        pairs: elements of which the second is to come directly after the first, each two once.
        apart: for each pair what it costs that it does not.

    Attributes:
        leads, follows: for each pair (row) and node whether it has the first without the second,
            and the second without the first.
        apart: as given.
        after: for each two nodes what the pairs from the one to the other weigh together.
        counted: for each cycle that there is whatever is chosen what it costs at least. No two
            count the same.
        sure: what all cost.
        touches: for each cycle (row) and node whether it has an element of it.
        open: for each pair what of ``apart`` none counts.
    """

    def __init__(self, cover: Whole, pairs: Sequence[tuple[int, int]], apart: Whole) -> None:
        ends = np.array(pairs, dtype=np.int64).reshape(-1, 2)
        first, second = cover[ends[:, 0]] > 0, cover[ends[:, 1]] > 0
        self.leads, self.follows = first & ~second, second & ~first
        self.apart = apart
        weighed = self.leads.T * apart.astype(np.float64)
        self.after: Whole = (weighed @ self.follows).astype(np.int64)
        # Elements that some node joins might cost nothing.
        alone = {p: at for at, p in enumerate(pairs) if not cover[list(p)].all(axis=0).any()}
        self.open = apart.copy()
        cycles = _cycles(alone, self.open)
        touches = [cover[list(elements)].any(axis=0) for elements, _ in cycles]
        self.counted = np.array([toll for _, toll in cycles], dtype=np.int64)
        self.sure = int(self.counted.sum())
        self.touches = np.array(touches, dtype=np.bool_).reshape(len(cycles), cover.shape[1])

    def early(self, falls: NDArray[np.float64]) -> Whole:
        """Prices from what they fall by after each knob (column)."""
        sums = falls[:, ::-1].cumsum(axis=1)[:, ::-1]
        early: Whole = np.minimum(np.rint(sums).astype(np.int64), self.open[:, None])
        return early

    def paid(self, early: Whole) -> Whole:
        """What each node pays on each knob (row) at some prices."""
        ends = self.follows.astype(np.float64) - self.leads
        return np.rint(early.T @ ends).astype(np.int64)

    def ahead(self, path: Sequence[int]) -> NDArray[np.float64]:
        """For each pair and knob, how many more seconds than firsts a path passes up to it."""
        here = self.follows[:, path].astype(np.float64) - self.leads[:, path]
        ahead: NDArray[np.float64] = here.cumsum(axis=1)
        return ahead

    def within(self, falls: NDArray[np.float64]) -> NDArray[np.float64]:
        """The nearest falls that are allowed: 0 or more, and together no more than is open."""
        most = self.open.astype(np.float64)
        near: NDArray[np.float64] = np.maximum(falls, 0.0)
        over = near.sum(axis=1) > most
        if over.any():
            near[over] = _on_simplex(falls[over], most[over])
        return near

    def turned(self, path: NDArray[np.int64]) -> int:
        """What it costs, besides, that in an arrangement some seconds come before their firsts."""
        return int(np.tril(self.after[np.ix_(path, path)], -1).sum())


def _on_simplex(rows: NDArray[np.float64], sums: NDArray[np.float64]) -> NDArray[np.float64]:
    """The nearest points of 0 or more with given sums (Held, Wolfe and Crowder 1974; from memory).

    All numbers of a row are lowered by as much, but to 0 at the lowest.
    """
    falling = -np.sort(-rows, axis=1)
    count = np.arange(1, rows.shape[1] + 1)
    level = (falling.cumsum(axis=1) - sums[:, None]) / count
    last = (falling > level).sum(axis=1) - 1
    lowered = rows - level[np.arange(len(rows)), last][:, None]
    near: NDArray[np.float64] = np.maximum(lowered, 0.0)
    return near


def _cycles(arcs: dict[tuple[int, int], int], left: Whole) -> list[tuple[tuple[int, ...], int]]:
    """Cycles, the shortest first, and what each costs at least; no two count the same.

    Args:
        arcs: the number of the pair from one place to another.
        left: what of each pair is not counted; what is counted here is taken off.
    """
    found: list[tuple[tuple[int, ...], int]] = []
    while True:
        after: dict[int, list[int]] = {}
        for (first, second), pair in arcs.items():
            if left[pair]:
                after.setdefault(first, []).append(second)
        cycle = min(
            filter(None, (_shortest_through(after, one) for one in after)), key=len, default=()
        )
        if not cycle:
            return found
        round_ = [arcs[pair] for pair in zip(cycle, (*cycle[1:], cycle[0]), strict=True)]
        toll = int(left[round_].min())
        left[round_] -= toll
        found.append((cycle, toll))


def _shortest_through(after: dict[int, list[int]], start: int) -> tuple[int, ...]:
    """A shortest cycle through an element; empty if there is none."""
    came = {start: start}
    waiting = [start]
    for element in waiting:
        for following in after.get(element, ()):
            if following == start:
                cycle = [element]
                while cycle[-1] != start:
                    cycle.append(came[cycle[-1]])
                return tuple(reversed(cycle))
            if following not in came:
                came[following] = element
                waiting.append(following)
    return ()
