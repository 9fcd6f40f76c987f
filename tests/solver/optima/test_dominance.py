"""Variants: the best of those that are kept is the best of all."""

from __future__ import annotations

import random
from itertools import permutations

import attrs
import pytest

from knobpack.numbered.problem import Before, Mix, Problem
from knobpack.solver.arrangement.arrange import arrange
from knobpack.solver.arrangement.cluster import Cluster, Places, Signature, Variant
from knobpack.solver.optima import dominance as going_through
from knobpack.solver.optima.dominance import TooManyVariantsError, Variants, undominated
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import subset_table_of, table_of
from tests.oracles.problems import a_problem, needed_atoms, partitions


def least(problem: Problem, variants: list[Variant]) -> int | None:
    """The least that any of the variants can be arranged for."""
    costs = []
    for variant in variants:
        found = arrange(problem, variant.clusters)
        costs += [] if found is None else [found.cost + variant.omission]
    return min(costs, default=None)


def random_problem(draw: random.Random, items: int = 6) -> Problem:
    """Items of few sorts, so that many clusters are alike; knobs in any order of reach."""
    knobs = draw.randint(2, 5)
    steps = list(range(knobs))
    if draw.random() < 0.5:
        draw.shuffle(steps)
    sorts = [tuple(draw.choice((0, 0, 5)) for _ in range(knobs)) for _ in range(2)]
    return a_problem(
        knobs,
        items,
        pulls=tuple(draw.randint(0, 4) for _ in range(items)),
        places=tuple(draw.choice(sorts) for _ in range(items)),
        runs=((draw.randint(1, (1 << items) - 1), 10),) if draw.random() < 0.5 else (),
        steps=tuple(steps),
        before=(Before(0b11, 0b11, 0, None),) if draw.random() < 0.3 else (),
    )


def test_the_best_of_those_kept_is_the_best_of_all() -> None:
    dropped = 0
    for seed in range(80):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        problem = random_problem(draw)
        places = Places.of(problem)
        every = []
        for parts in partitions(tuple(range(draw.randint(2, 5)))):
            if len(parts) <= problem.knobs:
                clusters = tuple(places.cluster(part) for part in parts)
                every.append(Variant(clusters, draw.choice((0, 0, 3))))
        some = draw.sample(every, min(len(every), 14))
        kept = undominated(some)
        assert {id(variant) for variant in kept} <= {id(variant) for variant in some}
        assert least(problem, kept) == least(problem, some), seed
        dropped += len(some) - len(kept)
    assert dropped > 100


def test_no_kept_one_is_worse_than_another_whatever_the_other_clusters() -> None:
    """Beside clusters of other families too: the exchange argument is not about one family."""
    for seed in range(30):
        draw = random.Random(1000 + seed)  # noqa: S311 (no secret)
        problem = random_problem(draw)
        places = Places.of(problem)
        other = places.cluster(1 << 5)
        some = [
            Variant(tuple(places.cluster(part) for part in parts), 0)
            for parts in partitions((0, 1, 2, 3))
            if len(parts) < problem.knobs
        ]

        def beside(variants: list[Variant], extra: Cluster = other) -> list[Variant]:
            return [attrs.evolve(each, clusters=(*each.clusters, extra)) for each in variants]

        assert least(problem, beside(undominated(some))) == least(problem, beside(some)), seed


def test_by_hand() -> None:
    problem = a_problem(3, 6, pulls=(1, 1, 4, 2, 3, 3))
    places = Places.of(problem)

    def variant(*pulls: int) -> Variant:
        """Clusters with these pulls, all alike."""
        one = places.cluster(1)
        return Variant(tuple(attrs.evolve(one, pull=pull) for pull in pulls), 0)

    # 1 + 4: weakest 1, both 5. 2 + 3: weakest 2, both 5. So the first is never worse.
    uneven, even = variant(1, 4), variant(3, 2)
    assert undominated([even, uneven]) == [uneven]
    assert undominated([uneven, even]) == [uneven]
    # 1 + 5 and 2 + 3 differ both ways, and another number of clusters cannot be compared.
    assert len(undominated([variant(1, 5), variant(2, 3), variant(9)])) == 3
    # The same twice is kept once.
    assert len(undominated([variant(1, 4), variant(4, 1)])) == 1


def test_on_so_many_knobs_there_are_stirlings_numbers_of_ways() -> None:
    # S(5, 1 to 5) is 1, 15, 25, 10, 1 (from memory); sets differ in where they are drawn.
    problem = needed_atoms(a_problem(5, 5, places=tuple((1 << i, 0, 0, 0, 0) for i in range(5))))
    value_function = subset_table_of(table_of(problem, scale_of(problem), tuple(range(5))), 5)
    ways = Variants(value_function, Places.of(problem))
    assert [len(ways.on(knobs)) for knobs in range(1, 6)] == [1, 15, 25, 10, 1]


def test_those_of_a_family_hold_the_best_of_every_permutation() -> None:
    for seed in range(15):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        problem = attrs.evolve(random_problem(draw, 5), mixes=(Mix(draw.choice((0, 1))),))
        problem = needed_atoms(problem)
        places = Places.of(problem)
        value_function = subset_table_of(
            table_of(problem, scale_of(problem), tuple(range(5))), problem.knobs
        )
        for knobs in range(1, problem.knobs + 1):
            target = value_function.costs[knobs]
            best = None
            for parts in partitions(tuple(range(5))):
                if len(parts) != knobs or problem.first * (5 - knobs) != target:
                    continue
                found = arrange(problem, [places.cluster(part) for part in parts])
                assert found is not None
                best = found.cost if best is None else min(best, found.cost)
            assert least(problem, Variants(value_function, places).on(knobs)) == best, (seed, knobs)


def test_too_many_steps_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = needed_atoms(a_problem(4, 5))
    value_function = subset_table_of(table_of(problem, scale_of(problem), tuple(range(5))), 4)
    assert len(Variants(value_function, Places.of(problem)).on(3)) == 1
    monkeypatch.setattr(going_through, "MOST_STEPS", 3)
    with pytest.raises(TooManyVariantsError):
        Variants(value_function, Places.of(problem)).on(3)


def test_permuting_what_is_compared_changes_nothing_but_the_order() -> None:
    problem = a_problem(3, 4, pulls=(1, 2, 3, 4))
    places = Places.of(problem)
    some = [
        Variant(tuple(places.cluster(part) for part in parts), 0)
        for parts in partitions((0, 1, 2, 3))
    ][:5]
    costs = {least(problem, undominated(list(order))) for order in permutations(some)}
    assert len(costs) == 1


def test_clusters_that_differ_by_what_follows_them_are_told_apart() -> None:
    """The one drawn less strongly has the first of a pair here, and the other there."""
    plain, leading = Signature(3, 0, (0, 0)), Signature(3, 0, (0, 0), leads=1)
    one = Variant((Cluster(1, leading, 5), Cluster(2, plain, 4)), 0)
    other = Variant((Cluster(1, plain, 5), Cluster(2, leading, 4)), 0)
    assert undominated([one, other]) == [one, other]
    assert undominated([other, one]) == [other, one]
