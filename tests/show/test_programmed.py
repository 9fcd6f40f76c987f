"""What a show comes to as setups, and the steps that are to be programmed."""

from __future__ import annotations

import attrs
import pytest

from knobpack import Destination, InputError, Route, Setup, Surface, Voice
from knobpack.present.text import layout_text
from knobpack.show import Show, Song, allocate_show
from knobpack.show.setups import essential_moves_told
from tests.oracles.replay import in_order, replay
from tests.show.evening import PANEL, PROGRAMMED, SHOW, laid_out


def test_a_song_that_is_programmed_stays_as_it_is_and_needs_no_sheet() -> None:
    assert laid_out().setup("Ballad") is PROGRAMMED
    assert list(laid_out().sheets()) == ["Opener", "Waltz"]


def test_a_song_that_is_not_best_by_itself_speaks_of_its_show() -> None:
    for song, laid in zip(SHOW.songs, laid_out().songs, strict=True):
        assert not laid.proven, song.name  # two stay as they are, two are as the show has it
        assert laid.stopped == "its show"
        assert laid.headlines[-1].endswith(", laid out for its show.")
        assert layout_text(laid).startswith("LAYOUT  laid out for its show\n")


@pytest.mark.parametrize("layers", [None, 2, 1])
def test_a_programmed_song_may_have_voices_without_a_layer(layers: int | None) -> None:
    panel = attrs.evolve(PANEL, layers=layers)
    first, *others = PROGRAMMED.voices
    voices = (attrs.evolve(first, layer=None), *others)
    setup = attrs.evolve(PROGRAMMED, surface=panel, voices=voices)
    found = allocate_show(Show("Friday", [Song("Ballad", setup), Song("Again", setup)]))
    assert found.setup("Ballad") is setup
    assert found.song("Ballad").layout.routes == laid_out().song("Ballad").layout.routes


def test_each_song_is_a_setup_that_does_what_its_allocation_says() -> None:
    for song, laid in zip(SHOW.songs, laid_out().songs, strict=True):
        setup = laid_out().setup(song.name)
        assert {(r.destination, r.knob) for r in setup.routes} == {
            (r.destination, r.knob) for r in laid.routes
        }


def test_a_programmed_song_that_is_freed_keeps_all_but_its_routes() -> None:
    songs = [
        attrs.evolve(song, free=True) if song.name == "Ballad" else song for song in SHOW.songs
    ]
    free = allocate_show(Show("Friday", songs))
    setup = free.setup("Ballad")
    assert (setup.name, setup.voices) == (PROGRAMMED.name, PROGRAMMED.voices)
    assert [each.name for each in setup.snapshots] == ["all"]
    on = {route.destination: route.knob for route in setup.routes}
    assert on == {r.destination: r.knob for r in free.song("Ballad").routes}


def test_the_sheets_of_a_rehearsal_hold_what_changed_since() -> None:
    later = [*SHOW.songs[:2], Song("New song", SHOW.songs[3].played), *SHOW.songs[2:]]
    kept = [
        song if isinstance(song.played, Setup) else attrs.evolve(song, played=laid)
        for song, laid in zip(SHOW.songs, laid_out().songs, strict=True)
    ]
    assert allocate_show(Show("Friday", kept)).sheets(laid_out()) == {}
    new = allocate_show(Show("Friday", later))
    sheets = new.sheets(laid_out())
    assert "New song" in sheets
    assert sheets["New song"].before.routes == ()
    for name, sheet in sheets.items():
        done = replay(sheet.before, sheet.steps)
        assert in_order(done) == in_order(new.setup(name))


def test_what_is_no_show_is_refused() -> None:
    with pytest.raises(InputError) as refused:
        laid_out().sheets(PANEL)  # type: ignore[arg-type]
    assert refused.value.field == "ShowAllocation.sheets.before"


BOTH = ("Organ/level", "Bass/tone")


def test_what_is_essential_and_moves_in_a_freed_song_is_told_with_what_it_meets() -> None:
    organ = Voice("Organ", [Destination("level", priority=1)], 1)
    bass = Voice("Bass", [Destination("tone")], 2)
    one, other = (
        Setup(name, Surface.row(2), [organ, bass], routes=[Route("Organ/level", on), rest])
        for name, on, rest in (
            ("A", "K2", Route("Bass/tone", "K1")),
            ("B", "K1", Route("Bass/tone", "K2")),
        )
    )
    found = allocate_show(Show("Two", [Song("A", one, free=True), Song("B", other)]))
    assert found.losses == ("In 'A': Organ/level goes from K2 to K1.",)
    told = essential_moves_told(
        {"A": (one, attrs.evolve(other, routes=[Route(n, "K1") for n in BOTH]))}
    )
    assert told == ("In 'A': Organ/level goes from K2 to K1, where Bass/tone is too.",)


def test_what_no_knob_drove_of_a_freed_song_is_told_and_what_it_brings_is_not() -> None:
    organ = Voice("Organ", [Destination("level", priority=1), Destination("send", priority=4)], 1)
    bass = Voice("Bass", [Destination("tone")], 2)
    setup = Setup("A", Surface.row(2), [organ, bass], routes=[Route("Organ/level", "K1")])
    kept = allocate_show(Show("One", [Song("A", setup)]))
    assert kept.losses == ()
    freed = allocate_show(Show("One", [Song("A", setup, free=True)]))
    told = "In 'A' no knob drove Organ/send and Bass/tone: none is looked for."
    assert freed.losses == (told,)
    brought = allocate_show(Show("One", [Song("A", setup, free=True, brings=["Bass"])]))
    assert brought.losses == ("In 'A' no knob drove Organ/send: none is looked for.",)
