"""Songs and shows refuse what they cannot hold, and say what would be right."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from knobpack import Destination, InputError, Request, Route, Setup, Surface, Voice, allocate
from knobpack.show import Show, Song, VoiceRole

ORGAN = Voice("Organ", [Destination("level", priority=1), Destination("drive")])
SOFT = Voice("Soft organ", [Destination("level")])
PANEL = Surface.row(4)
REQUEST = Request(PANEL, [ORGAN, SOFT])


def song(name: str, surface: Surface = PANEL) -> Song:
    return Song(name, Request(surface, [ORGAN]))


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"roles": {"Orgn": "Keys"}}, "Song.roles[0].voice"),
        ({"roles": {"Soft organ": "Organ"}}, "Song.roles[1].role"),
        ({"roles": (VoiceRole("Organ", "A"), VoiceRole("Organ", "B"))}, "Song.roles[1].voice"),
        ({"played": ORGAN}, "Song.played"),
        ({"free": 1}, "Song.free"),
        ({"name": ""}, "Song.name"),
    ],
)
def test_what_a_song_refuses(wrong: dict[str, Any], field: str) -> None:
    made: dict[str, Any] = {"name": "Opener", "played": REQUEST} | wrong
    with pytest.raises(InputError) as refused:
        Song(**made)
    assert refused.value.field == field


def test_a_voice_that_is_misspelt_is_told_what_comes_close() -> None:
    with pytest.raises(InputError, match="close to it: Organ"):
        Song("Opener", REQUEST, {"Orgn": "Keys"})


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"songs": ()}, "Show.songs"),
        ({"songs": (song("A"), song("A"))}, "Show.songs[1].name"),
        ({"breaks": "C"}, "Show.breaks[0]"),
        ({"songs": (song("A"), song("B", Surface.row(3)))}, "Show.songs[1].surface.knobs"),
        ({"songs": (song("A"), song("B", Surface.grid(2, 2)))}, "Show.songs[1].surface.knobs"),
        ({"songs": (song("A"), song("B", Surface.row(4, bits=14)))}, "Show.songs[1].surface.bits"),
        (
            {"songs": (song("A"), song("B", Surface.row(4, travel_on="route")))},
            "Show.songs[1].surface.travel_on",
        ),
    ],
)
def test_what_a_show_refuses(wrong: dict[str, Any], field: str) -> None:
    made: dict[str, Any] = {"name": "Evening", "songs": (song("A"), song("B"))} | wrong
    with pytest.raises(InputError) as refused:
        Show(**made)
    assert refused.value.field == field


def test_songs_of_one_panel_may_reserve_other_knobs() -> None:
    other = attrs.evolve(PANEL, reserved=("K2",))
    assert Show("Evening", (song("A"), song("B", other))).surface == PANEL


def test_what_is_programmed_stays_unless_it_is_free() -> None:
    laid_out = allocate([ORGAN], PANEL)
    setup = Setup("Opener", PANEL, [ORGAN], routes=[Route("Organ/level", "K2")])
    assert not Song("A", REQUEST).pinned
    assert Song("A", laid_out).pinned
    assert Song("A", setup).pinned
    assert not Song("A", setup, free=True).pinned


def test_songs_follow_each_other_but_across_a_break() -> None:
    songs = tuple(map(song, "ABCD"))
    assert Show("Evening", songs).neighbours == ((0, 1), (1, 2), (2, 3))
    assert Show("Evening", songs, ("B", "D")).neighbours == ((0, 1), (2, 3))
    assert "2. 'B', then a break." in Show("Evening", songs, ("B",)).sentences
