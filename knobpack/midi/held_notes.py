"""Held notes, and the Standard MIDI File (RP-001) of all that is sent as the master is swept."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from heapq import merge
from operator import itemgetter
from typing import Any

import attrs

from knobpack.errors import InputError, MissingExtra
from knobpack.grouped import grouped
from knobpack.midi.sweep_streams import NOTE_AT, Event
from knobpack.words import Setup, Snapshot, Voice, fields

MODERATE = 64
"""How hard a note is struck, of 127: moderately; nearest to it where a voice does not answer."""

MIDDLE = 60
"""Middle C (MIDI 1.0 Detailed Specification, Table II)."""

MOST = 100
"""Notes in a file, at most: each is given a millisecond before the sweep starts."""


@attrs.frozen
class Note:
    """One note that is held.

    Args:
        voices: the voices that it is for, in the order of the setup.
        channel: 1 to 16.
        key: as it is pressed, 0 to 127.
        velocity: 1 to 127.
    """

    voices: tuple[str, ...]
    channel: int
    key: int
    velocity: int


def notes_of(
    where: str, setup: Setup, snapshot: Snapshot, asked: object, channel: int | None
) -> tuple[Note, ...]:
    """The notes that are held in a snapshot.

    Args:
        where: what holds them, for errors.
        setup: the setup.
        snapshot: the snapshot; a voice that is silent in it has none.
        asked: whether there are any: a key of each voice that sounds.
        channel: the channel of all; None: that of each voice, 1 where none is given.

    Raises:
        InputError: ``asked`` is neither true nor false, or there are too many, or voices with one
            key on a channel answer to no velocity in common.
    """
    fields.check_kind(where, asked, bool)
    held = grouped(
        ((channel or voice.channel or 1, _middle(voice)), voice)
        for voice in setup.voices
        if asked and voice.sounds and voice.name not in snapshot.silent
    )
    if len(held) > MOST:
        raise InputError(where, len(held), f"give at most {MOST} notes")
    return tuple(
        Note(tuple(v.name for v in voices), on, key, _velocity(where, voices))
        for (on, key), voices in held.items()
    )


def _middle(voice: Voice) -> int:
    """The key that sounds nearest to middle C, as the voice is transposed; the lower of two."""
    up = voice.transposition or 0
    return min(voice.sounding_keys, key=lambda key: (abs(key + up - MIDDLE), key))


def _velocity(where: str, voices: Sequence[Voice]) -> int:
    """The most moderate velocity that all of some voices answer to."""
    low = max(voice.sounding_velocities.start for voice in voices)
    high = min(voice.sounding_velocities.stop - 1 for voice in voices)
    if low > high:
        names = tuple(voice.name for voice in voices)
        right = "put them on other channels: on one they have one key, and no velocity in common"
        raise InputError(where, names, right)
    return min(max(MODERATE, low), high)


TICKS_A_QUARTER = 500
TEMPO = 500_000
"""Microseconds in a quarter note. With so many ticks in it, a tick is a millisecond."""

_TEXT = 0x01  # the meta event FF 01
_TRACK_NAME = 0x03  # FF 03


def midi_file(
    name: str, events: Iterable[Event], end: int, *, text: str, notes: Sequence[Note]
) -> bytes:
    """The bytes of a file of format 0: one track, 120 quarter notes a minute, in 4/4.

    The name is written as UTF-8, which is ASCII wherever the name is. RP-001 asks for ASCII "for
    maximum interchange" and allows other codes above it: a program that does not know UTF-8 shows
    the rest of the name wrongly, and plays the file all the same.

    Args:
        name: the name of the track.
        events: in order of time.
        end: when the track ends, and the notes with it, in milliseconds.
        text: what a text event at the start says; no such event if it is empty.
        notes: what is held.

    Raises:
        MissingExtra: mido is not installed.
    """
    try:
        import mido  # type: ignore[import-untyped]
    except ImportError as error:
        raise MissingExtra("MIDI files", "mido", "midi") from error
    file = mido.MidiFile(type=0, ticks_per_beat=TICKS_A_QUARTER)
    track = mido.MidiTrack()
    file.tracks.append(track)
    # Bytes, and not the text: mido keeps how text is coded in one place for all threads.
    track.append(mido.UnknownMetaMessage(_TRACK_NAME, data=name.encode()))
    if text:
        track.append(mido.UnknownMetaMessage(_TEXT, data=text.encode()))
    track.append(mido.MetaMessage("time_signature", numerator=4, denominator=4))
    track.append(mido.MetaMessage("set_tempo", tempo=TEMPO))
    sent: Iterable[tuple[int, Any]] = (
        (when, mido.Message("control_change", channel=channel - 1, control=number, value=value))
        for when, channel, number, value in events
    )
    # A millisecond for each, as for all that is sent; the last ends with the track.
    held = [
        (
            first + place,
            mido.Message(sort, channel=each.channel - 1, note=each.key, velocity=each.velocity),
        )
        for first, sort in ((NOTE_AT, "note_on"), (end - len(notes) + 1, "note_off"))
        for place, each in enumerate(notes)
    ]
    now = 0
    closing = [(end, mido.MetaMessage("end_of_track"))]
    for when, message in merge(sent, held, closing, key=itemgetter(0)):
        message.time, now = when - now, when
        track.append(message)
    buffer = io.BytesIO()
    file.save(file=buffer)
    return buffer.getvalue()
