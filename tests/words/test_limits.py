"""What each field of a word takes and what it refuses, at the edges and by its name."""

from __future__ import annotations

from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import (
    BrokenKnob,
    Destination,
    Group,
    Knob,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Layout,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)
from tests.samples import EACH_RULE

LEVEL, PAD, ALL, ROW = Destination("level"), Voice("Pad"), Snapshot("all"), Surface.row(1)
TRAVEL, STAGE = Travel(0, 1), Setup("Stage", Surface.row(2))
NO_NUMBERS = (True, 1.0, "1")
NO_NAMES = ("", "a/b", 3, None)
WEIGHT = ((0, 1, 10_000), (-1, 10_001, *NO_NUMBERS))
COUNT = ((None, 0, 10_000), (-1, 10_001, *NO_NUMBERS))
POSITION = ((0, 2**32 - 1), (-1, 2**32, None, *NO_NUMBERS))
DATA_BYTE = ((0, 127), (-1, 128, None, *NO_NUMBERS))

LIMITS: list[tuple[Any, str, tuple[Any, ...], tuple[Any, ...]]] = [
    (TRAVEL, "start", *POSITION),
    (TRAVEL, "end", *POSITION),
    (KnobPosition("K1", 1), "position", *POSITION),
    (KnobPosition("K1", 1), "knob", ("K2",), NO_NAMES),
    *(
        (Weights(), each.name, *WEIGHT)
        for each in attrs.fields(Weights)
        if type(each.default) is int
    ),
    (ALL, "break_weight", (None, *WEIGHT[0]), WEIGHT[1]),
    *((rule, "weight", (None, 1, 10_000), (0, -1, *WEIGHT[1])) for rule in EACH_RULE),
    # M2-117-UM v1.0 (June 2023), property "priority": an integer, 1 essential to 5 hidden.
    (LEVEL, "priority", (1, 2, 3, 4, 5), (0, 6, None, *NO_NUMBERS)),
    (LEVEL, "kind", ("level", "loudness"), NO_NAMES[:3]),
    (LEVEL, "travel", (None, TRAVEL), ((0, 127), 5)),
    (LEVEL, "source_knob", (None, "7"), NO_NAMES[:3]),
    (LEVEL, "source_place", (None, 1, 10_000), (0, 10_001, *NO_NUMBERS)),
    (LEVEL, "movable", (True, False), (0, 1, None, "true")),
    (LEVEL, "must_place", (True, False), (0, 1, None, "true")),
    (LEVEL, "steps", (None, 2, 2**32), (1, 0, 2**32 + 1, *NO_NUMBERS)),
    (PAD, "layer", (None, 1, 10_000), (0, 10_001, *NO_NUMBERS)),
    (PAD, "source", (None, "Stage"), NO_NAMES[:3]),
    (PAD, "destinations", ((), (LEVEL,)), (None, "cutoff", 3)),
    # MIDI 1.0 Detailed Specification, Table I: channels 1 to 16, 128 programs.
    (PAD, "channel", (None, 1, 16), (0, 17, *NO_NUMBERS)),
    (PAD, "program", (None, 1, 128), (0, 129, *NO_NUMBERS)),
    # RPN 00-02, channel coarse tuning: data 0 to 127 are -64 to +63 semitones.
    (PAD, "transposition", (None, -64, 0, 63), (-65, 64, *NO_NUMBERS)),
    (PAD, "keys", (None, Span(0, 127), Span(60, 59)), ((0, 127), 60)),
    (PAD, "velocities", (None, Span(0, 0)), (64,)),
    # MIDI 1.0 Detailed Specification, Table II: data bytes are of 7 bits.
    (Span(0, 127), "low", *DATA_BYTE),
    (Span(0, 127), "high", *DATA_BYTE),
    (KnobSending("K1", 1, turning="endless"), "number", (None, *DATA_BYTE[0]), (-1, 128)),
    (KnobSending("K1", 1), "channel", (None, 1, 16), (0, 17, *NO_NUMBERS)),
    (KnobSending("K1", 1), "fine", (True, False), (0, 1, None)),
    (KnobSending("K1", 1), "turning", (None, "absolute", "pick-up"), ("relative", 1)),
    (
        KnobLabel("K1", "a"),
        "label",
        ("cut/res", "/", "ø 3", "x" * 120),
        ("", " a", "a ", "x" * 121),
    ),
    (KnobLabel("K1", "a"), "label", ("Drive",), ("a\nb", "\x1b[2J", None, 5)),
    (Knob("K1"), "row", (1, 10_000), (0, 10_001, None, float("nan"), *NO_NUMBERS)),
    (Knob("K1"), "column", (1, 10_000), (0, 10_001, None, *NO_NUMBERS)),
    (ROW, "bits", (2, 7, 32), (0, 1, 33, None, *NO_NUMBERS)),
    (ROW, "destinations_per_knob", (None, 1, 10_000), (0, 10_001, *NO_NUMBERS)),
    *((ROW, field, *COUNT) for field in ("routes", "layers", "snapshots")),
    (ROW, "label_length", (None, 3, 120), (2, 121, *NO_NUMBERS)),
    (Route("Pad/level", "K1"), "knob", ("K2",), NO_NAMES),
    (Route("Pad/level", "K1"), "destination", ("Pad", "Pad/drive"), (None, "a/b/c")),
    (KnobTravel("K1", TRAVEL), "travel", (TRAVEL,), ((0, 1), None)),
    (KnobTravel("K1", TRAVEL), "knob", ("K2",), NO_NAMES),
    (VoiceLayer("Pad", 1), "layer", (1, 10_000), (0, 10_001, None, *NO_NUMBERS)),
    (VoiceLayer("Pad", 1), "voice", ("Bass",), NO_NAMES),
    (STAGE, "name", ("Stage",), NO_NAMES),
    (STAGE, "surface", (ROW,), (8, None)),
]


