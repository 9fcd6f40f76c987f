"""Isolated: classes of destinations that demands part from each other, and by which demands."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.problem import bits
from knobpack.words.demand import Demand

Split = tuple[Demand, tuple[int, int]]
"""A demand, and two masks of destinations that it keeps on different knobs."""


def isolated(
    classes: Sequence[int], splits: Sequence[Split]
) -> list[tuple[list[int], list[Demand]]]:
    """Some classes that all demands together part from each other.

    Args:
        classes: masks of destinations that are on the same sides of every split.
        splits: every split.

    Returns:
        For each of these classes its destinations, and demands that part it from all the others.
    """
    against = {members: _against(members, splits) for members in classes}
    every = sum(classes)
    order = sorted(classes, key=lambda each: (-(against[each] & every).bit_count(), each))
    chosen: list[int] = []
    for members in order:
        if all(against[members] & other for other in chosen):
            chosen.append(members)
    together = sum(chosen)
    return [
        (list(bits(members)), _parting(members, together & ~members, splits)) for members in chosen
    ]


def _against(members: int, splits: Sequence[Split]) -> int:
    against = 0
    for _, pair in splits:
        against |= _other_side(members, pair)
    return against


def _other_side(members: int, pair: tuple[int, int]) -> int:
    """What a split parts from ``members``; it is mutual."""
    first, second = pair
    if members & first & second:
        return (first | second) & ~members
    if members & first:
        return second
    return first if members & second else 0


def _parting(members: int, others: int, splits: Sequence[Split]) -> list[Demand]:
    """Few demands that part ``members`` from all of ``others``."""
    found: list[Demand] = []
    while others:
        demand, pair = max(
            splits, key=lambda each: (_other_side(members, each[1]) & others).bit_count()
        )
        found.append(demand)
        others &= ~_other_side(members, pair)
    return found
