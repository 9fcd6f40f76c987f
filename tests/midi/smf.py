"""Readers of Standard MIDI Files, one of them plain, after RP-001; a receiver of what they send.

Nothing here is shared with the package, or with the library that it writes with.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import attrs
import symusic

DATA_BYTES = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
"""How many data bytes a channel message has, by the upper half of its status (MIDI 1.0)."""

Event = tuple[int, bytes]
"""The tick at which it happens; the whole message, its status written out."""


@attrs.frozen
class Read:
    """A file that was read."""

    format: int
    division: int
    tracks: tuple[tuple[Event, ...], ...]


def quantity(data: bytes, at: int) -> tuple[int, int]:
    """The variable-length quantity that starts at a place, and where it ends."""
    found = 0
    while True:
        found = (found << 7) + (data[at] & 0x7F)
        at += 1
        if data[at - 1] < 0x80:
            return found, at


def read(data: bytes) -> Read:
    """Read a file, to its last byte."""
    kind, header, at = chunk(data, 0)
    assert kind == b"MThd"
    assert len(header) >= 6
    form, count, division = (int.from_bytes(header[n : n + 2], "big") for n in (0, 2, 4))
    tracks = []
    while at < len(data):
        kind, body, at = chunk(data, at)
        assert kind == b"MTrk"
        tracks.append(tuple(events(body)))
    assert at == len(data)
    assert len(tracks) == count
    return Read(form, division, tuple(tracks))


def by_symusic(data: bytes) -> Any:
    """The file as symusic reads it, a library in C++; it passes over tracks without a note."""
    return symusic.Score.from_midi(data)


def chunk(data: bytes, at: int) -> tuple[bytes, bytes, int]:
    size = int.from_bytes(data[at + 4 : at + 8], "big")
    body = data[at + 8 : at + 8 + size]
    assert len(body) == size
    return data[at : at + 4], body, at + 8 + size


def events(body: bytes) -> Iterator[Event]:
    """The events of a track; nothing may come after its end."""
    at, now, running = 0, 0, 0
    while True:
        delta, at = quantity(body, at)
        now += delta
        status = body[at]
        if status == 0xFF:
            size, start = quantity(body, at + 2)
            yield now, body[at : at + 2] + body[start : start + size]
            running = 0  # RP-001: a meta event cancels running status
            if body[at + 1] == 0x2F:
                assert start == len(body)
                return
            at = start + size
            continue
        if status >= 0x80:
            running, at = status, at + 1
        assert 0x80 <= running < 0xF0
        count = DATA_BYTES[running >> 4]
        inner = body[at : at + count]
        assert len(inner) == count
        assert max(inner) < 0x80
        yield now, bytes([running]) + inner
        at += count


def controls(read_events: Iterable[Event], channel: int) -> list[tuple[int, int, int]]:
    """The control changes of a channel, 1 to 16: tick, number and value."""
    status = 0xB0 + channel - 1
    return [(now, each[1], each[2]) for now, each in read_events if each[0] == status]


@attrs.define
class Receiver:
    """What a receiver makes of control changes.

    Args:
        zeroing: whether it takes the fine half for zero when it gets a coarse one: it should, by
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
        coarse, fine = numbers
        return 128 * self.held[coarse] + self.held[fine]
