"""What it costs to have a set of items on one knob: many sets at once, in whole numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import Problem, bits

Whole: TypeAlias = NDArray[np.int64]

QUANTUM = 1024
"""Prices that bounds are proven by are whole numbers of one 1024th of a point."""

FAR = 1 << 60
"""Stands for a cost that rules a set out; two of them still fit into 64 bits."""


def indicator(masks: Sequence[int], items: Sequence[int]) -> NDArray[np.float64]:
    """A matrix of 0 and 1: which of ``items`` (rows) stand in which of ``masks`` (columns)."""
    width = max(items, default=0) // 8 + 1
    kept = (1 << 8 * width) - 1
    read = np.frombuffer(b"".join((m & kept).to_bytes(width, "little") for m in masks), np.uint8)
    table = np.unpackbits(read.reshape(len(masks), width), axis=1, bitorder="little")
    return table[:, list(items)].T.astype(np.float64)


def set_costs(
    problem: Problem, items: list[int], members: NDArray[np.float64]
) -> tuple[Whole, Whole, Whole]:
    """Price sets of items, each as if alone on a knob.

    Args:
        problem: the costs.
        items: the items that the columns of ``members`` stand for.
        members: a matrix of 0 and 1, one row a set; every set has one item or more, and at most
            one knob that its items are pinned to.

    Returns:
        For each set, how many bundles it holds some of, the breaks it costs (tier *independence*)
        and what sharing costs. Of a spread, ``weight`` is counted on each knob it touches: the
        first must be taken off once, as that of each bundle.
    """
    everything = sum(1 << item for item in items)
    size = members.sum(axis=1)
    once = [*problem.classes, *((spread.items, spread.weight) for spread in problem.spreads)]
    sharing = members @ np.array([problem.each[item] for item in items]) - problem.first
    sharing += _travel(problem, items, members) + _pairs(problem, items, members)
    sharing += _touched(once, items, members)
    if problem.heap:
        more = _touched([(mask, 1) for mask in problem.load_masks], items, members) - 1
        sharing += problem.heap * (more * (more - 1) // 2)
    for mask, weight in problem.intrusions:
        if mask & everything:
            inside = members @ indicator([mask], items)[:, 0]
            sharing += weight * ((inside > 0) & (inside < size))
    breaks = np.zeros(len(members))
    for mask, weight in problem.breakable:
        if everything & mask and everything & ~mask:
            moving = members @ indicator([mask], items)[:, 0]
            breaks += weight * np.minimum(moving, size - moving)
    bundles = _touched([(mask, 1) for mask in problem.bundles], items, members)
    return bundles.astype(np.int64), breaks.astype(np.int64), sharing.astype(np.int64)


def _touched(
    classes: Sequence[tuple[int, int]], items: list[int], members: NDArray[np.float64]
) -> NDArray[np.float64]:
    """What the classes, each a mask and a weight, of which a set has any item come to."""
    everything = sum(1 << item for item in items)
    inside = [(mask & everything, weight) for mask, weight in classes if mask & everything]
    # A class of which there is one item here weighs as much as that item: most are where sets are
    # of a few items out of many.
    alone = np.zeros(len(items))
    column = {item: at for at, item in enumerate(items)}
    for mask, weight in inside:
        if mask & (mask - 1) == 0:
            alone[column[mask.bit_length() - 1]] += weight
    several = [(mask, weight) for mask, weight in inside if mask & (mask - 1)]
    touched = members @ indicator([mask for mask, _ in several], items) > 0
    total: NDArray[np.float64] = members @ alone
    return total + touched @ np.array([weight for _, weight in several], dtype=np.float64)


def _travel(
    problem: Problem, items: list[int], members: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The cheapest travel among those wanted, or what the kept travel costs."""
    wanted = sorted({problem.wanted[item] for item in items})
    rows = [[problem.travel_prices[travel][item] for travel in wanted] for item in items]
    prices = members @ np.array(rows, dtype=np.float64)
    wishes = [[problem.wanted[item] == travel for travel in wanted] for item in items]
    prices[members @ np.array(wishes, dtype=np.float64) == 0] = np.inf
    cheapest: NDArray[np.float64] = prices.min(axis=1)
    column = {item: position for position, item in enumerate(items)}
    for atom in problem.atoms:
        if atom.pinned in problem.kept_travels:
            inside = [column[item] for item in bits(atom.items) if item in column]
            row = problem.travel_prices[problem.kept_travels[atom.pinned]]
            kept = members @ np.array([row[item] for item in items], dtype=np.float64)
            if inside:
                cheapest = np.where(members[:, inside[0]] > 0, kept, cheapest)
    return cheapest


def _pairs(problem: Problem, items: list[int], members: NDArray[np.float64]) -> NDArray[np.float64]:
    paired = {item for pair in problem.pairs for item in pair}
    inside = [position for position, item in enumerate(items) if item in paired]
    column = {items[position]: at for at, position in enumerate(inside)}
    weights = np.zeros((len(inside), len(inside)))
    for (one, other), weight in problem.pairs.items():
        if one in column and other in column:
            weights[column[one], column[other]] = weight
    here = members[:, inside]
    total: NDArray[np.float64] = ((here @ weights) * here).sum(axis=1)
    return total
