"""Standard MIDI Files put together byte by byte, after RP-001."""

from __future__ import annotations

from collections.abc import Iterable

Change = tuple[int, int, int, int]
"""When, in ticks; channel, controller number, value."""


def chunk(kind: bytes, body: bytes) -> bytes:
    """A chunk with its length."""
    return kind + len(body).to_bytes(4, "big") + body


def header(tracks: int = 1, form: int = 0, division: int = 500, more: bytes = b"") -> bytes:
    """A header; with 500 ticks to a quarter note a tick is a millisecond."""
    numbers = (form, tracks, division)
    return chunk(b"MThd", b"".join(each.to_bytes(2, "big") for each in numbers) + more)


def track(events: str) -> bytes:
    """A track of events in hexadecimal, with its end."""
    return chunk(b"MTrk", bytes.fromhex(events) + bytes.fromhex("00 FF 2F 00"))


def file_of(events: str) -> bytes:
    """A file of format 0."""
    return header() + track(events)


def quantity(number: int) -> bytes:
    """A number of variable length."""
    assert number >= 0
    found = [number & 0x7F]
    while number := number >> 7:
        found.insert(0, 0x80 | (number & 0x7F))
    return bytes(found)


def changes_file(changes: Iterable[Change]) -> bytes:
    """A file of control changes, each with its status byte; those at one time in their order."""
    body, now = bytearray(), 0
    for when, channel, number, value in sorted(changes, key=lambda change: change[0]):
        body += quantity(when - now) + bytes((0xB0 + channel - 1, number, value))
        now = when
    return file_of(body.hex())
