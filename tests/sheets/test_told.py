"""Sentences: what each kind of step says, both ways."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from knobpack.sheets import patch_sheet, replay
from knobpack.words import (
    Destination,
    Group,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)

PAD = Voice("Pad", (Destination("level"), Destination("pan")), 1)
A = Setup("A", Surface.row(2, bits=10), (PAD,))
UNSET = "which is not set on the instrument"
FULL = "0 to 1023 (full)"
LOWER = (KnobTravel("K2", Travel(0, 512)),)
ONE = (attrs.evolve(PAD, destinations=(Destination("level", steps=2),)),)
SENTENCES: tuple[tuple[dict[str, Any], str], ...] = (
    ({"travels": LOWER}, f"K2: set the travel 0 to 512 (half); it was {FULL}."),
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
        f"Snapshot 't': nothing to set; what breaking it costs has changed, {UNSET}.",
        "Snapshot 's': add Pad/pan and take out Pad in what it moves; then K1 follows the master.",
    )
    assert "K1: route it to Pad/pan on layer 1 once more." in patch_sheet(after, before).sentences
