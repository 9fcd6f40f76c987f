"""Placing: the cheapest places, each set for itself, over every way to put them on knobs."""

from __future__ import annotations

import random
from itertools import permutations

from knobpack.problem import Problem, bits
from knobpack.solver.cluster import Places
from knobpack.solver.placing import placed
from tests.oracles.problems import a_problem


def price(problem: Problem, on: dict[int, int]) -> int:
    """What the items cost on their knobs, runs aside."""
    return sum(
        problem.places[item][knob] + problem.pulls[item] * problem.steps[knob]
        for item, knob in on.items()
    )


def test_it_is_the_cheapest_of_all_assignments() -> None:
    draw = random.Random(7)  # noqa: S311 (no secret)
    none = some = 0
    for _ in range(60):
        knobs, items = draw.randint(1, 5), draw.randint(1, 5)
        places = tuple(tuple(draw.randint(0, 9) for _ in range(knobs)) for _ in range(items))
        pulls = tuple(draw.randint(0, 4) for _ in range(items))
        problem = a_problem(knobs, items, places=places, pulls=pulls)
        sets = [1 << item for item in range(items)]
        found = placed(problem, sets)
        if items > knobs:
            assert found is None
            none += 1
            continue
        assert found is not None

        every = (dict(enumerate(each)) for each in permutations(range(knobs), items))
        assert price(problem, found) == min(price(problem, on) for on in every)
        some += 1
    assert min(none, some) > 5


def test_sets_stay_together_and_go_where_they_may() -> None:
    problem = a_problem(3, 4)
    found = placed(problem, [0b0011, 0b1100])
    assert found is not None
    assert found[0] == found[1] != found[2] == found[3]
    assert Places.of(problem).cluster(0b0011).likeness.knobs == 0b111
    assert list(bits(0b0011)) == [0, 1]
