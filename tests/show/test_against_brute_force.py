"""Tiny shows against brute force in every tier, and what must hold of any show."""

from __future__ import annotations

import attrs
import pytest

from knobpack import (
    Destination,
    Layout,
    Request,
    Route,
    Setup,
    Surface,
    Voice,
    allocate_request,
)
from knobpack.errors import Fault
from knobpack.show import Show, Song, allocate_show
from knobpack.show.asked import asked_of
from knobpack.show.checked import checked_show
from tests.oracles.differential_shows import a_show, allowed, compared_show, parts
from tests.oracles.shows import best_of_show


def test_every_tier_is_what_brute_force_finds_and_costs_something_in_some_show() -> None:
    dear = set()
    for seed in range(14):
        show = a_show(seed, 2 if seed % 2 else 3)
        found = allocate_show(show)
        assert found.proven
        assert parts(found) == best_of_show(show, allowed(found))
        dear |= {tier.name for tier in found.tiers if tier.value}
    assert dear >= {"relearning", "moves", "sharing", "travels", "layout"}


@pytest.mark.parametrize("seed", range(100, 115))
def test_a_show_of_one_song_is_that_song(seed: int) -> None:
    song = a_show(seed, 1).songs[0]
    assert isinstance(song.played, Request)
    alone = allocate_request(song.played)
    found = allocate_show(Show("One", [song]))
    assert found.songs[0].prices.totals == alone.prices.totals
    assert found.proven
    assert found.tier("relearning").value == found.tier("moves").value == 0


@pytest.mark.parametrize("seed", range(200, 204))
def test_what_is_programmed_is_held_and_what_must_hold_of_any_show_holds(seed: int) -> None:
    assert compared_show(seed).faults == ()


def test_permutations_of_one_layout_are_laid_out_alike() -> None:
    surface = Surface.row(4)
    voices = [
        Voice(name, [Destination("level"), Destination("tone")]) for name in ("Organ", "Bass")
    ]
    routes = [f"{voice}/{each}" for voice in ("Organ", "Bass") for each in ("level", "tone")]
    songs = []
    for at, order in enumerate(([0, 1, 2, 3], [3, 1, 0, 2], [2, 3, 1, 0])):
        driven = [Route(name, f"K{place + 1}") for name, place in zip(routes, order, strict=True)]
        setup = Setup(f"Setup {at}", surface, voices, routes=driven)
        songs.append(Song(f"S{at}", setup, free=True))
    found = allocate_show(Show("Permuted", songs))
    assert found.tier("relearning").value == found.tier("moves").value == 0
    pinned = allocate_show(Show("Pinned", [attrs.evolve(song, free=False) for song in songs]))
    assert pinned.prices.relearning[0] == 2 * (2 + 1 + 2 + 2)  # two points a knob more, each
    assert [song.layout.routes for song in pinned.songs] == [
        allocate_show(Show("One", [attrs.evolve(song, free=False)])).songs[0].layout.routes
        for song in songs
    ]


def test_what_two_setups_have_to_differ_in_is_all_that_it_costs() -> None:
    surface = Surface.row(2)
    organ = Voice("Organ", [Destination("level", priority=1), Destination("drive", priority=1)])
    # By itself each has a knob of its own; beside the bass they are one bundle on one knob.
    alone = Request(surface, [organ])
    together = Voice("Organ", [attrs.evolve(each, source_knob="A") for each in organ.destinations])
    bass = Voice("Bass", [Destination("level", priority=1)])
    beside = Request(surface, [together, bass])
    found = allocate_show(Show("Two", [Song("A", alone), Song("B", beside)]))
    assert found.proven
    assert found.prices.relearning == (8, 0, 0)
    assert found.prices.moves == (1, 8)


def test_an_answer_that_joins_more_or_is_worse_is_refused() -> None:
    organ = Voice("Organ", [Destination("level"), Destination("drive")])
    show = Show("One", [Song("A", Request(Surface.row(2), [organ]))])
    found = allocate_show(show)
    asked, bounds = asked_of(show), [0] * 9
    heaped = Layout.of({"K1": ["Organ/level", "Organ/drive"]})
    with pytest.raises(Fault, match="joins 1 more"):
        checked_show(show, asked, [heaped], found.alone, bounds=bounds, more_joined=0, stopped=None)
    with pytest.raises(Fault, match="worse than it is alone"):
        checked_show(
            show, asked, [Layout()], found.alone, bounds=bounds, more_joined=0, stopped=None
        )
    with pytest.raises(Fault, match="below its bound"):
        checked_show(
            show,
            asked,
            [found.songs[0].layout],
            found.alone,
            bounds=[1, *bounds[1:]],
            more_joined=0,
            stopped=None,
        )
