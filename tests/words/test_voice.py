"""Voice, destination and group."""

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.words import Destination, Group, Span, Travel, Voice


def test_the_kind_is_the_name_where_it_is_left_out() -> None:
    assert Destination("cutoff").kind == "cutoff"
    assert Destination("cutoff 2", kind="cutoff").kind == "cutoff"


def test_what_a_destination_is_where_nothing_is_said() -> None:
    plain = Destination("cutoff")
    assert (plain.travel, plain.source_knob, plain.steps) == (None, None, None)
    assert plain.movable
    assert not plain.must_place
    # Medium on the scale of M2-117-UM v1.0 (June 2023), which gives no default of its own:
    # 1 essential, 2 high, 3 medium, 4 low, 5 hidden.
    assert plain.priority == 3


@pytest.mark.parametrize("priority", [1, 2, 3, 4, 5])
def test_the_priority_scale_has_five_steps(priority: int) -> None:
    # M2-117-UM v1.0 (June 2023), property "priority": an integer, 1 essential to 5 hidden.
    assert Destination("cutoff", priority=priority).priority == priority


@pytest.mark.parametrize("priority", [0, 6, True, 3.0, "3", None])
def test_no_other_priority_is_on_the_scale(priority: Any) -> None:
    right = r"a whole number \(1 essential, 5 hidden\) from 1 to 5"
    with pytest.raises(InputError, match=right) as caught:
        Destination("cutoff", priority=priority)
    assert caught.value.field == "Destination.priority"


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        *(("kind", None), ("kind", "a/b"), ("travel", (0, 127)), ("travel", 5)),
        *(("source_knob", ""), ("source_knob", 3), ("movable", None), ("must_place", 1)),
        *(("steps", 1), ("steps", 0), ("steps", 2**32 + 1), ("steps", 2.0)),
    ],
)
def test_a_destination_refuses_what_a_field_cannot_hold(field: str, wrong: Any) -> None:
    with pytest.raises(InputError) as caught:
        Destination(**{"name": "cutoff", field: wrong})
    assert caught.value.field == f"Destination.{field}"
    assert caught.value.value == wrong


def test_a_stepped_destination_takes_two_values_or_more() -> None:
    assert Destination("wave", steps=2).steps == 2
    assert Destination("wave", steps=2**32).steps == 2**32


def test_a_voice_names_its_destinations_outside() -> None:
    cutoff = Destination("cutoff", travel=Travel(0, 63))
    voice = Voice("Pad", (cutoff, Destination("level")), layer=1, source="Stage")
    assert voice.full_name(cutoff) == "Pad/cutoff"


def test_the_destinations_of_a_voice_have_names_of_their_own() -> None:
    twice = (Destination("cutoff"), Destination("level"), Destination("cutoff", kind="other"))
    with pytest.raises(InputError, match="given twice") as caught:
        Voice("Pad", twice)
    assert caught.value.field == "Voice.destinations[2].name"
    assert caught.value.value == "cutoff"


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        *(("layer", 0), ("layer", 10_001), ("layer", True), ("source", ""), ("source", 1)),
        *(("destinations", None), ("destinations", "cutoff")),
    ],
)
def test_a_voice_refuses_what_a_field_cannot_hold(field: str, wrong: Any) -> None:
    with pytest.raises(InputError) as caught:
        Voice(**{"name": "Pad", field: wrong})
    assert caught.value.field == f"Voice.{field}"


def test_a_group_has_members_each_once() -> None:
    assert Group("low", ("Pad", "Bass/level")).members == ("Pad", "Bass/level")
    with pytest.raises(InputError, match="give 1 or more names") as caught:
        Group("low", ())
    assert caught.value.field == "Group.members"
    with pytest.raises(InputError, match="given twice") as caught:
        Group("low", ("Pad", "Pad"))
    assert caught.value.field == "Group.members[1]"


@pytest.mark.parametrize(
    ("field", "right", "wrong"),
    [
        # MIDI 1.0 Detailed Specification, Table I: channels 1 to 16, 128 programs.
        ("channel", (1, 16), (0, 17, True, "1")),
        ("program", (1, 128), (0, 129, 1.0)),
        # RPN 00-02, channel coarse tuning: data 0 to 127 are -64 to +63 semitones.
        ("transposition", (-64, 0, 63), (-65, 64, "0")),
        ("keys", (Span(0, 127), Span(60, 59)), ((0, 127), 60)),
        ("velocities", (Span(0, 0),), (64,)),
    ],
)
def test_how_a_voice_is_played(field: str, right: Any, wrong: Any) -> None:
    assert getattr(Voice("Pad"), field) is None
    for value in right:
        assert getattr(Voice("Pad", **{field: value}), field) == value
    for value in wrong:
        with pytest.raises(InputError) as caught:
            Voice("Pad", **{field: value})
        assert caught.value.field == f"Voice.{field}"


@pytest.mark.parametrize(("low", "high"), [(-1, 5), (0, 128), ("0", 5), (0, None)])
def test_keys_and_velocities_are_data_bytes(low: Any, high: Any) -> None:
    # MIDI 1.0 Detailed Specification, Table II: data bytes are of 7 bits.
    with pytest.raises(InputError, match="from 0 to 127"):
        Span(low, high)


@pytest.mark.parametrize(
    ("voice", "keys", "velocities"),
    [
        (Voice("Pad"), 128, 127),
        (Voice("Pad", keys=Span(36, 59)), 24, 127),
        (Voice("Pad", keys=Span(60, 59)), 0, 127),
        (Voice("Pad", velocities=Span(100, 127)), 128, 28),
        # MIDI 1.0: a Note On of velocity 0 is a Note Off, so that this one never sounds.
        (Voice("Pad", velocities=Span(0, 0)), 128, 0),
    ],
)
def test_what_a_voice_answers_to(voice: Voice, keys: int, velocities: int) -> None:
    assert len(voice.sounding_keys) == keys
    assert len(voice.sounding_velocities) == velocities
    assert voice.sounds == (keys > 0 and velocities > 0)


def test_how_a_voice_is_played_is_told() -> None:
    assert Voice("Pad", layer=1).played == ()
    voice = Voice(
        "Pad", channel=2, keys=Span(36, 60), velocities=Span(1, 99), transposition=-12, program=5
    )
    assert voice.played == (
        "channel 2",
        "keys 36 to 60",
        "velocities 1 to 99",
        "transposition -12 semitones",
        "program 5 (sent as 4)",
    )
