"""Standard MIDI Files, read: every control change in them, and when.

After RP-001 (Standard MIDI Files 1.0). Two well-known readers drop the controllers of a channel
without notes, and the one that keeps them refuses files that RP-001 says to read; so this reads by
itself. Chunks that are not known, meta events, system exclusive messages and escapes are passed
over by their length. What RP-001 forbids and only one thing can be meant by is read, with a remark;
what could be read in two ways is refused with the byte where it stands. To import it takes next to
no time: what is no such file is refused at once.
"""

from __future__ import annotations

import struct
from bisect import bisect_right
from collections.abc import Callable, Iterator
from operator import itemgetter
from typing import Final, NamedTuple

from knobpack.errors import InputError, Reason
from knobpack.storage.strict_json import MOST_BYTES

MOST_EVENTS: Final = 500_000
"""Events of a file, at most: eight minutes of a full line, and more would take seconds to read."""

TEMPO: Final = 500_000
"""Microseconds in a quarter note where no tempo is set."""

_DATA_BYTES: Final = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
_LONGEST_NUMBER: Final = 4
_META, _SYSTEM_EXCLUSIVE, _ESCAPE = 0xFF, 0xF0, 0xF7
_END_OF_TRACK, _SET_TEMPO = 0x2F, 0x51
_CONTROL_CHANGE: Final = 0xB


class ControlChange(NamedTuple):
    """A control change of a file.

    Args:
        time: when, in milliseconds from the start, rounded.
        channel: 1 to 16.
        number: the controller number, 0 to 127.
        value: 0 to 127.
    """

    time: int
    channel: int
    number: int
    value: int


def control_changes(data: bytes) -> tuple[tuple[ControlChange, ...], tuple[str, ...]]:
    """The control changes of a file in the order of time, and remarks on the file.

    Tracks of format 2 are taken to follow one another.

    Args:
        data: the bytes of the file.

    Raises:
        InputError: it is no Standard MIDI File, or is broken; the field says at which byte.
    """
    if not isinstance(data, bytes):
        raise InputError("data", data, "give the bytes of a Standard MIDI File")
    if len(data) > MOST_BYTES:
        raise InputError("size", len(data), f"give at most {MOST_BYTES:,} bytes")
    reader = _Reader(data)
    form, count, division = reader.header()
    tracks = list(reader.chunks())
    if len(tracks) < count:
        reader.remark(f"{count} tracks are announced, and {len(tracks)} are there")
    start = 0
    for track in tracks:
        end = reader.track(*track, start)
        start = end if form == 2 else 0
    milliseconds = _clock(division, sorted(reader.tempi, key=itemgetter(0)))
    changes = sorted(reader.changes, key=itemgetter(0))
    found = tuple(ControlChange(milliseconds(tick), *change) for tick, *change in changes)
    return found, tuple(reader.remarks)


