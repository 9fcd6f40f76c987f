"""Cliques: what all differs from each other, so that one constraint says it of all at once."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

from knobpack.numbered.problem import bits


def grown_clique(
    joined: Mapping[int, int] | Sequence[int], among: int, rank: Callable[[int], int] = lambda _: 0
) -> list[int]:
    """Vertices that are all joined to each other, as far as taking one after the other goes.

    Args:
        joined: for each vertex, the mask of those that it is joined to.
        among: the mask of those that may be taken.
        rank: of which the lowest come first; then what is joined to most of those that are left.
    """
    found = []
    while among:
        best = min(bits(among), key=lambda n: (rank(n), -(joined[n] & among).bit_count(), n))
        found.append(best)
        among &= joined[best]
    return found


def largest_clique(joined: Sequence[int], among: int, more_than: int = 0) -> int:
    """The most vertices that are all joined to each other, as a mask; 0: none are more than some.

    Args:
        joined: for each vertex, the mask of those that it is joined to; few of them.
        among: the mask of those that may be taken.
        more_than: how many are not of interest.
    """
    best = 0
    while among.bit_count() > more_than:
        first = among & -among
        inside = among & joined[first.bit_length() - 1]
        found = first | largest_clique(joined, inside, max(0, more_than - 1))
        if found.bit_count() > more_than:
            best, more_than = found, found.bit_count()
        among ^= first
    return best


def clique_cover(joined: Mapping[int, int]) -> Iterator[tuple[int, ...]]:
    """Cliques that hold every edge of a graph between them, the same ones every time.

    Args:
        joined: for each vertex, the mask of those that it is joined to.
    """
    left = dict(joined)  # the edges that no clique holds yet
    for first in sorted(joined):
        for second in bits(joined[first] & -(2 << first)):
            if not left[first] >> second & 1:
                continue
            clique, held = [first, second], 1 << first | 1 << second
            both = joined[first] & joined[second]
            while both:
                best = min(bits(both), key=lambda n: (-(left[n] & held).bit_count(), n))
                clique.append(best)
                held |= 1 << best
                both &= joined[best]
            for number in clique:
                left[number] &= ~held
            yield tuple(clique)
