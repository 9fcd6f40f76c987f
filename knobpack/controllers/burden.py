"""Burden: how much the meaning that a number has already stands in the way of a knob."""

from __future__ import annotations

from typing import Final

from knobpack.controllers.table import ASSIGNABLE, TABLE, USABLE, Controller

SWITCHED, CHANGES, SOUND, RESET, DEFINED, SINGLE, NONE = 6, 5, 4, 3, 2, 1, 0


def _burden(row: Controller) -> int:
    if row.takes in {"switch", "note", "velocity"}:
        return SWITCHED  # most positions of a knob would be lost on it
    if row.takes == "change":
        return CHANGES  # its middle means "as it was", not the middle
    if 70 <= row.number <= 79:
        return SOUND
    if row.undefined or row.general:
        return NONE if row.number in ASSIGNABLE else SINGLE
    return RESET if isinstance(row.on_reset, int) else DEFINED


BURDENS: Final = {number: _burden(TABLE[number]) for number in USABLE}
"""How many points each usable number costs:

- 0: undefined or general purpose, and assignable;
- 1: undefined, 102 to 119: a receiver that keeps to CA-022 ignores them;
- 2: defined, takes a position, and Reset All Controllers leaves it: 7, 10, 91 to 95;
- 3: defined, takes a position, and Reset All Controllers sets it, so that a knob that is held no
  longer tells what is heard: 1, 2, 4, 5, 8, 11, 12, 13;
- 4: a sound controller that takes a position: 70, 79;
- 5: a sound controller of which 64 may mean "no change": 71 to 78;
- 6: what takes no position at all: switches, 64 to 69; a note number, 84; the fine part of a
  velocity, 88.
"""