@pytest.mark.parametrize(("word", "field", "right", "wrong"), LIMITS)
def test_a_field_takes_what_it_can_hold_and_refuses_all_else(
    word: Any, field: str, right: tuple[Any, ...], wrong: tuple[Any, ...]
) -> None:
    for value in right:
        assert getattr(attrs.evolve(word, **{field: value}), field) == value
    for value in wrong:
        with pytest.raises(InputError) as caught:
            attrs.evolve(word, **{field: value})
        assert caught.value.field == f"{type(word).__name__}.{field}"
        assert caught.value.value is value


TWICE: list[tuple[Any, str, tuple[Any, ...], str]] = [
    (Layout(), "routes", (Route("a/b", "K1"), Route("a/b", "K2")), "routes[1].destination"),
    (Layout(), "travels", (KnobTravel("K1", TRAVEL),) * 2, "travels[1].knob"),
    (Layout(), "layers", (VoiceLayer("Pad", 1), VoiceLayer("Pad", 2)), "layers[1].voice"),
    (STAGE, "voices", (PAD, PAD), "voices[1].name"),
    (attrs.evolve(STAGE, voices=(PAD,)), "groups", (Group("Pad", ("a",)),), "groups[0].name"),
    (STAGE, "groups", (Group("low", ("a",)), Group("low", ("b",))), "groups[1].name"),
    (STAGE, "snapshots", (ALL, ALL), "snapshots[1].name"),
    (STAGE, "travels", (KnobTravel("K1", TRAVEL),) * 2, "travels[1].knob"),
    (STAGE, "labels", (KnobLabel("K1", "a"), KnobLabel("K1", "b")), "labels[1].knob"),
    (STAGE, "sending", (KnobSending("K1", 1), KnobSending("K1", 2)), "sending[1].knob"),
    (STAGE, "broken", (BrokenKnob("K1"), BrokenKnob("K1")), "broken[1].knob"),
    (PAD, "destinations", (LEVEL, Destination("a"), LEVEL), "destinations[2].name"),
    (Group("low", ("a",)), "members", ("Pad", "a/b", "Pad"), "members[2]"),
    (ALL, "moves", ("Pad/a", "Pad", "Pad/a"), "moves[2]"),
    (ALL, "positions", (KnobPosition("K1", 1), KnobPosition("K1", 2)), "positions[1].knob"),
    (Surface.row(2), "reserved", ("K1", "K1"), "reserved[1]"),
    (Surface.row(2), "favoured", ("K1", "K1"), "favoured[1]"),
    (ROW, "knobs", (Knob("K1", 1, 1), Knob("K1", 1, 2)), "knobs[1].name"),
]


@pytest.mark.parametrize(("word", "field", "twice", "where"), TWICE)
def test_a_name_is_given_once(word: Any, field: str, twice: tuple[Any, ...], where: str) -> None:
    with pytest.raises(InputError, match="given twice") as caught:
        attrs.evolve(word, **{field: twice})
    assert caught.value.field == f"{type(word).__name__}.{where}"


KINDS: list[tuple[Any, str, Any, str]] = [
    (ALL, "positions", (("K1", 1),), "positions[0]"),
    (STAGE, "voices", (Group("low", ("a",)),), "voices[0]"),
    (ROW, "knobs", (Knob("K1"), "K2"), "knobs[1]"),
    (ROW, "knobs", Knob("K1"), "knobs"),
    (ALL, "moves", b"Pad", "moves"),
    (ALL, "moves", None, "moves"),
    (Group("low", ("a",)), "members", (), "members"),
]


@pytest.mark.parametrize(("word", "field", "wrong", "where"), KINDS)
def test_a_list_holds_values_of_its_kind(word: Any, field: str, wrong: Any, where: str) -> None:
    with pytest.raises(InputError, match="give") as caught:
        attrs.evolve(word, **{field: wrong})
    assert caught.value.field == f"{type(word).__name__}.{where}"
