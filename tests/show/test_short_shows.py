"""Closing: no trajectory of a best show is left out, and every tier is what brute force finds."""

from __future__ import annotations

import random
from collections import Counter
from itertools import combinations

import numpy as np
import pytest

from knobpack import Destination, Request, Surface, Voice, allocate_request
from knobpack.show import Show, Song
from knobpack.show.asked import asked_of
from knobpack.show.near_trajectories import Near, NearTrajectories, TooManyError
from knobpack.show.numbered import numbered_songs
from knobpack.show.search import ShowSearch
from knobpack.show.to_carry import Carrying
from knobpack.show.trajectories import least_points
from knobpack.show.trajectory_cuts import Narrowing
from knobpack.show.trajectory_families import QUANTUM
from knobpack.show.trajectory_pricing import TrajectoryPrices, TrajectoryPricing
from knobpack.solver.watch import Watch
from tests.oracles.differential_shows import a_show
from tests.oracles.shows import best_of_show
from tests.show.carried import every_way, small


def pricing_of(carried: Carrying) -> TrajectoryPricing:
    return TrajectoryPricing(carried.weights, carried.atoms, len(carried.used))


@pytest.mark.parametrize("seed", range(60))
def test_all_that_is_worth_enough_is_listed_and_each_once(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - no secret
    carried = small(chance)
    prices = [chance.randint(-QUANTUM, 3 * QUANTUM) for _ in carried.atoms]
    use = [chance.randint(0, QUANTUM) for _ in carried.used]
    whole = [chance.choice((0, chance.randint(0, each * QUANTUM))) for each in carried.weights]
    songs_of = Counter(each for atom in carried.atoms for each in atom.destinations)
    may, floor = carried.classes[0][1], chance.randint(-2 * QUANTUM, QUANTUM)

    def worth(atoms: tuple[int, ...]) -> int:
        met = Counter(each for atom in atoms for each in carried.atoms[atom].destinations)
        songs = {carried.atoms[atom].song for atom in atoms}
        cost = QUANTUM * sum(carried.weights[each] for each in met)
        cost -= sum(whole[each] * (1 + (songs_of[each] == there)) for each, there in met.items())
        return sum(prices[atom] for atom in atoms) + sum(use[song] for song in songs) - cost

    every = [
        atoms
        for size in range(1, len(carried.atoms) + 1)
        for atoms in combinations(range(len(carried.atoms)), size)
        if all(may[atom] for atom in atoms)
        and not any(carried.atoms[a].apart >> b & 1 for a, b in combinations(atoms, 2))
        and worth(atoms) >= floor
    ]
    told = TrajectoryPrices(np.array(prices), np.array(use), np.array(whole))
    found = NearTrajectories(pricing_of(carried), told, may, len(every), Watch(100.0))
    assert sorted(found.listed(floor)) == sorted(every)
    if every:
        found = NearTrajectories(pricing_of(carried), told, may, len(every) - 1, Watch(100.0))
        with pytest.raises(TooManyError):
            found.listed(floor)


@pytest.mark.parametrize("first", range(0, 120, 30))
def test_no_trajectory_of_a_good_way_is_left_out_and_others_are(first: int) -> None:
    left = listed = 0
    for seed in range(first, first + 30):
        chance = random.Random(seed)  # noqa: S311 - no secret
        carried = small(chance)
        ways = list(every_way(carried))
        if not ways:
            continue
        least = min(cost for cost, _ in ways)
        value = least + chance.choice((0, 0, 1, 2))
        bound = least_points(carried, value + 1, Watch(100.0))
        assert bound is not None
        gap, pairs = QUANTUM * (value + carried.value) - bound.worth, []
        for number, (_, may) in enumerate(carried.classes):
            search = NearTrajectories(bound.pricing, bound.prices, may, 10**6, Watch(100.0))
            pairs += [(number, each) for each in search.listed(bound.most[number] - gap)]
        narrowing = Narrowing(carried, Near.of(carried, pairs), Watch(100.0))
        narrowing.narrow(value)
        assert narrowing.bound <= least
        near = narrowing.near.only(narrowing.alive)
        kept = set(zip(near.class_of.tolist(), near.trajectories, strict=True))
        class_of = [number for number, (own, _) in enumerate(carried.classes) for _ in own]
        for cost, way in ways:
            if cost <= value:
                assert kept >= {pair for pair in zip(class_of, way, strict=True) if pair[1]}
        left, listed = left + len(kept), listed + len(pairs)
    assert 0 < left < listed


def search_of(show: Show) -> ShowSearch:
    asked = asked_of(show)
    songs = numbered_songs(asked, [allocate_request(each.request) for each in asked], 0)
    pinned = {at: songs[at].placed(each.layout) for at, each in enumerate(asked) if each.layout}
    return ShowSearch(songs, show.neighbours, pinned, Watch(100.0))


def closed(search: ShowSearch) -> tuple[tuple[int, ...], list[int]]:
    """The values of the best show that closing finds, and its bounds."""
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(search.songs)}
    bound = search.bounded(alone, 0.5, beyond=True)
    assert bound is not None
    best, bounds = search.closed(alone, bound, 0.5)
    return search.values(best), bounds


def test_every_step_is_what_brute_force_finds() -> None:
    proven, dear = 0, [0] * 9
    for seed in (*range(30), 106, 266, 504):
        show = a_show(seed, 2 if seed % 2 else 3)
        values, bounds = closed(search := search_of(show))
        allowed = [song.most_joined for song in search.songs]
        best = best_of_show(show, allowed)[3:]
        assert bounds[0] <= best[0]
        if len(bounds) == len(best):
            proven += 1
            assert (tuple(bounds), values) == (best, best), seed
            dear = [was + value for was, value in zip(dear, best, strict=True)]
    assert proven > 5
    assert [not each for each in dear] == [False] * 7 + [True, False]  # none is to change


def test_what_is_programmed_stays_and_the_rest_is_proven_beside_it() -> None:
    organ = Voice("Organ", [Destination("level", priority=2), Destination("drive", priority=3)])
    bass = Voice("Bass", [Destination("level", priority=2), Destination("tone")])
    pad = Voice("Pad", [Destination("level"), Destination("drive", priority=2)])
    requests = [
        Request(Surface.row(3), pair) for pair in ([organ, bass], [bass, pad], [organ, pad])
    ]
    songs = [Song(f"Song {at}", each) for at, each in enumerate(requests)]
    songs[1] = Song("Song 1", allocate_request(requests[1]))
    show = Show("Partly", songs)
    values, bounds = closed(search := search_of(show))
    best = best_of_show(show, [song.most_joined for song in search.songs])[3:10]
    assert tuple(bounds) == values[:7] == best
