"""Held notes, and the Standard MIDI File (RP-001) of all that is sent as the master is swept."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from heapq import merge
from itertools import chain
from operator import itemgetter

import attrs

from knobpack.errors import InputError
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
    """
    head = [_meta(0x03, name.encode()), *([_meta(0x01, text.encode())] if text else [])]
    # 4/4, a click of the metronome each quarter note, 8 of the notated 32nds in that.
    head += [_meta(0x58, bytes((4, 2, 24, 8))), _meta(0x51, TEMPO.to_bytes(3, "big"))]
    sent = ((when, bytes((0xB0 + on - 1, number, value))) for when, on, number, value in events)
    # A millisecond for each, as for all that is sent; the last ends with the track.
    held = [
        (first + place, bytes((status + each.channel - 1, each.key, each.velocity)))
        for first, status in ((NOTE_AT, 0x90), (end - len(notes) + 1, 0x80))
        for place, each in enumerate(notes)
    ]
    closing = [(end, _meta(0x2F, b""))]
    track, now, status = bytearray(), 0, 0xFF
    first = ((0, each) for each in head)
    for when, message in chain(first, merge(sent, held, closing, key=itemgetter(0))):
        # A status that is that of the event before is left out, but of meta events.
        running = message[0] == status != 0xFF
        track += _quantity(when - now) + message[running:]
        now, status = when, message[0]
    header = struct.pack(">4sIHHH", b"MThd", 6, 0, 1, TICKS_A_QUARTER)
    return header + struct.pack(">4sI", b"MTrk", len(track)) + track


def _meta(kind: int, data: bytes) -> bytes:
    """A meta event."""
    return bytes((0xFF, kind)) + _quantity(len(data)) + data


def _quantity(number: int) -> bytes:
    """A quantity of variable length: seven bits to a byte, of which the last is below 128."""
    found = [number & 0x7F]
    while number := number >> 7:
        found.insert(0, 0x80 | number & 0x7F)
    return bytes(found)
