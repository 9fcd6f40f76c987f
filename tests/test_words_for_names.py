"""Wherever a name is given, what is called so will do in its place."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from knobpack import (
    Destination,
    InputError,
    Knob,
    Route,
    Setup,
    Snapshot,
    Surface,
    Swap,
    Voice,
    allocate,
    combine,
    edit,
    take_back,
)
from knobpack.combination import without_source
from knobpack.midi import sweep_file
from knobpack.show import Show, Song, allocate_show
from knobpack.simulation import change, sweep
from knobpack.words.edits import with_voice, without_knob, without_snapshot, without_voice

ORGAN, BASS = (Voice(name, [Destination("level")], layer=1) for name in ("Organ", "Bass"))
HIGH, LOW = Snapshot("High", [ORGAN]), Snapshot("Low")
PANEL = Surface.row(3)
K1, _, K3 = PANEL.knobs
ROUTES = [Route("Organ/level", K1), Route("Gone/level", K3)]
SETUP = Setup("Quay set", PANEL, [ORGAN], routes=ROUTES, snapshots=[HIGH, LOW])
OTHER = Setup("Cellar set", PANEL, [BASS], routes=[Route("Bass/level", K1)])
ONE = combine(SETUP, OTHER).setup
REQUEST = allocate([ORGAN, BASS], PANEL, snapshots=[HIGH, LOW]).request
SWAPPED = edit(edit(SETUP, Swap(K1, "K2")).setup, Swap("K2", K3)).setup
FIRST, LAST = Song("First", REQUEST), Song("Last", SETUP)
SHOW = allocate_show(Show("Friday", [FIRST, LAST]))

PAIRS: dict[str, tuple[Callable[[], object], Callable[[], object]]] = {
    "without_knob": (lambda: without_knob(REQUEST, K3), lambda: without_knob(REQUEST, "K3")),
    "without_voice": (lambda: without_voice(REQUEST, BASS), lambda: without_voice(REQUEST, "Bass")),
    "without_snapshot": (
        lambda: without_snapshot(REQUEST, LOW),
        lambda: without_snapshot(REQUEST, "Low"),
    ),
    "with_voice": (
        lambda: with_voice(REQUEST, Voice("Choir"), moves_in=LOW),
        lambda: with_voice(REQUEST, Voice("Choir"), moves_in={"Low"}),
    ),
    "named": (lambda: REQUEST.named(ORGAN), lambda: REQUEST.named(["Organ"])),
    "combine": (
        lambda: combine(SETUP, OTHER, free=ORGAN, clear=K3, give_up=[LOW]),
        lambda: combine(SETUP, OTHER, free=["Organ"], clear="K3", give_up="Low"),
    ),
    "without_source": (lambda: without_source(ONE, OTHER), lambda: without_source(ONE, OTHER.name)),
    "take_back": (lambda: take_back(SWAPPED, Swap(K1, "K2")), lambda: take_back(SWAPPED, 1)),
    "take_back one of those that were made": (
        lambda: take_back(SWAPPED, SWAPPED.edits[0]),
        lambda: take_back(SWAPPED, 1),
    ),
    "sweep": (lambda: str(sweep(SETUP, HIGH)), lambda: str(sweep(SETUP, "High"))),
    "change": (lambda: change(SETUP, HIGH, LOW, 9), lambda: change(SETUP, "High", "Low", 9)),
    "sweep_file": (
        lambda: sweep_file(SETUP, HIGH, {"K1": 20}),
        lambda: sweep_file(SETUP, "High", {"K1": 20}),
    ),
    "song": (lambda: SHOW.song(LAST), lambda: SHOW.song("Last")),
    "setup": (lambda: SHOW.setup(FIRST), lambda: SHOW.setup("First")),
    "breaks": (
        lambda: Show("Friday", [FIRST, LAST], breaks=FIRST),
        lambda: Show("Friday", [FIRST, LAST], breaks=["First"]),
    ),
    "brings": (
        lambda: Song("Last", SETUP, brings=ORGAN),
        lambda: Song("Last", SETUP, brings=["Organ"]),
    ),
    "as_laid_out": (lambda: SHOW.as_laid_out(FIRST), lambda: SHOW.as_laid_out(["First"])),
    "with_song": (
        lambda: SHOW.with_song(Song("New", REQUEST), after=FIRST),
        lambda: SHOW.with_song(Song("New", REQUEST), after="First"),
    ),
    "without_song": (lambda: SHOW.without_song(LAST), lambda: SHOW.without_song("Last")),
    "in_order": (lambda: SHOW.in_order([LAST, FIRST]), lambda: SHOW.in_order(["Last", "First"])),
    "why_elsewhere": (
        lambda: SHOW.why_elsewhere(FIRST, "Organ/level", K3),
        lambda: SHOW.why_elsewhere("First", "Organ/level", "K3"),
    ),
}


@pytest.mark.parametrize("name", PAIRS)
def test_what_is_called_so_will_do_in_place_of_a_name(name: str) -> None:
    by_word, by_name = PAIRS[name]
    assert by_word() == by_name()


def test_another_sort_of_word_will_not_do() -> None:
    for call in (
        lambda: without_voice(REQUEST, Knob("Bass")),  # type: ignore[arg-type]
        lambda: combine(SETUP, OTHER, clear=Voice("K3")),  # type: ignore[arg-type]
        lambda: SHOW.song(Voice("Last")),  # type: ignore[arg-type]
    ):
        with pytest.raises(InputError, match=r"name a|a list of names"):
            call()


def test_a_kind_that_is_none_is_the_name() -> None:
    assert Destination("level", kind=None) == Destination("level")
