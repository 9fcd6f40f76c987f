"""The Control Change table: what the open standards say of each of the 128 controller numbers.

Sources: MIDI 1.0 Detailed Specification (1996), Table III and pages 11 to 16; the Control Change
table of the MIDI Association (Table 3, 2020); M2-113-UM Appendix A (2020); RP-015 (Reset All
Controllers); RP-021 (defaults of the sound controllers); RP-023 (effects depths 1 and 3); CA-031
(controller 88); GM2 3.3.11 to 3.3.18; CA-022 / GM2 4.6.2 and SoundFont 2.04, 8.2.1 (what may be
assigned). Channel modes stand in the table because they share its numbers; they are no controllers.
Beside it stands what carries parameters, and how much the meaning of a number is in a knob's way.
"""

from __future__ import annotations

from typing import Final, Literal, TypeAlias

import attrs

from knobpack.words.knob_settings import LOW_HALF, RESERVED

Takes: TypeAlias = Literal["position", "switch", "change", "note", "velocity"]
"""What a value means, where a number is not reserved: a position; 0 to 63 off, 64 to 127 on; a
change, none at 64; a note number; the fine part of the velocity of the next note."""


@attrs.frozen
class Controller:
    """One row of the table.

    Args:
        number: 0 to 127.
        name: as the standards have it; of a low half, what it is the low half of.
        low: whether it is the low half of 14 bits (MIDI 1.0, page 11).
        undefined: whether no standard gives the number a meaning, so that a device may use it for
            anything. A low half is never said to be undefined itself.
        general: whether it is one of the eight general purpose controllers.
        takes: what its values mean.
        on_reset: the value that Reset All Controllers sets; None: it sets none.

    Source:
        MIDI 1.0 Detailed Specification, Table III and page 11; M2-113-UM Appendix A; RP-015. All of
        them: :mod:`knobpack.midi.control_change_table`.
    """

    number: int
    name: str
    low: bool
    undefined: bool
    general: bool
    takes: Takes
    on_reset: int | None


_NAMES: Final = {
    0: "Bank Select",
    1: "Modulation Wheel",
    2: "Breath Controller",
    4: "Foot Controller",
    5: "Portamento Time",
    6: "Data Entry",
    7: "Channel Volume",
    8: "Balance",
    10: "Pan",
    11: "Expression Controller",
    12: "Effect Control 1",
    13: "Effect Control 2",
    **{15 + count: f"General Purpose Controller {count}" for count in range(1, 5)},
    64: "Damper Pedal",
    65: "Portamento On/Off",
    66: "Sostenuto",
    67: "Soft Pedal",
    68: "Legato Footswitch",
    69: "Hold 2",
    # Sound controllers 1 to 10 with the defaults of RP-021; the last has none.
    70: "Sound Variation",
    71: "Timbre/Harmonic Intensity",
    72: "Release Time",
    73: "Attack Time",
    74: "Brightness",
    75: "Decay Time",
    76: "Vibrato Rate",
    77: "Vibrato Depth",
    78: "Vibrato Delay",
    79: "Sound Controller 10",
    **{75 + count: f"General Purpose Controller {count}" for count in range(5, 9)},
    84: "Portamento Control",
    88: "High Resolution Velocity Prefix",
    91: "Reverb Send Level",
    92: "Effects 2 Depth",
    93: "Chorus Send Level",
    94: "Effects 4 Depth",
    95: "Effects 5 Depth",
    96: "Data Increment",
    97: "Data Decrement",
    98: "Non-Registered Parameter Number LSB",
    99: "Non-Registered Parameter Number MSB",
    100: "Registered Parameter Number LSB",
    101: "Registered Parameter Number MSB",
    120: "All Sound Off",
    121: "Reset All Controllers",
    122: "Local Control On/Off",
    123: "All Notes Off",
    124: "Omni Mode Off",
    125: "Omni Mode On",
    126: "Mono Mode On",
    127: "Poly Mode On",
}

