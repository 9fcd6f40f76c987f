"""Standard MIDI Files, written: control changes and notes as bytes (RP-001), with mido."""

from __future__ import annotations

import io
from collections.abc import Iterable, Sequence
from heapq import merge
from operator import itemgetter
from typing import Any

from knobpack.errors import MissingExtra
from knobpack.midi.held_notes import Note
from knobpack.midi.sweep_streams import NOTE_AT, Event

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
