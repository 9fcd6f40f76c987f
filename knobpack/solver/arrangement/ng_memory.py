"""Blocks: few clusters that share voices or groups, and the orders in which they can be visited.

What makes a layout good is that such clusters stand side by side. The relaxation of the path
(``path_relaxation.py``) therefore remembers which clusters of a block were passed, as long as the
block is not left: an ng-memory (Baldacci, Mingozzi and Roberti 2011; from memory). A *unit* is a
cluster that is there in any case, or the clusters of a family that can be parted in several ways,
of which one is chosen. A state is the cluster passed last, and the set of those of its block that
were passed, itself among them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache

import attrs
import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]

LARGEST = 50
"""States of one block that is put together from several units, at most."""

NOWHERE = -1
"""Stands for a set or state that there is not."""


@attrs.frozen
class Unit:
    """Clusters of which some are chosen.

    Args:
        size: how many there are.
        ways: what can be chosen, as masks of the clusters.
    """

    size: int = 1
    ways: tuple[int, ...] = (1,)


@attrs.frozen(eq=False)
class Moves:
    """The sets and states of one block, by last cluster and then by set, and its moves.

    Args:
        last: for each state, the cluster passed last, counted from 0.
        source, target: for each move from one state to the next, the two states.
        joined: for each cluster (row) and set (column) the set with it, or NOWHERE. The set of
            number 0 is empty.
        state: the state that it leads to, or NOWHERE.
    """

    last: Numbers
    source: Numbers
    target: Numbers
    joined: Numbers
    state: Numbers


@cache
def moves(units: tuple[Unit, ...]) -> Moves:
    """The states and moves of a block of some units."""
    sets, size = [0], 0
    for unit in units:
        own = sorted({part for way in unit.ways for part in parts_of(way)})
        sets = [before | part << size for part in own for before in sets]
        size += unit.size
    number = {mask: at for at, mask in enumerate(sets)}
    states = [(last, mask) for last in range(size) for mask in sets if mask >> last & 1]
    place = {state: at for at, state in enumerate(states)}
    joined = np.full((size, len(sets)), NOWHERE, dtype=np.int64)
    state = np.full((size, len(sets)), NOWHERE, dtype=np.int64)
    for mask, at in number.items():
        for after in range(size):
            if not mask >> after & 1 and mask | 1 << after in number:
                joined[after, at] = number[mask | 1 << after]
                state[after, at] = place[after, mask | 1 << after]
    steps = [
        (source, int(state[after, number[mask]]))
        for source, (_, mask) in enumerate(states)
        for after in range(size)
        if state[after, number[mask]] != NOWHERE
    ]
    ends = np.array(steps, dtype=np.int64).reshape(-1, 2).T
    last = np.array([last for last, _ in states], dtype=np.int64)
    return Moves(last, ends[0], ends[1], joined, state)


def parts_of(mask: int) -> Iterator[int]:
    """Every part of a set, itself and the empty one included."""
    part = mask
    while part:
        yield part
        part = part - 1 & mask
    yield 0


def states_of(unit: Unit) -> tuple[int, int]:
    """How many sets and states a unit makes for."""
    parts = {part for way in unit.ways for part in parts_of(way)}
    return len(parts), sum(part.bit_count() for part in parts)


def blocks(
    units: Sequence[Unit], shared: Sequence[Sequence[int]], largest: int = LARGEST
) -> list[list[int]]:
    """Group units, those that share the most first.

    Args:
        units: what is grouped.
        shared: for each two units, what the runs that they share weigh.
        largest: how many states a block of more than one unit has, at most.

    Returns:
        The units of each block; every one is in one, and what shares nothing is alone.
    """
    count = len(units)
    links = sorted(
        (-shared[one][other], one, other)
        for other in range(count)
        for one in range(other)
        if shared[one][other]
    )
    of = [[unit] for unit in range(count)]
    counts = [states_of(unit) for unit in units]
    for _, one, other in links:
        first, second = of[one], of[other]
        if first is second:
            continue
        (sets, states), (more, others) = counts[first[0]], counts[second[0]]
        if states * more + sets * others <= largest:
            counts[first[0]] = sets * more, states * more + sets * others
            first.extend(second)
            for unit in second:
                of[unit] = first
    return [sorted(block) for unit, block in enumerate(of) if min(block) == unit]


def clusters_in(units: Sequence[Unit]) -> list[list[int]]:
    """The clusters of each unit, all numbered from 0."""
    ends = np.cumsum([unit.size for unit in units]).tolist()
    return [list(range(end - unit.size, end)) for end, unit in zip(ends, units, strict=True)]
