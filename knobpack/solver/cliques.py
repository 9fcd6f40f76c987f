"""Cliques: what all differs from each other, so that one constraint says it of all at once."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from knobpack.numbered.problem import bits


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
