"""Ties: every way that could matter is among them, and no way that does not come to the values."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import attrs
import pytest

from knobpack.numbered.problem import Before
from knobpack.solver.arrangement.arrange import best_choice
from knobpack.solver.arrangement.cluster import Choice, Places, Variant
from knobpack.solver.evaluate import values_of
from knobpack.solver.families import families
from knobpack.solver.optima import enumeration as ties
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.optima.enumeration import Priced, tied
from tests.oracles.problems import a_problem, every_column, needed_atoms, possible, watch

# Ways to part five things into at most three sets: Stirling's numbers 1 + 15 + 25 (from memory).
FIVE_ON_THREE = 41


def every(choices: Iterable[Choice]) -> list[Variant]:
    """All that can be chosen."""
    return [variant for choice in choices for variant in choice.each()]


def ties_of_five(routes: int = 5, *, needed: bool = True) -> list[Variant]:
    """The ties of five items of which every set differs from every other in where it is drawn."""
    places = tuple((1 << item, 0, 0) for item in range(5))
    problem = a_problem(3, 5, places=places, routes=routes)
    problem = needed_atoms(problem) if needed else problem
    pool = [Priced(column, 0) for column in every_column(problem)]
    left_out = 5 - routes
    return every(tied(problem, [tuple(range(5))], pool, 0, (left_out, 0, 0, 0)))


def test_they_are_as_many_as_the_partitions() -> None:
    found = ties_of_five()
    assert len(found) == FIVE_ON_THREE
    partitions = {frozenset(cluster.items for cluster in way.clusters) for way in found}
    assert len(partitions) == FIVE_ON_THREE
    assert all(sum(parts) == 0b11111 for parts in partitions)


def test_one_left_out_gives_the_partitions_of_the_others() -> None:
    # Any of five is left out, and four parted into at most three sets: 5 * (1 + 7 + 6).
    assert len(ties_of_five(4, needed=False)) == 5 * (1 + 7 + 6)


def test_the_best_of_them_is_the_best_layout() -> None:
    arranged = refused = 0
    for case in possible(range(160)):
        problem, places = case.problem, Places.of(case.problem)
        pool = [Priced(column, 0) for column in every_column(problem)]
        try:
            ways = list(tied(problem, families(problem), pool, 0, case.upper))
        except TooManyVariantsError:
            refused += 1
            continue
        found = best_choice(problem, ways, watch())
        assert found is not None, case.seed
        assert places.values(found.cost) == case.values[4:], case.seed
        placed = found.knobs
        assert values_of(problem, placed) == case.values, case.seed
        arranged += 1
    assert arranged > 90
    assert refused < 20


def test_what_takes_more_than_the_slack_is_not_among_them() -> None:
    problem = needed_atoms(a_problem(2, 2, places=((1, 0), (2, 0))))
    together, apart = every_column(problem)[-1], every_column(problem)[:2]
    pool = [Priced(together, 5), *(Priced(column, 2) for column in apart)]
    for slack, sizes in ((5, [1, 2]), (4, [2]), (3, [])):
        ways = every(tied(problem, [(0, 1)], pool, slack, (0, 0, 0, 0)))
        assert sorted(len(way.clusters) for way in ways) == sizes


def test_too_many_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    # One set has 2 parts, two sets have 4, three have 8; and one for each number of knobs.
    work = 1 * 0 + 15 * 4 + 25 * 8 + 3
    monkeypatch.setattr(ties, "MOST_WORK", work)
    assert len(ties_of_five()) == FIVE_ON_THREE
    monkeypatch.setattr(ties, "MOST_WORK", work - 1)
    with pytest.raises(TooManyVariantsError):
        ties_of_five()


def test_what_may_be_nowhere_counts_as_left_out() -> None:
    problem = a_problem(1, 2, before=(Before(1, 1, 0, None),))
    nowhere = attrs.evolve(problem.atoms[0], knobs=0, omission=8)
    problem = attrs.evolve(problem, atoms=(nowhere, problem.atoms[1]))
    pool = [Priced(column, 0) for column in every_column(problem)]
    assert list(tied(problem, [(1,)], pool, 0, (0, 0, 0, 0))) == []
    (way,) = every(tied(problem, [(1,)], pool, 0, (8, 0, 0, 0)))
    assert way.omission == Places.of(problem).change * (problem.a_route + problem.a_bundle)
    assert [cluster.items for cluster in way.clusters] == [0b10]


def test_families_with_too_many_sums_are_given_up_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each of two families comes to 41 sums: 1,681 of both would be far more than are looked at."""
    sets = [range(5), range(5, 10)]
    pairs = [pair for part in sets for pair in combinations(part, 2)]
    clashes = tuple(sum(1 << other for other in sets[item < 5]) for item in range(10))
    costly = {pair: 1 << at for at, pair in enumerate(pairs)}
    problem = needed_atoms(a_problem(6, 10, pairs=costly, clashes=clashes))
    pool = [Priced(column, 0) for column in every_column(problem)]
    looked_at = 0

    def counted(self: ties.Sum, other: ties.Sum) -> ties.Sum:
        nonlocal looked_at
        looked_at += 1
        return ties.Sum(self.cost + other.cost, self.knobs + other.knobs)

    monkeypatch.setattr(ties.Sum, "__add__", counted)
    most = (0, 0, 0, sum(costly.values()))
    list(tied(problem, families(problem), pool, 0, most))
    every_sum, looked_at = looked_at, 0
    monkeypatch.setattr(ties, "MOST_STEPS", 500)
    with pytest.raises(TooManyVariantsError):
        list(tied(problem, families(problem), pool, 0, most))
    assert 0 < looked_at < every_sum - 1000
