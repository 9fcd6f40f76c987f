"""What is told of knobs that stand still and of broken ones, worked by hand."""

from __future__ import annotations

import attrs

from knobpack import (
    Destination,
    KnobTravel,
    OutOfUse,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    combine,
    edit,
    patch_sheet,
)
from knobpack.present.combination_text import combination_text
from knobpack.setups.sounding import held_still_told

ORGAN = Voice("Organ", (Destination("level"), Destination("air"), Destination("room")), 1)
BASE = Setup(
    "Evening set",
    Surface.row(3, bits=10),
    (ORGAN,),
    routes=(Route("Organ/level", "K1"), Route("Organ/air", "K2"), Route("Organ/room", "K2")),
    travels=(KnobTravel("K2", Travel(512, 512)),),
    snapshots=(Snapshot("all", ("Organ",)),),
)
BASS = Setup("Bass set", Surface.row(1), (Voice("Bass", (Destination("level"),)),), routes=())
HELD = "K2 held Organ/air and Organ/room at 512 of 1023, and does no more: set that on the voice."


def _words(text: str) -> str:
    return " ".join(text.split())


def test_where_a_still_knob_held_what_it_is_taken_away_from_is_told() -> None:
    found = combine(BASE, BASS, clear=("K2",))
    sheet = patch_sheet(BASE, found.setup)
    for text in (combination_text(found), sheet.text(), sheet.markdown()):
        assert "K2 held Organ/air and Organ/room at 512 of 1023" in _words(text)
    assert "at 512 of 1023, and does no more" in sheet.page()
    assert held_still_told(BASE, found.setup) == (HELD,)


def test_what_is_of_two_voices_is_set_on_the_voices() -> None:
    piano = Voice("Piano", (Destination("air"),), 2)
    both = attrs.evolve(
        BASE, voices=(ORGAN, piano), routes=(*BASE.routes, Route("Piano/air", "K2"))
    )
    less = attrs.evolve(both, routes=BASE.routes[:1])
    (told,) = held_still_told(both, less)
    names = "Organ/air, Organ/room and Piano/air"
    assert told == (f"K2 held {names} at 512 of 1023, and does no more: set that on the voices.")


def test_what_is_driven_elsewhere_or_stood_anywhere_is_not_told() -> None:
    room = attrs.evolve(BASE, routes=(*BASE.routes[:2], Route("Organ/room", "K3")))
    less = attrs.evolve(BASE, routes=BASE.routes[:1])
    assert held_still_told(BASE, BASE) == ()
    assert held_still_told(BASE, room) == ()
    one = "K2 held Organ/air at 512 of 1023, and does no more: set that on the voice."
    assert held_still_told(BASE, attrs.evolve(room, routes=(room.routes[0], room.routes[2]))) == (
        one,
    )
    moving = attrs.evolve(BASE, travels=(KnobTravel("K2", Travel(0, 512)),))
    assert held_still_told(moving, less) == ()
    assert held_still_told(BASE, attrs.evolve(less, voices=())) == ()


def test_a_snapshot_that_loses_a_knob_is_not_said_to_be_on_others() -> None:
    less = attrs.evolve(BASE, routes=BASE.routes[:1])
    told = "Snapshot 'all' moves what it moved, but nothing on K2 any more: now K1 follows"
    assert told in _words(patch_sheet(BASE, less).text())
    other = attrs.evolve(BASE, routes=(Route("Organ/level", "K3"), *BASE.routes[1:]))
    told = "Snapshot 'all' moves what it moved, on other knobs: now K2 and K3 follow"
    assert told in _words(patch_sheet(BASE, other).text())


def test_a_broken_knob_drives_no_level_any_more_and_is_told_to_have_driven_it() -> None:
    broken = edit(BASE, OutOfUse("K1"))
    (level,) = (each.knob for each in broken.setup.routes if each.destination == "Organ/level")
    text = _words(patch_sheet(BASE, broken.setup).text())
    assert level != "K1"
    assert f"can change them, are driven by {level}, and were driven by K1. Check" in text
