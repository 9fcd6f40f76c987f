"""Notes in a sweep file: in range, on the channel of their voice, moderate, and ended."""

from __future__ import annotations

from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError
from knobpack.midi import sweep_file, sweep_files
from knobpack.words import Destination, KnobSending, Route, Setup, Snapshot, Span, Surface, Voice
from tests.midi.smf import controls, track_of

ORGAN = Voice("Organ", (Destination("drive"),), channel=2, keys=Span(36, 59))
STRINGS = Voice("Strings", (Destination("cutoff"),), channel=3, transposition=-12)
BASS = Voice("Bass", (Destination("tone"),), channel=3, velocities=Span(1, 40))
SETUP = Setup(
    "Evening set",
    Surface.row(3),
    (ORGAN, STRINGS, BASS),
    routes=(Route("Organ/drive", "K1"), Route("Strings/cutoff", "K2"), Route("Bass/tone", "K3")),
    snapshots=(
        Snapshot("all", ("Organ", "Strings", "Bass")),
        Snapshot("organ", ("Organ",), silent=("Strings",)),
    ),
    sending=(KnobSending("K1", 16), KnobSending("K2", 16), KnobSending("K3", 20, channel=9)),
)
SHORT = settings(max_examples=40)


def notes(data: bytes) -> list[tuple[int, int, int, int, int]]:
    """The notes of a file: channel, key, velocity, from when to when."""
    started, found = {}, []
    for now, message in track_of(data):
        sort, channel = message[0] >> 4, 1 + message[0] % 16
        if sort == 0x9:
            assert message[2] > 0  # a Note On of velocity 0 would be a Note Off (MIDI 1.0)
            started[channel, message[1]] = now, message[2]
        elif sort == 0x8:
            when, velocity = started.pop((channel, message[1]))
            found.append((channel, message[1], velocity, when, now))
    assert not started  # every note is ended
    return found


def test_what_knobs_really_send_is_sent_on_the_channels_of_their_voices() -> None:
    found = sweep_file(SETUP, "all", seconds=1)
    track = track_of(found.data)
    assert [{n for _, n, _ in controls(track, channel)} for channel in (1, 2, 3, 9)] == [
        set(),
        {16},
        {16},
        {20},
    ]
    assert "K2 is sent on controller 16 on channel 3, from 0 to 127 and back." in found.sentences
    # One channel for all, where that is asked for: then K1 and K2 cannot be told apart.
    with pytest.raises(InputError, match="give each its own"):
        sweep_file(SETUP, "all", channel=1, seconds=1)


def test_a_knob_is_sent_on_each_channel_that_its_voices_receive_on() -> None:
    routes = tuple(Route(each.destination, "K1") for each in SETUP.routes)
    setup = attrs.evolve(SETUP, routes=routes, sending=(KnobSending("K1", 7, fine=True),))
    track = track_of(sweep_file(setup, "all", seconds=1).data)
    two, three = controls(track, 2), controls(track, 3)
    assert {number for _, number, _ in two} == {7, 39}
    assert [each[1:] for each in two] == [each[1:] for each in three]
    assert controls(track, 1) == []


def test_an_endless_knob_is_not_sent() -> None:
    sending = (KnobSending("K1", 16, turning="endless"), KnobSending("K2", 17, turning="pick-up"))
    found = sweep_file(attrs.evolve(SETUP, sending=sending), "all", seconds=1)
    assert controls(track_of(found.data), 2) == []
    told = "Not sent, because it is endless and sends changes alone: K1."
    assert told in found.sentences
    assert "Not sent, for want of a number: K3." in found.sentences


def test_notes_are_in_range_moderate_and_where_they_sound_in_the_middle() -> None:
    # Middle C is key 60 (MIDI 1.0, Table II): the organ has no key so high; the strings sound an
    # octave lower than the key; the bass answers to soft notes alone.
    found = sweep_file(SETUP, "all", seconds=1, notes=True)
    end = found.timing.end
    assert notes(found.data) == [
        (2, 59, 64, 500, end - 2),
        (3, 72, 64, 501, end - 1),
        (3, 60, 40, 502, end),
    ]
    assert "Held throughout: Bass, key 60 on channel 3 at velocity 40." in found.sentences
    assert any(CAUTION in each for each in found.sentences)
    assert not notes(sweep_file(SETUP, "all", seconds=1).data)


def test_a_silent_voice_has_no_note() -> None:
    found = sweep_file(SETUP, "organ", seconds=1, notes=True)
    assert [each[:3] for each in notes(found.data)] == [(2, 59, 64), (3, 60, 40)]
    assert "Silent in 'organ', so without a note: Strings." in found.sentences


def test_voices_on_one_channel_share_a_key() -> None:
    level = attrs.evolve(STRINGS, transposition=None)
    setup = attrs.evolve(SETUP, voices=(level, BASS))
    (only,) = notes(sweep_file(setup, "all", seconds=1, notes=True).data)
    assert only[:3] == (3, 60, 40)  # the velocity nearest to 64 that both answer to
    loud = attrs.evolve(level, velocities=Span(41, 127))
    setup = attrs.evolve(SETUP, voices=(ORGAN, loud, BASS))
    with pytest.raises(InputError, match="no velocity in common"):
        sweep_file(setup, "all", seconds=1, notes=True)


def test_a_voice_that_no_note_reaches_is_passed_over() -> None:
    never = attrs.evolve(BASS, velocities=Span(0, 0))
    setup = attrs.evolve(SETUP, voices=(ORGAN, STRINGS, never))
    assert len(notes(sweep_file(setup, "all", seconds=1, notes=True).data)) == 2


SPANS = st.none() | st.builds(Span, st.integers(0, 127), st.integers(0, 127))


@SHORT
@given(st.lists(st.tuples(st.integers(1, 16), SPANS, SPANS, st.integers(-64, 63)), max_size=5))
def test_every_note_reaches_its_voice(drawn: list[tuple[int, Any, Any, int]]) -> None:
    voices = tuple(
        Voice(f"V{n}", channel=16 - n, keys=keys, velocities=velocities, transposition=up)
        for n, (_, keys, velocities, up) in enumerate(drawn)
    )
    setup = Setup("s", Surface.row(0), voices)
    (found,) = sweep_files(setup, {}, seconds=1, notes=True)
    heard = {channel: (key, velocity) for channel, key, velocity, _, _ in notes(found.data)}
    for voice in voices:
        keys = [
            key
            for key in range(128)
            if voice.keys is None or voice.keys.low <= key <= voice.keys.high
        ]
        strong = [
            data
            for data in range(1, 128)
            if voice.velocities is None or voice.velocities.low <= data <= voice.velocities.high
        ]
        assert (voice.channel in heard) == bool(keys and strong)
        if voice.channel in heard:
            key, velocity = heard[voice.channel]
            assert key in keys
            off = abs(key + (voice.transposition or 0) - 60)
            assert off == min(abs(each + (voice.transposition or 0) - 60) for each in keys)
            assert velocity in strong
            assert abs(velocity - 64) == min(abs(each - 64) for each in strong)
