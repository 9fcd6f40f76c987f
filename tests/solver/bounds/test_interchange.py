"""Interchange: no exchange is left that helps, and mostly nothing is better at all."""

from __future__ import annotations

from itertools import combinations

import numpy as np

from knobpack.solver.bounds.modes import interchanged
from knobpack.solver.costs import Whole


def paid(costs: Whole, centres: tuple[int, ...]) -> int:
    return sum(min(row[at] for at in centres) for row in costs.tolist())


def test_no_exchange_helps_and_most_are_the_best_of_all() -> None:
    best = tried = 0
    for seed in range(120):
        draw = np.random.default_rng(seed)
        costs = draw.integers(0, 60, size=(9, 7), dtype=np.int64)
        count = 1 + seed % 4
        found = tuple(interchanged(costs, range(count)))
        assert len(set(found)) == len(found) == count
        value = paid(costs, found)
        for place in range(count):
            for number in range(7):
                other = (*found[:place], number, *found[place + 1 :])
                assert value <= paid(costs, other), seed
        best += value == min(paid(costs, each) for each in combinations(range(7), count))
        tried += 1
    assert best > 0.7 * tried
