"""Interchange: centres that are near to many points, one exchanged for another while that helps.

The p-median problem's vertex substitution (Teitz and Bart 1968, "Heuristic methods for estimating
the generalized vertex median of a weighted graph"; each exchange priced from the nearest and second
nearest centre as by Whitaker 1983, both from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from knobpack.solver.costs import Whole


def interchanged(costs: Whole, chosen: Sequence[int]) -> list[int]:
    """Exchange centres until no exchange of one for another makes it cheaper.

    Args:
        costs: (points, centres) what each point pays at each centre; each pays at the nearest.
        chosen: the numbers of the centres to begin with, one or more.

    Returns:
        As many numbers.
    """
    found = list(chosen)
    while True:
        order = np.argsort(costs[:, found], axis=1, kind="stable")
        own = np.take_along_axis(costs[:, found], order, axis=1)
        nearest, first, second = order[:, 0], own[:, 0], own[:, min(1, len(found) - 1)]
        best, exchange = int(first.sum()), None
        for place in range(len(found)):
            # A centre alone has no second: whatever comes instead is paid for in full.
            without = np.where(nearest == place, second, first)
            if len(found) == 1:
                with_each = costs.sum(axis=0)
            else:
                with_each = np.minimum(without[:, None], costs).sum(axis=0)
            number = int(with_each.argmin())
            if with_each[number] < best:
                best, exchange = int(with_each[number]), (place, number)
        if exchange is None:
            return found
        found[exchange[0]] = exchange[1]
