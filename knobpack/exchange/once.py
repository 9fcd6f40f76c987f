"""Once: every controller is listed once, or once each way."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from knobpack.errors import InputError
from knobpack.exchange.entry import Entry


def check_once(entries: Sequence[Entry]) -> None:
    """Refuse a controller that is listed twice.

    It may be, once with transmit none and once with recognize none (M2-117-UM, 2.1). Controller
    numbers are looked at one by one: 7 and the pair 7, 39 are moved by the same message.

    Raises:
        InputError: one is.
    """
    seen: dict[tuple[Any, ...], list[Entry]] = {}
    for entry in entries:
        parts = [(number,) for number in entry.index] if entry.ctrl_type == "cc" else [entry.index]
        for part in parts:
            before = seen.setdefault((entry.channel, entry.ctrl_type, *part), [])
            if before and (len(before) > 1 or not _two_ways(before[0], entry)):
                key = "ctrlIndex" if entry.index else "ctrlType"
                value = list(entry.index) if entry.index else entry.ctrl_type
                right = (
                    f"{before[0].place} is this controller already; list it once, or once with "
                    "transmit none and once with recognize none"
                )
                raise InputError(f"{entry.place}.{key}", value, right)
            before.append(entry)


def _two_ways(one: Entry, other: Entry) -> bool:
    """Whether one of them is only received, and the other only sent."""
    return any(
        received.transmit == "none" and sent.recognize == "none"
        for received, sent in ((one, other), (other, one))
    )
