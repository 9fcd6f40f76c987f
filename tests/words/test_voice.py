"""Voice, destination and group."""

import pytest

from knobpack.words import Destination, Span, Travel, Voice


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


def test_a_voice_names_its_destinations_outside() -> None:
    cutoff = Destination("cutoff", travel=Travel(0, 63))
    voice = Voice("Pad", (cutoff, Destination("level")), layer=1, source="Stage")
    assert voice.full_name(cutoff) == "Pad/cutoff"


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
