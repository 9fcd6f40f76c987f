"""Shifting: a known arrangement made better by small steps, all of one sort looked at together.

A step exchanges two stretches of knobs that meet, so that a few clusters in a row move elsewhere
and what is between moves up; or it swaps two clusters. It proves nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.costs import Whole
from knobpack.solver.panel import Panel
from knobpack.solver.raising import EFFORT_PER_NUMBER
from knobpack.solver.watch import Watch

LONGEST = 4
"""Clusters in a row that move elsewhere together, at most."""

FARTHEST = 48
"""Knobs that the two stretches have together, at most."""

BARRED = 1 << 50
"""Stands here for the price of a place that is not allowed: many of them can be added up."""


def shifted(panel: Panel, path: Sequence[int], watch: Watch) -> tuple[int, ...]:
    """The arrangement that is reached from one by steps that each make it cheaper.

    Args:
        panel: what is arranged.
        path: the node on each knob.
        watch: what may cut it short.
    """
    now = np.array(path, dtype=np.int64)
    cost = panel.cost(now.tolist())
    while panel.knobs > 1 and not watch.over():
        then = now
        for step in (_exchange, _swap):
            then = step(panel, then)
        after = panel.cost(then.tolist())
        watch.spend(EFFORT_PER_NUMBER * 30 * len(_stretches(panel.knobs).first))
        if after >= cost:
            break
        now, cost = then, after
    return tuple(now.tolist())


@attrs.frozen(eq=False)
class _Stretches:
    """Every two stretches: from ``first`` up to ``middle``, and from there up to ``end``."""

    first: NDArray[np.int64]
    middle: NDArray[np.int64]
    end: NDArray[np.int64]


@cache
def _stretches(knobs: int) -> _Stretches:
    triples = [
        (first, middle, end)
        for first in range(knobs)
        for end in range(first + 2, min(knobs, first + FARTHEST) + 1)
        for middle in range(first + 1, end)
        if min(middle - first, end - middle) <= LONGEST
    ]
    columns = np.array(triples, dtype=np.int64).reshape(-1, 3).T
    return _Stretches(columns[0], columns[1], columns[2])


class _Lengthwise:
    """What stretches of an arrangement would cost elsewhere."""

    def __init__(self, panel: Panel, path: NDArray[np.int64]) -> None:
        self.panel = panel
        self.path = np.append(path, path[-1])
        self.beside = np.append(np.array(panel.beside), False)
        self.beside[0] = False
        knobs = panel.knobs
        own = np.minimum(panel.costs[:, path], BARRED)
        member = np.arange(knobs)
        # Row: a knob; column: a member of the path there, with the run that begins.
        self.joint = self.joined(np.roll(path, 1)[None, :], path[None, :], member[:, None])
        together = own + self.joint
        # Sums along diagonals: the members up to one, each ``shift`` knobs further on.
        self.sums = np.zeros((knobs + 1, 2 * knobs + 1), dtype=np.int64)
        for at in range(knobs):
            self.sums[at + 1] = self.sums[at]
            self.sums[at + 1, member - at + knobs] += together[:, at]

    def joined(self, before: Whole, now: Whole, knob: Whole) -> Whole:
        """The price of the runs that begin on a knob, by the nodes before and on it."""
        panel = self.panel
        joined: Whole = np.where(self.beside[knob], panel.begins[before, now], panel.alone[now])
        return joined

    def of(self, begin: Whole, end: Whole, shift: Whole) -> Whole:
        """What a stretch costs so many knobs further on, but for the run its first one begins."""
        column = shift + self.panel.knobs
        total: Whole = self.sums[end, column] - self.sums[begin, column]
        total -= self.joint[begin + shift, begin]
        return total


def _exchange(panel: Panel, path: NDArray[np.int64]) -> NDArray[np.int64]:
    """The path with the best exchanges made that do not touch each other."""
    way, all_ = _Lengthwise(panel, path), _stretches(panel.knobs)
    first, middle, end = all_.first, all_.middle, all_.end
    nodes, shift = way.path, end - middle
    zero = np.zeros_like(first)
    turned = _turned(panel, path)
    seam = first + shift
    last = np.minimum(end, panel.knobs)
    after = np.where(end < panel.knobs, 1, 0)
    saved = (
        way.joined(nodes[first - 1], nodes[middle], first)
        + way.of(middle, end, first - middle)
        + way.joined(nodes[end - 1], nodes[first], seam)
        + way.of(first, middle, shift)
        + after * way.joined(nodes[middle - 1], nodes[last], last)
        - way.joined(nodes[first - 1], nodes[first], first)
        - way.of(first, middle, zero)
        - way.joined(nodes[middle - 1], nodes[middle], middle)
        - way.of(middle, end, zero)
        - after * way.joined(nodes[end - 1], nodes[last], last)
        + turned[middle, end]
        - turned[middle, middle]
        - turned[first, end]
        + turned[first, middle]
    )
    then = path.copy()
    touched = np.zeros(panel.knobs + 2, dtype=np.bool_)
    better = np.nonzero(saved < 0)[0]
    for at in better[np.argsort(saved[better], kind="stable")]:
        begin, stop = int(first[at]), int(end[at])
        if not touched[begin : stop + 2].any():
            # Two exchanges are independent if a knob is between them.
            touched[begin : stop + 2] = True
            cut = int(middle[at])
            then[begin:stop] = np.concatenate((path[cut:stop], path[begin:cut]))
    return then


def _turned(panel: Panel, path: NDArray[np.int64]) -> Whole:
    """Sums of what it costs to turn members of a path round, up to one (row) and another."""
    after = panel.precedence.after[np.ix_(path, path)]
    sums = np.zeros((panel.knobs + 1, panel.knobs + 1), dtype=np.int64)
    sums[1:, 1:] = (after - after.T).cumsum(axis=0).cumsum(axis=1)
    return sums


def _swap(panel: Panel, path: NDArray[np.int64]) -> NDArray[np.int64]:
    """The path with the best swaps made that do not touch each other."""
    knobs, beside = panel.knobs, np.array(panel.beside)
    own = np.minimum(panel.costs[:, path], BARRED)
    before = np.where(
        beside[1:, None], panel.begins[path[:-1, None], path[None, :]], panel.alone[path][None, :]
    )
    after = np.where(
        beside[1:, None], panel.begins[path[None, :], path[1:, None]], panel.alone[path[1:, None]]
    )
    # Row: a knob; column: the member of the path that would stand there among its neighbours.
    there = own
    there[0] += panel.alone[path]
    there[1:] += before
    there[:-1] += after
    here = np.diag(there)
    saved = there + there.T - here[:, None] - here[None, :] + _passed(panel, path)
    one, other = np.nonzero(np.triu(saved < 0, 2))
    then = path.copy()
    touched = np.zeros(knobs + 2, dtype=np.bool_)
    for at in np.argsort(saved[one, other], kind="stable"):
        a, b = int(one[at]), int(other[at])
        if not (touched[a : a + 3].any() or touched[b : b + 3].any()):
            touched[a : a + 3] = touched[b : b + 3] = True
            then[a], then[b] = path[b], path[a]
    return then


def _passed(panel: Panel, path: NDArray[np.int64]) -> Whole:
    """What it costs to turn round what a swap of two members (row and column) turns round."""
    after = panel.precedence.after[np.ix_(path, path)]
    turned = after - after.T
    sums = turned.cumsum(axis=1)
    here = np.diag(sums)
    # From the first to the second, and from what is between them to the second.
    forth = sums - here[:, None]
    back = np.diag(turned.cumsum(axis=0))[None, :] - turned.cumsum(axis=0)
    passed: Whole = forth + back
    return passed