# 71 to 78 by GM2 3.3.11 to 3.3.18. MIDI 1.0 says so of 72, 73 and 74 alone, and its page 15 calls
# 71 absolute: a receiver may go by either, so that 71 stands with the careful reading.
_TAKES: Final[dict[int, Takes]] = {
    **dict.fromkeys(range(64, 70), "switch"),
    **dict.fromkeys(range(71, 79), "change"),
    84: "note",
    88: "velocity",
}

# By RP-015: 1, 11, 64 to 67 and 98 to 101. By M2-113-UM App. A besides: all others.
_ON_RESET: Final = {
    **dict.fromkeys((1, 2, 4, 5, 12, 13, *range(64, 70)), 0),
    **dict.fromkeys((8, 40), 64),
    **dict.fromkeys((11, 43, 98, 99, 100, 101), 127),
}


def _row(number: int) -> Controller:
    low = LOW_HALF <= number < 2 * LOW_HALF
    high = number - LOW_HALF if low else number
    name = _NAMES.get(high, "Undefined")
    return Controller(
        number,
        f"LSB of {high} ({name})" if low else name,
        low,
        undefined=not low and number not in _NAMES,
        general=name.startswith("General Purpose") and not low,
        takes=_TAKES.get(number, "position"),
        on_reset=_ON_RESET.get(number),
    )


TABLE: Final = tuple(_row(number) for number in range(128))
"""All 128 rows, by number."""

BY_GM2: Final = (*range(1, 32), *range(64, 96))
"""What CA-022 / GM2 4.6.2 lets a controller be assigned from; all else must be ignored."""

ASSIGNABLE: Final = tuple(number for number in BY_GM2 if number not in RESERVED)
"""1 to 5, 7 to 31, 64 to 95: what both GM2 and SoundFont 2.04, 8.2.1, let be assigned, ascending.
The latter leaves out what is reserved, and keeps 33 to 63 for low halves."""

UNDEFINED_SINGLES: Final = tuple(range(102, 120))
"""Undefined single numbers that no receiver need take for a controller (CA-022)."""

USABLE: Final = (*ASSIGNABLE, *UNDEFINED_SINGLES)
"""Every number that a knob may be sent on at all, ascending: one that is neither reserved nor a low
half. A low half goes with its high half alone."""

DATA_ENTRY: Final = (6, 38)
"""What carries the data of a parameter: high half, low half (MIDI 1.0, page 12)."""

NRPN, RPN = (99, 98), (101, 100)
"""What selects a non-registered parameter, and a registered one: MSB, LSB (MIDI 1.0, page 17)."""

NULL_PARAMETER: Final = (127, 127)
"""The parameter number that selects nothing (MIDI 1.0)."""

RESET_ALL: Final = 121
"""Reset All Controllers (RP-015)."""


def low_half(number: int) -> int | None:
    """The low half of a high half; None where there is none: 64 and above are of a single byte.

    MIDI 1.0, page 12.
    """
    return number + LOW_HALF if number < LOW_HALF else None


def touched(number: int) -> frozenset[int]:
    """What is moved where a number is sent.

    A high half moves its low half, too: to receive it sets the low half to zero (MIDI 1.0, Table
    II, note 4).
    """
    return frozenset((number, low_half(number) or number))


def _burden(row: Controller) -> int:
    if row.takes in {"switch", "note", "velocity"}:
        return 6  # most positions of a knob would be lost on it
    if row.takes == "change":
        return 5  # its middle means "as it was", not the middle
    if row.number in {70, 79}:
        return 4
    if row.undefined or row.general:
        return 0 if row.number in ASSIGNABLE else 1
    return 2 if row.on_reset is None else 3


BURDENS: Final = {number: _burden(TABLE[number]) for number in USABLE}
"""How many points each usable number costs, for the meaning that it has already:

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
