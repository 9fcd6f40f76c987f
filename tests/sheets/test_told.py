"""Sentences: what each kind of step says, both ways."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from knobpack.sheets import patch_sheet
from knobpack.words import (
    Destination,
    Group,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.replay import replay
from tests.sheets.held import HELD, PAD, A

UNSET = "which is not set on the instrument"
FULL = "0 to 1023 (full)"
LOWER = (KnobTravel("K2", Travel(0, 512)),)
ONE = (attrs.evolve(PAD, destinations=(Destination("level", steps=2),)),)
SENTENCES: tuple[tuple[dict[str, Any], str], ...] = (
    ({"travels": LOWER}, "K2: set the travel 0 to 512 (half); none was set."),
    (
        {"travels": (KnobTravel("K2", Travel(0, 1023)),)},
        f"K2: make sure of the travel {FULL}; none was set.",
    ),
    ({"voices": (attrs.evolve(PAD, layer=3),)}, "Voice 'Pad': move it from layer 1 to layer 3."),
    (
        {"voices": (attrs.evolve(PAD, layer=None),)},
        "Voice 'Pad': take it off layer 1, and keep it.",
    ),
    ({"voices": ()}, "Voice 'Pad': take it off layer 1."),
    (
        {"voices": (PAD, Voice("Lead", source="B"))},
        "Voice 'Lead' from 'B': add it; no layer is given.",
    ),
    (
        {"voices": (attrs.evolve(PAD, source="B"),)},
        f"Voice 'Pad': nothing to set; what is wished or recorded of it has changed, {UNSET}.",
    ),
    (
        {"voices": ONE},
        "Voice 'Pad': put the other voice of this name on layer 1 (different in level and pan).",
    ),
    (
        {"groups": (Group("Pads", ("Pad", "Pad/pan")),)},
        "Group 'Pads': store it with Pad and Pad/pan.",
    ),
    (
        {"snapshots": (Snapshot("quiet"),)},
        "Snapshot 'quiet': store it so that nothing moves; then no knob follows the master.",
    ),
    ({"name": "B"}, "Setup 'A': store it as 'B'."),
    ({"labels": (KnobLabel("K1", "Pad lev"),)}, "K1: label it 'Pad lev'; no label was given."),
    (
        {"sending": (KnobSending("K1", 17, channel=2, turning="pick-up"),)},
        "K1: let it send controller 17 on channel 2, pick-up; what it sends was not known.",
    ),
    (
        {"sending": (KnobSending("K2", turning="endless"),)},
        "K2: set it to endless; what it sends was not known.",
    ),
    (
        {"voices": (attrs.evolve(PAD, channel=2, keys=Span(36, 60), program=5),)},
        "Voice 'Pad': set channel 2; set keys 36 to 60; it was all keys; set program 5.",
    ),
    (
        {"voices": (attrs.evolve(PAD, layer=2, transposition=-12, velocities=Span(1, 90)),)},
        (
            "Voice 'Pad': move it from layer 1 to layer 2; set velocities 1 to 90; it was all "
            "velocities; set a transposition of -12; it was +0."
        ),
    ),
    (
        {"voices": (attrs.evolve(PAD, transposition=0),)},
        f"Voice 'Pad': nothing to set; what is wished or recorded of it has changed, {UNSET}.",
    ),
    (
        {"voices": (PAD, Voice("Lead", layer=2, channel=3, keys=Span(60, 127)))},
        "Voice 'Lead': add it on layer 2; set channel 3 and keys 60 to 127.",
    ),
    (
        {"snapshots": (Snapshot("solo", ("Pad",), silent=("Lead",)),)},
        (
            "Snapshot 'solo': store it so that Pad moves; then no knob follows the master; silence "
            "Lead."
        ),
    ),
)


@pytest.mark.parametrize(("change", "said"), SENTENCES)
def test_each_step_is_one_sentence(change: dict[str, Any], said: str) -> None:
    after = attrs.evolve(A, **change)
    sheet = patch_sheet(A, after)
    assert sheet.sentences == (said,)
    assert replay(A, sheet.steps) == after
    back = patch_sheet(after, A)
    assert len(back.steps) == 1
    assert replay(after, back.steps) == A


def test_edits_are_told_as_edits() -> None:
    before = attrs.evolve(
        A,
        groups=(Group("G", ("Pad", "X")),),
        snapshots=(Snapshot("s", ("Pad",)), Snapshot("t", (), 3)),
        travels=(KnobTravel("K1", Travel(0, 512)),),
        routes=(Route("Pad/pan", "K1"),) * 3,
    )
    after = attrs.evolve(
        A,
        groups=(Group("G", ("Y", "Pad")),),
        snapshots=(Snapshot("t", (), 4), Snapshot("s", ("Pad/pan",))),
        routes=(Route("Pad/pan", "K1"),),
    )
    assert patch_sheet(before, after).sentences == (
        "K1: take away one of its 3 routes to Pad/pan.",
        "K1: take away one of its 2 routes to Pad/pan.",
        "K1: clear the travel 0 to 512 (half); without one it is full.",
        "Group 'G': add Y and take out X.",
        "Snapshot 's': add Pad/pan and take out Pad in what it moves; then K1 follows the master.",
        f"Snapshot 't': nothing to set; what breaking it costs has changed, {UNSET}.",
    )
    assert "K1: route it to Pad/pan on layer 1 once more." in patch_sheet(after, before).sentences


def test_what_is_known_no_more_is_not_set() -> None:
    known = attrs.evolve(
        A,
        voices=(attrs.evolve(PAD, channel=2, program=5, keys=Span(0, 59)),),
        labels=(KnobLabel("K1", "Pad"), KnobLabel("K2", "x/y")),
        sending=(KnobSending("K1", 17),),
    )
    forgotten = attrs.evolve(A, labels=(KnobLabel("K2", "Level"),))
    assert patch_sheet(known, forgotten).sentences == (
        (
            "Voice 'Pad': let it answer to all keys; it was 0 to 59; what is wished or recorded of "
            f"it has changed, {UNSET}."
        ),
        "K1: clear the label; it showed 'Pad'.",
        "K2: label it 'Level'; it showed 'x/y'.",
        "K1: nothing to set; what it sends is no longer recorded, it was controller 17.",
    )


def test_knobs_that_follow_for_nothing_are_to_be_switched_off() -> None:
    routes = (Route("Pad/level", "K1"),)
    idle = (Snapshot("all", ("Pad",), idle=("K1", "K2")), Snapshot("held", idle=("K1", "K2")))
    before = attrs.evolve(A, snapshots=idle)
    after = attrs.evolve(
        A, routes=routes, snapshots=(Snapshot("all", ("Pad",), idle=("K2",)), Snapshot("held"))
    )
    sheet = patch_sheet(before, after)
    assert sheet.sentences[1:] == (
        # K1 follows in it from now on, and did already.
        "Snapshot 'all': leave K1 on.",
        "Snapshot 'held': switch off K1 and K2: nothing is to move on them.",
    )
    said = "Snapshot 'all': switch off K2; it follows and drives nothing."
    for text in (sheet.text(), sheet.markdown()):
        assert said in text.replace("\n    ", " ")
    assert "switch off <bdi>K2</bdi>; it follows and drives nothing." in sheet.page()
    assert "off" not in patch_sheet(A, A).text()


def test_what_the_knobs_show_and_send_stands_in_every_form() -> None:
    after = attrs.evolve(
        A,
        voices=(attrs.evolve(PAD, channel=2),),
        routes=(Route("Pad/level", "K1"),),
        snapshots=(Snapshot("all", ("Pad",), silent=("Pad",)),),
        labels=(KnobLabel("K1", "Pad lev"),),
        sending=(KnobSending("K1", 17, turning="pick-up"),),
    )
    sheet = patch_sheet(A, after)
    for text in (sheet.text(), sheet.markdown()):
        plain = text.replace("\n    ", " ")
        assert "K1 'Pad lev', travel" in plain
        assert "follows the master in 'all'; controller 17, pick-up" in plain
        assert "Layer 1: Pad (channel 2)" in plain
        assert "Silent in 'all': Pad" in plain
    page = sheet.page()
    assert "<bdi>K1</bdi> '<bdi>Pad lev</bdi>'" in page
    assert "<dt>Sends</dt><dd>controller 17, pick-up</dd>" in page
    assert "<dt>Sends</dt>" not in patch_sheet(A, A).page()


def test_each_position_is_told_as_it_was_and_as_it_is_to_be() -> None:
    held = Snapshot("held", positions=(KnobPosition("K1", 511),))
    after = attrs.evolve(HELD, snapshots=(held,))
    assert patch_sheet(HELD, after).sentences == (
        "Snapshot 'held': store K1 at 511; it was at 512.",
        "Snapshot 'held': set K2 by ear; where it is to stand is not known, it was at 9.",
    )
    moving = attrs.evolve(after, snapshots=(attrs.evolve(held, moves=("Pad/pan",)),))
    assert patch_sheet(HELD, moving).sentences[-1] == (
        "Snapshot 'held': nothing to set; where it puts K2 is no longer recorded; it was at 9."
    )
    assert patch_sheet(after, HELD).sentences[1] == (
        "Snapshot 'held': store K2 at 9; where it stood was not known."
    )


def test_positions_of_a_new_snapshot_say_what_was_so_before() -> None:
    more = Snapshot("more", positions=(KnobPosition("K1", 9), KnobPosition("K2", 512)))
    # Pad/level goes to K2, and stands there where it stood; pan is elsewhere than it was.
    after = attrs.evolve(
        HELD,
        routes=(Route("Pad/pan", "K1"), Route("Pad/level", "K2")),
        snapshots=(*HELD.snapshots, more),
    )
    assert patch_sheet(HELD, after).sentences[-2:] == (
        "Snapshot 'more': store K1 at 9, as Pad/pan was in every snapshot that held it.",
        "Snapshot 'more': store K2 at 512, as Pad/level was in every snapshot that held it.",
    )
    low = attrs.evolve(HELD.snapshots[0], name="low", positions=(KnobPosition("K1", 600),))
    before = attrs.evolve(HELD, snapshots=(*HELD.snapshots, low))
    lowest = patch_sheet(before, attrs.evolve(after, snapshots=(*before.snapshots, more)))
    assert lowest.sentences[-1] == (
        "Snapshot 'more': store K2 at 512, the lowest that Pad/level was held at."
    )
    other = attrs.evolve(HELD.snapshots[0], name="other", positions=(KnobPosition("K1", 512),))
    before = attrs.evolve(HELD, snapshots=(*HELD.snapshots, other))
    after = attrs.evolve(after, snapshots=(*before.snapshots, more))
    assert patch_sheet(before, after).sentences[-2:] == (
        "Snapshot 'more': store K1 at 9.",
        "Snapshot 'more': store K2 at 512, as Pad/level was in every snapshot that held it.",
    )


def test_travels_that_are_not_as_wanted_stand_on_the_sheet() -> None:
    voice = Voice("Pad", (Destination("level", travel=Travel(1023, 0)), Destination("pan")), 1)
    surface = Surface.row(3, bits=10)
    routes = (Route("Pad/level", "K1"), Route("Pad/pan", "K2"))
    travels = (KnobTravel("K1", Travel(1023, 0)), KnobTravel("K2", Travel(0, 512)))
    before = Setup("A", surface, (voice,), routes=routes, travels=travels)
    # Both come to K3: the one wants what it says, the other what it had.
    after = attrs.evolve(before, routes=(Route("Pad/level", "K3"), Route("Pad/pan", "K3")))
    sheet = patch_sheet(before, after)
    said = (
        "Pad/level is turned round on K3: 0 to 1023 (full), not 1023 to 0 (reversed).",
        "Pad/pan wants 0 to 512 (half) and has 0 to 1023 (full) on K3.",
    )
    text = sheet.text()
    assert "TRAVELS THAT ARE NOT AS WANTED" in text
    assert all(each in text for each in said)
    assert "## Travels that are not as wanted" in sheet.markdown()
    assert "<bdi>Pad</bdi>/<bdi>level</bdi> is turned round on" in sheet.page()
    # It stands there still when something else is changed.
    later = patch_sheet(after, attrs.evolve(after, name="B")).text()
    assert "Pad/level is turned round on K3" in later
    # What is had is not told; nor is there anything to miss on routes.
    for one, other in (
        (after, before),
        (before, attrs.evolve(before, name="B")),
        (after, attrs.evolve(after, travels=(KnobTravel("K3", Travel(1023, 0)),))),
    ):
        assert "WANTED" not in patch_sheet(one, other).text()
    # What has a knob to itself is told only where it is alarming.
    assert (
        "Pad/level is turned round on K1"
        in patch_sheet(before, attrs.evolve(before, travels=())).text()
    )
    free = attrs.evolve(surface, travel_on="route")
    on = [attrs.evolve(each, surface=free, travels=()) for each in (before, after)]
    assert "WANTED" not in patch_sheet(*on).text()
