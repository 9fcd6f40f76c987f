"""Edits and sources together: what an edit asked for holds when a source comes late, or goes."""

from __future__ import annotations

import attrs

from knobpack import combine, edit, move_to_panel
from knobpack.setups.as_read import read
from knobpack.words import Destination, Route, Setup, Snapshot, Surface, Voice
from knobpack.words.setup_edits import Away, BackInUse, OutOfUse, OwnKnob, Part
from tests.edits.test_by_hand import SETUP

LATE = Setup(
    "Late set",
    Surface.row(4),
    (
        Voice(
            "Choir",
            (Destination("level", priority=1), Destination("breath"), Destination("air")),
            1,
        ),
    ),
    routes=(Route("Choir/level", "K1"), Route("Choir/breath", "K1"), Route("Choir/air", "K3")),
    snapshots=(Snapshot("Choir", ("Choir",)),),
)
ROOMY = attrs.evolve(
    SETUP, surface=Surface.row(9), voices=tuple(attrs.evolve(v, source=None) for v in SETUP.voices)
)


def on(setup: Setup, knob: str) -> set[str]:
    return set(read(setup).carries[knob])


def test_a_late_source_takes_neither_a_broken_knob_nor_one_that_is_somebodys_own() -> None:
    edited = edit(edit(ROOMY, OwnKnob(("Bass/level",))).setup, OutOfUse("K6")).setup
    own = read(edited).knobs_of["Bass/level"][0]
    found = combine(edited, LATE).setup
    assert on(found, "K6") == set()
    assert on(found, own) == {"Bass/level"}
    assert {r for r in found.routes if r.destination.startswith("Choir")}
    assert found.agreed == edited.agreed
    assert found.broken == edited.broken
    later = edit(found, OutOfUse("K1")).setup
    assert on(later, "K6") == on(later, "K1") == set()
    assert on(later, own) == {"Bass/level"}


def test_what_was_parted_stays_parted_when_a_source_comes_and_goes() -> None:
    parted = edit(ROOMY, Part(("K2",))).setup
    whole = combine(parted, LATE).setup
    knobs = read(whole).knobs_of
    assert knobs["Bass/level"] != knobs["Bass/cutoff"]
    again = edit(whole, Away(("Late set",))).setup
    assert attrs.evolve(again, edits=parted.edits) == parted


def test_a_source_that_came_away_from_home_comes_home_with_the_setup() -> None:
    away = move_to_panel(ROOMY, Surface.row(9, bits=10)).setup
    whole = combine(away, LATE).setup
    home = move_to_panel(whole, ROOMY.surface).setup
    assert [voice.name for voice in home.voices] == [*(v.name for v in ROOMY.voices), "Choir"]
    there, here = read(whole).knobs_of, read(home).knobs_of
    assert {name: here[name] for name in here} == {name: there[name] for name in here}
    mended = edit(edit(home, OutOfUse("K1")).setup, BackInUse("K1")).setup
    assert set(mended.routes) == set(home.routes)
