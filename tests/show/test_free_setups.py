"""Setups that are free: asked about everywhere, and against brute force in the order of a show."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice
from knobpack.show import Show, Song, allocate_show, why_elsewhere
from knobpack.show.asked import asked_of
from knobpack.show.prices import SHOW_TIERS
from tests.oracles.amount import EXAMPLES
from tests.oracles.differential_shows import allowed, parts
from tests.oracles.shows import best_of_show


def a_setup(chance: random.Random, name: str) -> Setup:
    """A setup of two voices on three knobs, some of which drive several destinations."""
    voices = [
        Voice(voice, [Destination(each, priority=chance.randint(1, 5)) for each in inner])
        for voice, inner in (("Organ", ("level", "drive")), ("Bass", ("level",)))
    ]
    names = [voice.full_name(each) for voice in voices for each in voice.destinations]
    driven = {each: f"K{chance.randint(1, 3)}" for each in names}
    travels = [KnobTravel(k, Travel(127, 0)) for k in {*driven.values()} if chance.random() < 0.2]
    routes = [Route(each, knob) for each, knob in driven.items()]
    return Setup(name, Surface.row(3), voices, routes=routes, travels=travels)


def a_show(seed: int) -> Show:
    """One or two setups that are free."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    songs = [a_setup(chance, f"S{at}") for at in range(1 + seed % 2)]
    return Show("Free", [Song(each.name, each, free=True) for each in songs])


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 75)))
def test_every_knob_can_be_asked_for_and_costs_what_brute_force_finds(seed: int) -> None:
    found = allocate_show(a_show(seed))
    for name in found.songs[0].request.by_full_name:
        for knob in found.show.surface.knob_names:
            told = why_elsewhere(found, "S0", name, knob)
            there = told.allocation
            assert there is not None
            assert there.song("S0").knob_of(name) == knob
            assert there.proven
            asked = asked_of(there.show)
            songs = [
                attrs.evolve(song, played=laid if song.pinned else each.request)
                for song, laid, each in zip(there.show.songs, there.songs, asked, strict=True)
            ]
            show = attrs.evolve(there.show, songs=tuple(songs))
            assert parts(there) == best_of_show(show, allowed(there))


def test_what_one_knob_drives_shares_none_more_where_one_of_it_is_asked_about() -> None:
    reeds = Voice("Reeds", (Destination("level", priority=1), Destination("wet", priority=4)), 1)
    lead = Voice("Lead", (Destination("level", priority=1),), 2)

    def song(name: str, on: str, beside: str) -> Song:
        routes = (Route("Reeds/level", on), Route("Reeds/wet", on), Route("Lead/level", beside))
        snapshots = (Snapshot("all", ("Reeds", "Lead")),)
        surface = Surface.row(3)
        return Song(name, Setup(name, surface, (reeds, lead), routes=routes, snapshots=snapshots))

    show = Show(
        "Evening", [song("One", "K1", "K2"), song("Six", "K2", "K1"), song("Ten", "K1", "K2")]
    )
    found = allocate_show(show)
    answer = why_elsewhere(found, "Six", "Reeds/level")
    worth = min(found.worth_freeing().songs, key=lambda each: [tier.value for tier in each.after])
    assert answer.joined is None
    assert answer.deciding == worth.deciding == "relearning"
    at = SHOW_TIERS.index("relearning")
    assert answer.after[at].value == worth.after[at].value < answer.before[at].value
