"""The bound on what is broken: never above brute force, and near a p-median that is known.

The interchange leaves no exchange that helps, and mostly nothing is better at all.
"""

from __future__ import annotations

import random
from itertools import combinations, product

import numpy as np
import pytest

from knobpack.numbered.problem import Problem
from knobpack.solver.bounds import ways
from knobpack.solver.bounds.modes import interchanged, least_broken
from knobpack.solver.costs import Whole
from tests.oracles.problems import a_problem, possible, watch


def test_no_bound_is_above_what_brute_force_finds(monkeypatch: pytest.MonkeyPatch) -> None:
    for most in (ways.MOST_ENTRIES, 0):
        monkeypatch.setattr(ways, "MOST_ENTRIES", most)
        positive = 0
        for case in possible(range(400)):
            *held, broken = case.values[:3]
            bound, _ = least_broken(case.problem, held, broken, watch())
            assert bound <= broken, (case.seed, most)
            positive += bound > 0
        assert positive > 5


def drawn(seed: int) -> Problem:
    draw = random.Random(seed)  # noqa: S311 (no secret)
    snapshots = tuple((draw.getrandbits(14), draw.randint(1, 3)) for _ in range(4))
    return a_problem(3, 14, breakable=snapshots)


def median(problem: Problem) -> int:
    """What the best three of all ways to follow come to, by trying them all."""
    rows = [[moved >> item & 1 for moved, _ in problem.breakable] for item in range(14)]
    weights = [weight for _, weight in problem.breakable]
    ways = [
        [sum(w for w, a, b in zip(weights, row, way, strict=True) if a != b) for row in rows]
        for way in product((0, 1), repeat=4)
    ]
    return min(
        sum(min(each) for each in zip(*three, strict=True)) for three in combinations(ways, 3)
    )


def test_it_is_near_the_median_and_its_sets_come_near_it_too() -> None:
    bounds = medians = 0
    for seed in range(30):
        problem = drawn(seed)
        best = median(problem)
        bound, sets = least_broken(problem, (0, 0), best, watch())
        assert bound <= best
        assert sum(sets) == (1 << 14) - 1
        assert len(sets) <= 3
        bounds += bound
        medians += best
    assert bounds >= 0.9 * medians


def test_half_of_what_the_wanted_ways_give_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ways, "MOST_ENTRIES", 0)
    for seed in range(30):
        best = median(drawn(seed))
        bound, _ = least_broken(drawn(seed), (0, 0), best, watch())
        assert best / 3 <= bound <= best


def test_what_breaks_nothing_has_no_bound() -> None:
    assert least_broken(a_problem(2, 4), (0, 0), 0, watch()) == (0, [])


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
