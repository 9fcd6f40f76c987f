"""Why something moved, in a player's words: by hand, on panels of two and three knobs."""

from __future__ import annotations

import attrs

from knobpack import (
    Destination,
    OnKnob,
    OwnKnob,
    Route,
    Setup,
    Snapshot,
    Surface,
    Swap,
    Voice,
    edit,
    move_to_panel,
)
from knobpack.edits.why_moved import changing_places
from knobpack.explanation.what_if import Moved

ORGAN = Voice("Organ", (Destination("level"), Destination("drive")), 1)
PAD = Voice("Pad", (Destination("level"), Destination("tone")), 2)
SETUP = Setup(
    "Evening set",
    Surface.row(2),
    (ORGAN, PAD),
    routes=tuple(
        Route(name, knob)
        for name, knob in (
            ("Organ/level", "K1"),
            ("Organ/drive", "K1"),
            ("Pad/level", "K2"),
            ("Pad/tone", "K2"),
        )
    ),
    snapshots=(Snapshot("Low", ("Organ",)), Snapshot("High", ("Pad",))),
)

PROVEN = "proven: less will not do, weighed by importance."


def test_what_changes_places_is_told_in_one_sentence() -> None:
    done = edit(SETUP, OnKnob(("Organ/drive",), "K2"))
    who = "Organ/level and Organ/drive (on K2 now) and Pad/level and Pad/tone (on K1 now)"
    why = "because K2 carries Organ/drive, which snapshot 'Low' moves while it holds Pad/level"
    assert done.sentences == (
        f"Organ/drive on K2: 4 routes move, from K1 and K2; {PROVEN}",
        f"{who} change places, {why}.",
    )
    assert len(done.reasons) == 3
    # Where that was asked for no more is to be said than what goes where, knob by knob.
    swapped = edit(SETUP, Swap("K1", "K2"))
    assert swapped.setup.routes == done.setup.routes
    assert swapped.sentences[1:] == (
        "Organ/level and Organ/drive go from K1 to K2.",
        "Pad/level and Pad/tone go from K2 to K1.",
    )


def test_two_knobs_change_places_only_with_all_that_they_drive() -> None:
    one, other = Moved("A/x", "K1", "K2"), Moved("B/y", "K2", "K1")
    assert list(changing_places((one, other), {"K1": ("B/y",), "K2": ("A/x",)})) == [
        ((one,), (other,))
    ]
    assert not [*changing_places((one, other), {"K1": ("B/y", "C/z"), "K2": ("A/x",)})]
    third = Moved("C/z", "K2", "K3")
    carries = {"K1": ("B/y",), "K2": ("A/x",), "K3": ("C/z",)}
    assert not [*changing_places((one, other, third), carries)]
    assert not [*changing_places((attrs.evolve(one, after=None), other), carries)]


def test_what_an_edit_asked_for_is_told_as_that() -> None:
    free = attrs.evolve(SETUP, surface=Surface.row(3))
    done = edit(free, OwnKnob(("Organ/level",), "K1"))
    why = "Organ/level is on K1 and 'Organ/level on a knob of its own' was asked for"
    assert f"Organ/drive goes from K1 to K3, because {why}." in done.sentences
    both = edit(edit(free, OwnKnob(("Pad/tone",))).setup, OnKnob(("Organ/level",), "K3"))
    assert "because K3 carries Organ/level, which snapshot 'Low'" in both.sentences[-1]
    assert "the rule" not in str(both)


def test_what_came_there_by_the_same_move_is_no_reason() -> None:
    # Three knobs' worth come to two: the piano's share one, since the brass alone has the other.
    piano = Voice("Piano", (Destination("level"), Destination("tone")), 1)
    brass = Voice("Brass", (Destination("level"),), 2)
    routes = tuple(
        Route(name, knob)
        for name, knob in (("Piano/level", "K1"), ("Piano/tone", "K2"), ("Brass/level", "K3"))
    )
    alone = tuple(Snapshot(f"{name} alone", (name,)) for name in ("Piano", "Brass"))
    home = Setup("Evening set", Surface.row(3), (piano, brass), routes=routes, snapshots=alone)
    moved = move_to_panel(home, Surface.row(2))
    went = [s for s in moved.sentences if " goes from K2 " in s or " goes from K3 " in s]
    assert len(went) == 2
    assert all(", because" not in each for each in went)
