"""Standard MIDI Files, read by libraries outside of the package; a receiver of what they send."""

from __future__ import annotations

import io
from collections.abc import Iterable
from typing import Any

import attrs
import mido  # type: ignore[import-untyped]
import symusic

Event = tuple[int, bytes]
"""The tick at which it happens; the whole message, but for the length of a meta event."""


def track_of(data: bytes) -> tuple[Event, ...]:
    """The one track of a file of format 0 and 500 ticks to a quarter note, as mido reads it."""
    file = mido.MidiFile(file=io.BytesIO(data))
    assert (file.type, file.ticks_per_beat, len(file.tracks)) == (0, 500, 1)
    found, now = [], 0
    for message in file.tracks[0]:
        now += message.time
        whole = bytes(message.bin())
        if message.is_meta:
            length = next(at for at, byte in enumerate(whole[2:], 2) if byte < 0x80)
            whole = whole[:2] + whole[length + 1 :]
        found.append((now, whole))
    return tuple(found)


def by_symusic(data: bytes) -> Any:
    """The file as symusic reads it, a library in C++; it passes over tracks without a note."""
    return symusic.Score.from_midi(data)


def controls(events: Iterable[Event], channel: int) -> list[tuple[int, int, int]]:
    """The control changes of a channel, 1 to 16: tick, number and value."""
    status = 0xB0 + channel - 1
    return [(now, each[1], each[2]) for now, each in events if each[0] == status]


@attrs.define
class Receiver:
    """What a receiver makes of control changes.

    Args:
        zeroing: whether it takes the low half for zero when it gets a high one: it should, by
            MIDI 1.0, Table II, note 4.
        held: what it has under each controller number.
    """

    zeroing: bool
    held: dict[int, int] = attrs.Factory(dict)

    def take(self, number: int, value: int) -> None:
        """Take one control change."""
        if self.zeroing and number < 32:
            self.held[number + 32] = 0
        self.held[number] = value

    def stands(self, numbers: int | tuple[int, int]) -> int:
        """Where it stands, in 7 bits or in 14."""
        if isinstance(numbers, int):
            return self.held[numbers]
        high, low = numbers
        return 128 * self.held[high] + self.held[low]
