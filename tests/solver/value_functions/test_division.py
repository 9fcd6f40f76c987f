"""Dividing the knobs: against every way to divide them."""

from __future__ import annotations

import random
from itertools import product

from knobpack.solver.costs import FAR
from knobpack.solver.value_functions.division import divide


def random_costs(draw: random.Random) -> list[list[int]]:
    """Frontiers that may rise as well as fall, with numbers of knobs that are ruled out."""
    families = draw.randint(0, 4)
    return [
        [draw.choice((FAR, *range(6))) for _ in range(draw.randint(1, 5))] for _ in range(families)
    ]


def test_it_is_the_least_of_every_division_and_lists_all_of_these() -> None:
    impossible = several = 0
    for seed in range(400):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        costs, knobs = random_costs(draw), draw.randint(0, 7)
        priced = {
            counts: sum(own[taken] for own, taken in zip(costs, counts, strict=True))
            for counts in product(*(range(len(own)) for own in costs))
            if sum(counts) <= knobs
            and all(own[taken] < FAR for own, taken in zip(costs, counts, strict=True))
        }
        found = divide(costs, knobs)
        assert found.cost == min(priced.values(), default=FAR), seed
        if not priced:
            impossible += 1
            continue
        listed = list(found.all())
        assert len(set(listed)) == len(listed), seed
        assert set(listed) == {c for c, price in priced.items() if price == found.cost}, seed
        several += len(listed) > 1
    assert impossible > 20
    assert several > 50


def test_the_least_of_the_families_still_to_come_never_rises_with_knobs() -> None:
    for seed in range(100):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        found = divide(random_costs(draw), 6)
        for row in found.least:
            assert list(row) == sorted(row, reverse=True)


def test_by_hand() -> None:
    # Two families: 90, 40, 20 on 1, 2, 3 knobs and 50, 10 on 1, 2. Four knobs: 40 + 10.
    found = divide([[FAR, 90, 40, 20], [FAR, 50, 10]], 4)
    assert found.cost == 50
    assert list(found.all()) == [(2, 2)]
    assert divide([[FAR, 90, 40, 20], [FAR, 50, 10]], 1).cost == FAR


def test_no_family_needs_no_knob() -> None:
    assert divide([], 3).cost == 0
    assert list(divide([], 3).all()) == [()]


def test_very_many_families_are_divided_too() -> None:
    found = divide([[5, 0]] * 3000, 20)
    assert found.cost == 5 * 2980
    assert sum(next(found.all())) == 20
    assert found.counts() == [{0, 1}] * 3000
