"""A show changed beside songs that stay: each way costs what brute force finds."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import (
    Layout,
    Request,
    allocate_request,
)
from knobpack.checker import check
from knobpack.show import (
    Show,
    ShowAllocation,
    Song,
    allocate_show,
    with_song,
    worth_freeing,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.differential_shows import a_show, a_song, allowed
from tests.oracles.shows import joins_no_more, layouts_of, moves, relearning, travels


def best_beside(
    show: Show, layouts: list[Layout], at: int, most: tuple[int, int]
) -> tuple[object, ...]:
    """The least of what is between songs and of sharing, one song laid out anew, all else as it is.

    Args:
        show: songs that are requests.
        layouts: how each is laid out; that of the song does not matter.
        at: the position of the song.
        most: how many loads may be joined in it, and how many beside what is essential.
    """
    request = show.songs[at].played
    assert isinstance(request, Request)
    valid = []
    for layout in layouts_of(request):
        found = check(request, layout)
        if found.valid and joins_no_more(request, layout, most):
            valid.append((found.prices.totals[:3], found.prices.total("sharing"), layout))
    first = min(own for own, _, _ in valid)
    values = []
    for own, sharing, layout in valid:
        if own == first:
            every = [*layouts[:at], layout, *layouts[at + 1 :]]
            between = *relearning(show, every), *moves(show, every)
            values.append((*between, sharing, travels(show, every)))
    return min(values)


def between(found: ShowAllocation, at: int) -> tuple[object, ...]:
    sharing = found.songs[at].prices.total("sharing")
    return (
        *found.prices.relearning,
        *found.prices.moves,
        sharing,
        found.tier("travels").value,
    )


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 75)))
def test_a_song_put_in_costs_what_brute_force_finds_beside_songs_that_stay(seed: int) -> None:
    found = allocate_show(a_show(seed, 2))
    chance = random.Random(seed + 500)  # noqa: S311 - not for secrets
    new = a_song(chance, "New", found.show.surface)
    first = with_song(found, new, after="S0").ways[0]
    assert first.allocation is not None
    assert first.moved == ()
    others = [laid.layout for laid in found.songs]
    show = attrs.evolve(found.show, songs=(found.show.songs[0], new, found.show.songs[1]))
    show = attrs.evolve(show, breaks=first.allocation.show.breaks)
    most = allowed(first.allocation)[1]
    least = best_beside(show, [others[0], Layout(), others[1]], 1, most)
    assert between(first.allocation, 1) == least


@pytest.mark.parametrize("seed", range(3))
def test_freeing_one_song_saves_what_brute_force_finds(seed: int) -> None:
    show = a_show(seed, 3)
    alone = [
        allocate_request(song.played) for song in show.songs if isinstance(song.played, Request)
    ]
    songs = [Song(song.name, laid) for song, laid in zip(show.songs, alone, strict=True)]
    pinned = allocate_show(attrs.evolve(show, songs=tuple(songs)))
    told = worth_freeing(pinned)
    assert {each.freed for each in told.songs} == {("S0",), ("S1",), ("S2",)}
    gains = [each.gain for each in told.songs]
    assert gains == sorted(gains, reverse=True)
    for each in told.songs:
        at = [song.name for song in pinned.show.songs].index(each.freed[0])
        freed = each.allocation
        assert freed is not None
        layouts = [laid.layout for laid in pinned.songs]
        assert between(freed, at) == best_beside(show, layouts, at, allowed(freed)[at])
