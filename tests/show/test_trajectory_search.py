"""The choices of families that are worth most together, beside all ways to choose."""

from __future__ import annotations

import random
from itertools import product

import numpy as np
import pytest

from knobpack.show import trajectory_search
from knobpack.show.trajectory_families import THEIRS
from knobpack.show.trajectory_search import Choices, ChoiceSearch
from knobpack.solver.watch import Watch

Choice = tuple[tuple[int, ...], frozenset[int], int]
"""What one is worth in each song, the songs that have to be its, and what it counts."""


def drawn(chance: random.Random) -> list[list[Choice]]:
    songs = chance.randint(1, 6)

    def choice() -> Choice:
        theirs = frozenset(song for song in range(songs) if chance.random() < 0.1)
        values = tuple(chance.choice((0, chance.randint(1, 50))) for _ in range(songs))
        return values, theirs, chance.randint(0, 80)

    return [[choice() for _ in range(chance.randint(1, 8))] for _ in range(chance.randint(1, 5))]


def most(families: list[list[Choice]]) -> int:
    """What choices are worth most together, by going through all of them."""
    best = 0
    for chosen in product(*([None, *each] for each in families)):
        some = [each for each in chosen if each is not None]
        worth = -sum(cost for _, _, cost in some)
        for song in range(len(families[0][0][0])):
            owners = [values[song] for values, theirs, _ in some if song in theirs]
            if len(owners) > 1:
                break
            worth += owners[0] if owners else max((each[0][song] for each in some), default=0)
        else:
            best = max(best, worth)
    return best


def choices(families: list[list[Choice]]) -> Choices:
    every = [(number, *each) for number, own in enumerate(families) for each in own]
    values = [
        [value + THEIRS * (song in theirs) for song, value in enumerate(own)]
        for _, own, theirs, _ in every
    ]
    return Choices(
        np.arange(len(every)),
        np.array([number for number, *_ in every]),
        np.array(values),
        np.array([cost + THEIRS * len(theirs) for *_, theirs, cost in every]),
    )


@pytest.mark.parametrize("first", range(0, 400, 50))
def test_the_best_is_found_and_no_more_is_said_than_it_may_be(first: int) -> None:
    beyond = dropped = 0
    for seed in range(first, first + 50):
        families = drawn(random.Random(seed))  # noqa: S311 - no secret
        best = most(families)
        search = ChoiceSearch(choices(families), Watch(10.0))
        assert search.run() == best, seed
        assert max((worth for worth, _ in search.found), default=0) == best, seed
        for enough in (0, 1, best / 2, best):
            soon = ChoiceSearch(choices(families), Watch(10.0))
            found = soon.run(enough)
            assert found >= best, seed
            assert best == soon.best or soon.best >= enough, seed
            beyond += found > best
        every, own = choices(families), choices(families).undominated()
        assert best == (ChoiceSearch(own, Watch(10.0)).run() if len(own.costs) else 0), seed
        dropped += sum(every.gains(slice(None), 0 * every.values[0]) > 0) > len(own.costs)
    assert beyond
    assert dropped


def test_what_is_found_is_worth_what_it_is_said_to_be() -> None:
    for seed in range(100):
        families = drawn(random.Random(seed))  # noqa: S311 - no secret
        every = [each for own in families for each in own]
        search = ChoiceSearch(choices(families), Watch(10.0))
        search.run()
        for worth, chosen in search.found:
            assert most([[every[each]] for each in chosen]) >= worth, seed


def test_a_search_that_is_stopped_looks_at_less_and_says_no_less_than_the_most(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(trajectory_search, "SIDE", 1)
    monkeypatch.setattr(trajectory_search, "EFFORT_PER_PAIR", 1.0)
    whole = looked_at = beyond = 0.0
    for seed in range(100):
        families = drawn(random.Random(seed))  # noqa: S311 - no secret
        best = most(families)
        through, stopped = Watch(1e9), Watch(1.0)
        assert ChoiceSearch(choices(families), through).run() == best, seed
        bound = ChoiceSearch(choices(families), stopped).run()
        assert bound >= best, seed
        beyond += bound > best
        # What is spent is a unit for each pair, and what little it takes to see if it is one.
        whole += 1e9 - through.effort
        looked_at += 1.0 - stopped.effort
    assert beyond > 5
    assert 0 < looked_at < whole / 2
