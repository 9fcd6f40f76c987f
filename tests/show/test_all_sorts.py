"""Songs of all sorts in one show: asked for, programmed, free again; travels on either."""

from __future__ import annotations

import random

import pytest

from knobpack import (
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    allocate_request,
)
from knobpack.show import Show, Song, allocate_show

TRAVELS = (None, Travel(127, 0), Travel(3, 80))


def a_request(chance: random.Random, surface: Surface) -> Request:
    """Two voices, with now and then a snapshot that may be broken, and a rule."""
    voices = [
        Voice(
            name,
            [
                Destination(
                    kind,
                    priority=chance.randint(1, 5),
                    travel=chance.choice(TRAVELS),
                    source_knob=chance.choice((None, "A", "B")),
                )
                for kind in chance.sample(("level", "tone", "drive", "rate"), chance.randint(1, 3))
            ],
        )
        for name in chance.sample(("Organ", "Bass", "Strings"), 2)
    ]
    first, second = (voice.name for voice in voices)
    one = voices[0].full_name(voices[0].destinations[0])
    snapshots = (Snapshot("all", (first, second)), Snapshot("one", (first,), 20))
    rules = ((), (Fixed(one, "K2"),), (Barred(one, ("K1",), 40),), (Together((first, second), 50),))
    return Request(
        surface, voices, snapshots=chance.choice((None, snapshots)), rules=chance.choice(rules)
    )


def a_show(seed: int) -> Show:
    """Three songs, each asked for, laid out or a setup, and some of the latter two free."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    reserved = chance.choice(((), ("K4",)))
    surface = Surface.row(4, travel_on=chance.choice(("knob", "route")), reserved=reserved)
    songs = []
    for at in range(3):
        request = a_request(chance, surface)
        laid = allocate_request(request)
        played = chance.choice((request, laid, laid.setup(f"Setup {at}")))
        free = not isinstance(played, Request) and chance.random() < 0.6
        songs.append(Song(f"S{at}", played, free=free))
    return Show("All sorts", songs)


@pytest.mark.parametrize("seed", range(4))
def test_the_checker_passes_it_and_what_is_programmed_stays(seed: int) -> None:
    found = allocate_show(a_show(seed), effort=2)
    assert found.proven
    for song, laid in zip(found.show.songs, found.songs, strict=True):
        if isinstance(song.played, Setup):
            was = {route.destination: route.knob for route in song.played.routes}
            if song.pinned:
                assert {route.destination: route.knob for route in laid.routes} == was
            # What one knob drove is on one knob, and joined to nothing else.
            now = {route.destination: route.knob for route in laid.routes}
            assert len({(was[name], now[name]) for name in now}) == len(set(was.values()))
            assert len(set(now.values())) == len(set(was.values()))


def test_the_shows_hold_all_sorts() -> None:
    songs = [song for seed in range(8) for song in a_show(seed).songs]
    assert {(type(song.played).__name__, song.pinned) for song in songs} == {
        ("Request", False),
        ("Allocation", False),
        ("Allocation", True),
        ("Setup", False),
        ("Setup", True),
    }
    assert {song.surface.travel_on for song in songs} == {"knob", "route"}


def test_a_setup_that_is_free_goes_where_the_others_have_it() -> None:
    surface = Surface.row(3)
    organ = Voice("Organ", [Destination("level"), Destination("drive")])
    here = Setup("Here", surface, [organ], routes=[Route("Organ/level", "K1")])
    there = Setup("There", surface, [organ], routes=[Route("Organ/level", "K3")])
    found = allocate_show(Show("Two", [Song("A", here), Song("B", there, free=True)]))
    assert found.song("B").layout.routes == Layout.of({"K1": ["Organ/level"]}).routes
    assert found.tier("change").value > 0
