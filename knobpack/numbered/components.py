"""Components: numbers that sets of them bind together, also through others."""

from __future__ import annotations

from collections.abc import Iterable

from knobpack.numbered.problem import bits


def components(count: int, sets: Iterable[int]) -> list[list[int]]:
    """The numbers below ``count``, parted: what a mask names is together, also through others.

    A disjoint-set forest whose roots are the lowest; the parts are in the order of those.
    """
    above = list(range(count))

    def root(number: int) -> int:
        while above[number] != number:
            above[number] = above[above[number]]
            number = above[number]
        return number

    for mask in sets:
        roots = {root(number) for number in bits(mask)}
        for each in roots:
            above[each] = min(roots)
    parts: dict[int, list[int]] = {}
    for number in range(count):
        parts.setdefault(root(number), []).append(number)
    return list(parts.values())
