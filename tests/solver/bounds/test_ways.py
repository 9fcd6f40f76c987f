"""The bound from the nearest: never above brute force, and what a player would reckon."""

from __future__ import annotations

import random

from knobpack.solver.bounds.modes import least_broken
from knobpack.solver.bounds.ways import nearest_bound, sides
from tests.oracles.problems import a_problem, possible, watch


def test_no_bound_is_above_what_brute_force_finds() -> None:
    positive = tried = 0
    for case in possible(range(900)):
        problem = case.problem
        if not problem.breakable:
            continue
        unplaced, _, broken, *_ = case.values
        firm = [atom.needed or atom.omission > unplaced for atom in problem.atoms]
        bound = nearest_bound(problem, firm, sides(problem), problem.knobs)
        assert bound <= broken, case.seed
        positive += bound > 0
        tried += 1
    assert tried > 200
    assert positive > 8


def test_where_all_differ_alike_it_is_exact() -> None:
    # Each snapshot moves one of all, so each of those that share breaks one, and the rest nothing.
    alone = tuple((1 << item, 1) for item in range(6))
    for knobs, broken in ((3, 4), (2, 5), (1, 6)):
        problem = a_problem(knobs, 6, breakable=alone)
        assert nearest_bound(problem, [True] * 6, sides(problem), knobs) == broken
    assert nearest_bound(a_problem(6, 6), [True] * 6, [], 6) == 0


def test_where_snapshots_are_many_it_is_better_than_half_of_what_wanted_ways_give() -> None:
    better = 0
    for seed in range(8):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        snapshots = tuple((draw.getrandbits(24), draw.randint(1, 3)) for _ in range(60))
        problem = a_problem(5, 24, breakable=snapshots)
        nearest = nearest_bound(problem, [True] * 24, sides(problem), 5)
        whole, _ = least_broken(problem, (0, 0), 1 << 40, watch())
        assert nearest <= whole
        better += nearest == whole
    assert better > 4