class _Reader:
    """The bytes of a file, and what was read of them.

    Args:
        data: the bytes.
        at: where is read next.
        end: where the track ends that is read.
        events: how many events there were.
        changes: ticks, and channel, number and value, of each control change.
        tempi: ticks, and microseconds in a quarter note from there on.
        remarks: what is not quite right.
    """

    def __init__(self, data: bytes) -> None:
        self.data = data
        self.at = self.end = self.events = 0
        self.changes: list[tuple[int, int, int, int]] = []
        self.tempi: list[tuple[int, int]] = []
        self.remarks: dict[str, None] = {}

    def remark(self, what: str) -> None:
        self.remarks[f"The file is not quite right: {what}."] = None

    def wrong(self, at: int, right: str) -> InputError:
        """The error of a byte: ``at`` is counted from 0, and told as counted from 1."""
        found = self.data[at : at + 4].hex(" ") or Reason("the file ends here")
        return InputError(f"byte {at + 1}", found, right)

    def header(self) -> tuple[int, int, int]:
        """Format, number of tracks and division."""
        if self.data[:4] != b"MThd" or len(self.data) < 14:
            wrapped = " (a wrapper is around this one)" if self.data[:4] == b"RIFF" else ""
            raise self.wrong(0, f"give a Standard MIDI File, which begins with 'MThd'{wrapped}")
        form, count, division = struct.unpack(">3H", self.data[8:14])
        if form > 2:
            raise self.wrong(8, "formats 0, 1 and 2 can be read")
        if division == 0 or (division >= 0x8000 and division & 0xFF == 0):
            raise self.wrong(12, "a quarter note, or frame, has one tick or more")
        return form, count, division

    def chunks(self) -> Iterator[tuple[int, int]]:
        """Where each track starts and ends; other chunks are passed over."""
        at = 0
        while at < len(self.data):
            if at + 8 > len(self.data):
                self.remark(f"{len(self.data) - at} bytes stand after its last chunk")
                return
            kind, size = struct.unpack_from(">4sI", self.data, at)
            start, at = at + 8, at + 8 + size
            if at > len(self.data):
                right = f"this chunk is {size} bytes long, and the file ends before; save it whole"
                raise self.wrong(start - 4, right)
            if kind == b"MTrk":
                yield start, at

    def track(self, start: int, end: int, now: int) -> int:
        """Read a track from a tick on; the tick at which it ends."""
        self.at, self.end = start, end
        running, others = 0, False
        while self.at < end:
            now += self.quantity()
            begin = self.at
            self.events += 1
            if self.events > MOST_EVENTS:
                right = f"give a recording of at most {MOST_EVENTS:,} events; record less at once"
                raise InputError("events", self.events, right)
            if begin < end and self.data[begin] >= 0x80:
                status, self.at = self.data[begin], begin + 1
            elif running:
                status = running
                if others:
                    self.remark("running status goes on after what ends it")
            else:
                raise self.wrong(begin, "here a message begins, with a byte of 80 or more")
            others = status in (_META, _SYSTEM_EXCLUSIVE, _ESCAPE)
            if status == _META:
                if self.meta(now):
                    return now
            elif others:
                self.pieces(self.quantity())
            elif status >> 4 in _DATA_BYTES:
                running = status
                self.message(status, now)
            else:
                raise self.wrong(begin, "no file holds a message of this status")
        self.remark("a track has no end")
        return now

    def quantity(self) -> int:
        """A number of variable length."""
        found = 0
        for _ in range(_LONGEST_NUMBER):
            byte = self.pieces(1)[0]
            found = (found << 7) | (byte & 0x7F)
            if byte < 0x80:
                return found
        raise self.wrong(self.at - 1, "a number takes four bytes at most")

    def pieces(self, count: int) -> bytes:
        """So many bytes."""
        if self.at + count > self.end:
            raise self.wrong(self.at, "the track ends within an event; save the file whole")
        self.at += count
        return self.data[self.at - count : self.at]

    def meta(self, now: int) -> bool:
        """Read a meta event; whether it ends the track."""
        kind = self.pieces(1)[0]
        body = self.pieces(self.quantity())
        if kind == _END_OF_TRACK and self.at < self.end:
            self.remark(f"{self.end - self.at} bytes stand after the end of a track")
        if kind == _SET_TEMPO:
            tempo = int.from_bytes(body, "big")
            if len(body) == 3 and tempo:
                self.tempi.append((now, tempo))
            else:
                self.remark("a tempo is not three bytes long, or 0, and was passed over")
        return kind == _END_OF_TRACK

    def message(self, status: int, now: int) -> None:
        start = self.at
        body = self.pieces(_DATA_BYTES[status >> 4])
        for place, byte in enumerate(body):
            if byte >= 0x80:
                raise self.wrong(start + place, "a data byte is 7F at most")
        if status >> 4 == _CONTROL_CHANGE:
            self.changes.append((now, (status & 0xF) + 1, *body))


def _clock(division: int, tempi: list[tuple[int, int]]) -> Callable[[int], int]:
    """What gives the milliseconds of a tick, rounded."""
    if division >= 0x8000:
        frames, ticks = 256 - (division >> 8), division & 0xFF
        # 29 stands for 30 frames of which some are dropped: 30,000 in 1,001 seconds.
        over, under = (1_001_000, 30_000 * ticks) if frames == 29 else (1_000, frames * ticks)
        return lambda tick: (tick * over + under // 2) // under
    since = [(0, 0, TEMPO)]  # a tick, the microseconds there times the division, and the tempo
    for tick, tempo in tempi:
        there, time, before = since[-1]
        since.append((tick, time + (tick - there) * before, tempo))

    def milliseconds(tick: int) -> int:
        there, time, tempo = since[bisect_right(since, tick, key=itemgetter(0)) - 1]
        return (time + (tick - there) * tempo + 500 * division) // (1_000 * division)

    return milliseconds
