"""Blocks: few clusters that share voices or groups, and the orders in which they can be visited.

What makes a layout good is that such clusters stand side by side. The relaxation of
:mod:`knobpack.solver.panel` therefore remembers which clusters of a block were passed, as long as
the block is not left. A state is the cluster passed last, and the mask of those of its block that
were passed, itself among them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import attrs
import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]

LARGEST = 6
"""Clusters of one block, at most: there are ``n * 2**(n - 1)`` states of ``n``."""


@attrs.frozen(eq=False)
class Moves:
    """The states of one block, by last cluster and then by the mask of the others, and its moves.

    Args:
        last: for each state, the cluster passed last, counted from 0.
        source, target: for each move from one state to the next, the two states.
    """

    last: Numbers
    source: Numbers
    target: Numbers


@cache
def moves(size: int) -> Moves:
    """The states and moves of a block of ``size`` clusters."""
    half = 1 << size - 1
    source, target = [], []
    for last in range(size):
        for others in range(half):
            passed = _with(others, last)
            for after in range(size):
                if not passed >> after & 1:
                    source.append(last * half + others)
                    target.append(after * half + without(passed, after))
    states = np.arange(size * half)
    return Moves(states // half, np.array(source, np.int64), np.array(target, np.int64))


def without(mask: int, position: int) -> int:
    """A mask with one position taken out, and those above it moved down."""
    low = mask & (1 << position) - 1
    return mask >> position + 1 << position | low


def _with(others: int, position: int) -> int:
    """The opposite of :func:`without`, with the position set."""
    low = others & (1 << position) - 1
    return others >> position << position + 1 | 1 << position | low


def blocks(shared: Sequence[Sequence[int]], largest: int = LARGEST) -> list[list[int]]:
    """Group clusters, those that share the most first.

    Args:
        shared: for each two clusters, what the runs that they share weigh.
        largest: how many clusters go into one block, at most.

    Returns:
        The clusters of each block; every cluster is in one, and what shares nothing is alone.
    """
    count = len(shared)
    links = sorted(
        (-shared[one][other], one, other)
        for other in range(count)
        for one in range(other)
        if shared[one][other]
    )
    of = [[cluster] for cluster in range(count)]
    for _, one, other in links:
        first, second = of[one], of[other]
        if first is not second and len(first) + len(second) <= largest:
            first.extend(second)
            for cluster in second:
                of[cluster] = first
    return [sorted(block) for cluster, block in enumerate(of) if min(block) == cluster]
