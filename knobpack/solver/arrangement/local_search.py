"""Shifting: a known arrangement made better by small steps, all of one sort looked at together.

A step lets two stretches of knobs change places. Either they meet, so that a few clusters in a row
move elsewhere and what is between moves up; or they are as long as each other. It proves nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.arrangement.path_relaxation import Panel
from knobpack.solver.arrangement.subgradient import EFFORT_PER_NUMBER
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch

LONGEST = 4
"""Clusters in a row that move elsewhere together, or change places with as many, at most."""

FARTHEST = 48
"""Knobs that two stretches that meet have together, at most."""

BLOCK = 100_000
"""Steps that are looked at together, at most: between two blocks it is seen whether to stop."""

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
    blocks = steps_on(panel.knobs, tuple(panel.beside), watch)
    count = sum(len(steps.first) for steps in blocks)
    while count and not watch.over():
        then = _stepped(panel, now, blocks, watch)
        after = panel.cost(then.tolist())
        watch.spend(EFFORT_PER_NUMBER * 30 * count)
        if after >= cost:
            break
        now, cost = then, after
    return tuple(now.tolist())


@attrs.frozen(eq=False)
class Steps:
    """Some steps: two stretches, from ``first`` up to ``middle``, and from ``other`` up to ``end``.

    ``more`` and ``less`` say, step by step (column), which numbers of an arrangement (see
    :func:`numbers_of`) are to be added up and taken off to have what the step costs.
    """

    first: Whole
    middle: Whole
    other: Whole
    end: Whole
    more: Whole
    less: Whole


def steps_on(knobs: int, beside: tuple[bool, ...], watch: Watch) -> list[Steps]:
    """Every step on so many knobs, in blocks; none if the watch is over before all are there.

    Args:
        knobs: how many.
        beside: for each knob, whether the one before it stands beside it.
        watch: looked at before each block.
    """
    blocks = []
    for begin in range(0, len(_stretches(knobs)), BLOCK):
        if watch.over():
            return []
        blocks.append(_block(knobs, beside, begin))
    return blocks


@cache
def _block(knobs: int, beside: tuple[bool, ...], begin: int) -> Steps:
    first, middle, other, end = _stretches(knobs)[begin : begin + BLOCK].T
    more, less = _numbered(np.array((*beside, False)), first, middle, other, end)
    return Steps(first, middle, other, end, more, less)


@cache
def _stretches(knobs: int) -> Whole:
    """Every two stretches that may change places, one in each row."""
    widths = [
        (0, one, one, both)
        for both in range(2, FARTHEST + 1)
        for one in range(1, both)
        if min(one, both - one) <= LONGEST
    ]
    meeting = (np.arange(knobs)[:, None, None] + np.array(widths)).reshape(-1, 4)
    found = [meeting[meeting[:, 3] <= knobs]]
    for length in range(1, LONGEST + 1):
        first, other = np.triu_indices(knobs + 1 - length, length + 1)
        found.append(np.column_stack([first, first + length, other, other + length]))
    return np.concatenate(found).astype(np.int64)


def _numbered(
    beside: NDArray[np.bool_], first: Whole, middle: Whole, other: Whole, end: Whole
) -> tuple[Whole, Whole]:
    """What to add up and what to take off for each step, by the places of :func:`numbers_of`."""
    knobs = len(beside) - 1
    alone, sums = knobs**2, knobs**2 + knobs
    turned = sums + (knobs + 1) * (2 * knobs + 1)
    nothing = np.full(len(first), turned + (knobs + 1) ** 2)
    more: list[Whole] = []
    less: list[Whole] = []

    def joined(before: Whole, now: Whole, knob: Whole) -> Whole:
        """Where what a member costs beside another begins, if that knob is beside one."""
        joins = beside[knob] & (knob > 0)
        return np.where(joins, before % knobs * knobs + now, alone + now % knobs)

    def moved(begin: Whole, stop: Whole, shift: Whole) -> tuple[Whole, Whole, Whole]:
        """What a stretch costs so many knobs further on, but for the run its first one begins."""
        column = sums + shift + knobs
        width = 2 * knobs + 1
        within = joined(begin - 1, begin, begin + shift)
        return stop * width + column, begin * width + column, within

    def goes(
        begin: Whole, stop: Whole, shift: Whole, *, there: NDArray[np.bool_] | bool = True
    ) -> None:
        """A stretch that is somewhere moves by as much."""
        for at, plus, minus in ((shift, more, less), (0 * shift, less, more)):
            all_, before, joint = moved(begin, stop, at)
            plus.append(np.where(there, all_, nothing))
            minus += [np.where(there, before, nothing), np.where(there, joint, nothing)]

    def turns(rows: tuple[Whole, Whole], columns: tuple[Whole, Whole]) -> None:
        """All of one stretch come before all of another, and did so after them."""
        (low, high), (left, right) = rows, columns
        width = knobs + 1
        more.extend((turned + high * width + right, turned + low * width + left))
        less.extend((turned + high * width + left, turned + low * width + right))

    between = middle < other
    after = end < knobs
    # What stands between the two moves by as much as one is longer than the other.
    goes(other, end, first - other)
    goes(middle, other, end - other - (middle - first), there=between)
    goes(first, middle, end - middle)
    turns((first, middle), (middle, end))
    turns((middle, other), (other, end))
    begun = np.where(between, other - 1, end - 1)
    more += [joined(first - 1, other, first), joined(begun, first, first + end - middle)]
    more.append(np.where(between, joined(end - 1, middle, first + end - other), nothing))
    more.append(np.where(after, joined(middle - 1, end, end), nothing))
    less += [joined(first - 1, first, first), joined(other - 1, other, other)]
    less.append(np.where(between, joined(middle - 1, middle, middle), nothing))
    less.append(np.where(after, joined(end - 1, end, end), nothing))
    return np.array(more), np.array(less)


def numbers_of(panel: Panel, path: NDArray[np.int64]) -> Whole:
    """All that steps from an arrangement can cost or save, in one row.

    For each two members (first the one before), what the second costs beside the first; what each
    costs beside none; for each member and shift, what those before it cost so many knobs further
    on, beside each other; for each two members, what it costs to turn those before the one and
    those before the other round; and nothing.
    """
    knobs, member = panel.knobs, np.arange(panel.knobs)
    begins, alone = panel.begins[np.ix_(path, path)], panel.alone[path]
    beside = np.array(panel.beside)
    beside[:1] = False
    own = np.minimum(panel.costs[:, path], BARRED)
    # Row: a knob; column: a member of the path there, with the run that begins.
    own += np.where(beside[:, None], begins[member - 1, member][None, :], alone[None, :])
    # Sums along diagonals: the members up to one, each so many knobs further on.
    sums = np.zeros((knobs + 1, 2 * knobs + 1), dtype=np.int64)
    for at in range(knobs):
        sums[at + 1] = sums[at]
        sums[at + 1, member - at + knobs] += own[:, at]
    after = panel.precedence.after[np.ix_(path, path)]
    turned = np.zeros((knobs + 1, knobs + 1), dtype=np.int64)
    turned[1:, 1:] = (after - after.T).cumsum(axis=0).cumsum(axis=1)
    return np.concatenate((begins.ravel(), alone, sums.ravel(), turned.ravel(), [0]))


def saved_by(numbers: Whole, steps: Steps) -> Whole:
    """What each step costs more than is saved by it, by the numbers of the arrangement."""
    saved: Whole = numbers.take(steps.more).sum(axis=0) - numbers.take(steps.less).sum(axis=0)
    return saved


def _stepped(
    panel: Panel, path: NDArray[np.int64], blocks: Sequence[Steps], watch: Watch
) -> NDArray[np.int64]:
    """The path with the best steps made that do not touch each other."""
    numbers, better = numbers_of(panel, path), list[tuple[int, int, int, int, int]]()
    for steps in blocks:
        if watch.over():
            return path
        saved = saved_by(numbers, steps)
        here = np.nonzero(saved < 0)[0]
        columns = (saved, steps.first, steps.middle, steps.other, steps.end)
        better += zip(*(column[here].tolist() for column in columns), strict=True)
    then = path.copy()
    touched = np.zeros(panel.knobs + 2, dtype=np.bool_)
    # Of what saves the same, the last: the first knobs are left as they are.
    for _, first, middle, other, end in sorted(better, key=lambda step: (step[0], -step[1])):
        if not touched[first : end + 2].any():
            # Two steps are independent if a knob is between them.
            touched[first : end + 2] = True
            parts = path[other:end], path[middle:other], path[first:middle]
            then[first:end] = np.concatenate(parts)
    return then
