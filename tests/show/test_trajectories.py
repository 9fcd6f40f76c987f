"""Bounds by trajectories: never above what brute force finds, and exact where that is known."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations, permutations

import numpy as np
import pytest

from knobpack import Destination, Request, Surface, Voice, allocate_request
from knobpack.show import Show, Song, allocate_show
from knobpack.show.asked import asked_of
from knobpack.show.numbered import numbered_songs
from knobpack.show.search import ShowSearch
from knobpack.show.to_carry import Carrying, carrying
from knobpack.show.trajectories import least_points
from knobpack.show.trajectory_families import QUANTUM, CarriedAtom
from knobpack.show.trajectory_pricing import TrajectoryPrices, TrajectoryPricing
from knobpack.solver.watch import Watch
from tests.show.carried import fewest, small
from tests.show.evening import SHOW as EVENING


def points(carried: Carrying, value: int, watch: Watch) -> int:
    bound = least_points(carried, value, watch)
    assert bound is not None
    return bound.points


@pytest.mark.parametrize("first", range(0, 300, 30))
def test_no_bound_is_above_the_least_there_is_and_few_are_below_it(first: int) -> None:
    costly = near = 0
    for seed in range(first, first + 30):
        carried = small(random.Random(seed))  # noqa: S311 - no secret
        least = fewest(carried)
        if least is None:
            continue
        bound = least_points(carried, least, Watch(100.0))
        assert bound is not None
        assert 0 <= bound.points <= least, seed
        costly += least > 0
        near += 0 < least == bound.points
    assert costly
    assert near >= 0.7 * costly


@pytest.mark.parametrize("seed", range(80))
def test_nothing_is_worth_more_than_pricing_says(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - no secret
    carried = small(chance)
    prices = [chance.randint(-QUANTUM, 3 * QUANTUM) for _ in carried.atoms]
    use = [chance.randint(0, QUANTUM) for _ in carried.used]
    may = carried.classes[0][1]
    whole = [chance.choice((0, chance.randint(0, each * QUANTUM))) for each in carried.weights]
    songs_of = Counter(each for atom in carried.atoms for each in atom.destinations)
    pricing = TrajectoryPricing(carried.weights, carried.atoms, len(carried.used))
    told = TrajectoryPrices(np.array(prices), np.array(use), np.array(whole))
    found = pricing.priced(told, may, Watch(100.0))

    def worth(atoms: tuple[int, ...]) -> int:
        met = Counter(each for atom in atoms for each in carried.atoms[atom].destinations)
        songs = {carried.atoms[atom].song for atom in atoms}
        cost = QUANTUM * sum(carried.weights[each] for each in met)
        cost -= sum(whole[each] * (1 + (songs_of[each] == there)) for each, there in met.items())
        return sum(prices[atom] for atom in atoms) + sum(use[song] for song in songs) - cost

    most = 0
    for size in range(1, len(carried.atoms) + 1):
        for atoms in combinations(range(len(carried.atoms)), size):
            apart = any(carried.atoms[a].apart >> b & 1 for a, b in combinations(atoms, 2))
            if not apart and all(may[atom] for atom in atoms):
                most = max(most, worth(atoms))
    assert found.most == most
    assert max((worth(each) for each in found.trajectories), default=0) == most


def test_an_odd_circle_of_songs_has_one_thing_to_relearn() -> None:
    # Each two of three voices meet in a song, on two knobs: one of them has to give way, and the
    # one that counts least does.
    voices = [
        Voice(name, [Destination("level", priority=p)])
        for name, p in (("Organ", 1), ("Bass", 2), ("Pad", 3))
    ]
    songs = [
        Song(f"Song {at}", Request(Surface.row(2), pair))
        for at, pair in enumerate(combinations(voices, 2))
    ]
    asked = asked_of(Show("Circle", songs))
    made = numbered_songs(asked, [allocate_request(each.request) for each in asked], 0)
    search = ShowSearch(made, (), {}, Watch(10.0))
    carried = carrying(made, {}, search.weights)
    assert points(carried, 4, Watch(10.0)) == 2
    assert points(carried, 4, Watch(0.0)) == 0


def test_songs_that_stay_as_they_are_tell_knobs_apart() -> None:
    # The bass is on K1 in one programmed song and on K2 in the other.
    found = allocate_show(EVENING)
    assert found.tier("relearning").proven
    asked = asked_of(EVENING)
    made = numbered_songs(asked, found.alone, 0)
    pinned = {at: made[at].placed(each.layout) for at, each in enumerate(asked) if each.layout}
    search = ShowSearch(made, (), pinned, Watch(10.0))
    carried = carrying(made, pinned, search.weights)
    value = found.prices.relearning[0]
    assert value > 0
    assert points(carried, value, Watch(10.0)) == value


def test_too_much_that_may_share_is_not_looked_at() -> None:
    atoms = tuple(CarriedAtom(0, (each,), 0) for each in range(14))
    carried = Carrying((1,) * 14, atoms, (((0, 1), (True,) * 14),), (2,))
    assert least_points(carried, 5, Watch(10.0)) is None


def test_the_order_of_knobs_says_nothing() -> None:
    for seed in range(20):
        carried = small(random.Random(seed))  # noqa: S311 - no secret
        found = {
            points(
                Carrying(carried.weights, carried.atoms, classes, carried.used), 99, Watch(100.0)
            )
            for classes in permutations(carried.classes)
        }
        if fewest(carried) is not None:
            assert len(found) == 1
