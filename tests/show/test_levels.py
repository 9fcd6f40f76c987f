"""A knob that is an essential level in one song, and something else in those around it."""

from __future__ import annotations

import re
from html import unescape

import pytest

from knobpack import Destination, Route, Setup, Surface, Voice
from knobpack.present.show_text import show_text
from knobpack.show import LevelHere, Show, ShowAllocation, Song, allocate_show

PANEL = Surface.row(3)


def evening(*knobs: str, priority: int = 1) -> ShowAllocation:
    """A piano whose tone is on K2, and a lead whose level is on some knob, song by song."""
    tone = Voice("Piano", [Destination("tone", priority=2)])
    lead = Voice("Lead", [Destination("level", priority=priority)])
    songs = []
    for at, knob in enumerate(knobs, 1):
        routes = [Route("Piano/tone", "K2")] * (knob != "K2")
        routes += [Route("Lead/level", knob)] if knob else []
        songs.append(Song(f"Song {at}", Setup(f"Song {at}", PANEL, [tone, lead], routes=routes)))
    return allocate_show(Show("Friday", songs))


def test_it_is_told_in_the_card_of_the_song_in_jumps_and_beside_cautions() -> None:
    found = evening("", "K1", "K2")
    (here,) = found.jumps.levels
    assert here == LevelHere("K2", ("Song 3",), ("Lead/level",), ("Piano/tone",))
    told = "K2 is a level in 'Song 3' (Lead/level), and in other songs Piano/tone"
    assert f"{told}: look where it stands before." in found.jumps.sentences
    assert f"{told}." in show_text(found).split("CAUTION")[1]
    cards = found.page().split('<section class="song"')[1:]
    words = [unescape(re.sub("<[^>]*>", "", card)) for card in cards]
    said = "K2 is a level here (Lead/level), and in other songs Piano/tone."
    assert [said in each for each in words] == [False, False, True]
    assert '<li class="moved">Lead/level' in cards[2].replace("<bdi>", "").replace("</bdi>", "")


def test_a_level_on_another_knob_than_in_most_songs_is_told() -> None:
    found = evening("K2", "K2", "K2", "", "K1")
    told = "In 'Song 5' Lead/level is on K1, not K2"
    assert [str(each) for each in found.jumps.moved] == [told]
    (here,) = found.jumps.levels
    assert (
        str(here)
        == "K2 drives Piano/tone in 'Song 4' and 'Song 5', and in other songs a level (Lead/level)"
    )
    caution = show_text(found).split("CAUTION")[1]
    assert all(f"{each}." in " ".join(caution.split()) for each in (told, here))
    card = found.page().split('<section class="song"')[4]
    said = "K2 drives Piano/tone here, and in other songs a level (Lead/level)."
    assert said in unescape(re.sub("<[^>]*>", "", card))


@pytest.mark.parametrize(
    ("knobs", "priority"),
    [
        (("K1", "K1", "K1"), 1),
        (("", "K1", "K2"), 2),
    ],
)
def test_what_is_a_level_as_ever_or_not_essential_is_not_called_out(
    knobs: tuple[str, ...], priority: int
) -> None:
    assert evening(*knobs, priority=priority).jumps.levels == ()


def test_a_level_in_place_of_another_is_a_level_as_ever() -> None:
    def song(name: str, voice: str) -> Song:
        voices = [Voice(voice, [Destination("level", priority=1)])]
        return Song(name, Setup(name, PANEL, voices, routes=[Route(f"{voice}/level", "K1")]))

    songs = [song("One", "Grand"), song("Two", "Grand"), song("Three", "Reed")]
    assert allocate_show(Show("Friday", songs)).jumps.levels == ()


def test_of_a_knob_that_is_several_levels_it_is_told_at_once() -> None:
    voices = [Voice(name, [Destination("level", priority=1)]) for name in ("Lead", "Reed")]
    tone = Voice("Piano", [Destination("tone", priority=2)])
    songs = [
        Song(name, Setup(name, PANEL, [tone, *voices], routes=[Route(on, "K2")]))
        for name, on in zip("ABCD", ["Piano/tone"] * 2 + ["Lead/level", "Reed/level"], strict=True)
    ]
    found = allocate_show(Show("Friday", songs)).jumps
    assert len(found.levels) == 2
    assert found.levels_told[:1] == (
        "K2 is a level in 'C' (Lead/level) and in 'D' (Reed/level), and in other songs Piano/tone",
    )
