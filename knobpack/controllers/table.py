"""The Control Change table: what the open standards say of each of the 128 controller numbers.

Sources: MIDI 1.0 Detailed Specification (1996), Table III and pages 11 to 16; the Control Change
table of the MIDI Association (Table 3, 2020); M2-113-UM Appendix A (2020); RP-015 (Reset All
Controllers); RP-021 (defaults of the sound controllers); RP-023 (effects depths 1 and 3); CA-031
(controller 88); GM2 3.3.11 to 3.3.18; CA-022 / GM2 4.6.2 and SoundFont 2.04, 8.2.1 (what may be
assigned). Channel modes stand in the table because they share its numbers; they are no controllers.
"""

from __future__ import annotations

from typing import Final, Literal, TypeAlias

import attrs

from knobpack.words.knob_settings import LOW_HALF

Kind: TypeAlias = Literal[
    "high half", "low half", "single", "increment or parameter number", "undefined", "channel mode"
]
"""The classes of MIDI 1.0, page 11, in the order of their numbers."""

Takes: TypeAlias = Literal["position", "switch", "change", "note", "velocity", "number", "mode"]
"""What a value means: a position; 0 to 63 off, 64 to 127 on; a change, none at 64; a note number;
the fine part of the velocity of the next note; a number or its data; a channel mode."""

OnReset: TypeAlias = int | Literal["kept", "device", "unsaid"]
"""What Reset All Controllers does: the value it sets, nothing, what the device does with a
controller that no standard defines, or nothing that is said anywhere."""


@attrs.frozen
class Controller:
    """One row of the table.

    Args:
        number: 0 to 127.
        name: as the standards have it; of a low half, what it is the low half of.
        kind: its class: one of :data:`knobpack.controllers.table.Kind`.
        undefined: whether no standard gives the number a meaning, so that a device may use it for
            anything. A low half is never said to be undefined itself.
        general: whether it is one of the eight general purpose controllers.
        takes: what its values mean.
        on_reset: what Reset All Controllers does to it.

    Source:
        MIDI 1.0 Detailed Specification, Table III and page 11; M2-113-UM Appendix A; RP-015. All of
        them: :mod:`knobpack.controllers.table`.
    """

    number: int
    name: str
    kind: Kind
    undefined: bool = False
    general: bool = False
    takes: Takes = "position"
    on_reset: OnReset = "unsaid"


HALF: Final = LOW_HALF

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

_KINDS: Final[tuple[tuple[range, Kind], ...]] = (
    (range(32), "high half"),
    (range(32, 64), "low half"),
    (range(64, 96), "single"),
    (range(96, 102), "increment or parameter number"),
    (range(102, 120), "undefined"),
    (range(120, 128), "channel mode"),
)

# 71 to 78 by GM2 3.3.11 to 3.3.18. MIDI 1.0 says so of 72, 73 and 74 alone, and its page 15 calls
# 71 absolute: a receiver may go by either, so that 71 stands with the careful reading.
_TAKES: Final[tuple[tuple[range, Takes], ...]] = (
    (range(0, 33, 32), "number"),
    (range(6, 39, 32), "number"),
    (range(64, 70), "switch"),
    (range(71, 79), "change"),
    (range(84, 85), "note"),
    (range(88, 89), "velocity"),
    (range(96, 102), "number"),
    (range(120, 128), "mode"),
)

RESETS: Final = {
    **dict.fromkeys((1, 64, 65, 66, 67), 0),
    11: 127,
    **dict.fromkeys((98, 99, 100, 101), 127),
}
"""The values that RP-015 sets."""

RESETS_OF_PROFILES: Final = {**dict.fromkeys((2, 4, 5, 12, 13, 68, 69), 0), 8: 64, 40: 64, 43: 127}
"""The values that M2-113-UM App. A sets besides."""

_KEPT: Final = frozenset({0, 32, 7, 10, *range(70, 80), *range(91, 96)})
"""What RP-015 says is not reset."""


def _row(number: int) -> Controller:
    kind = next(kind for numbers, kind in _KINDS if number in numbers)
    name = _NAMES.get(number, "Undefined")
    high = number - HALF
    if kind == "low half":
        name = f"LSB of {high} ({_NAMES.get(high, 'Undefined')})"
    undefined = number not in _NAMES and kind != "low half"
    general = name.startswith("General Purpose")
    free = undefined or general
    if kind == "low half":
        free = high not in _NAMES or _NAMES[high].startswith("General Purpose")
    reset: OnReset = "kept" if number in _KEPT else "device" if free else "unsaid"
    return Controller(
        number=number,
        name=name,
        kind=kind,
        undefined=undefined,
        general=general,
        takes=next((takes for numbers, takes in _TAKES if number in numbers), "position"),
        on_reset=(RESETS | RESETS_OF_PROFILES).get(number, reset),
    )


TABLE: Final = tuple(_row(number) for number in range(128))
"""All 128 rows, by number."""

UNDEFINED: Final = tuple(row.number for row in TABLE if row.undefined)
"""3, 9, 14, 15, 20 to 31, 85 to 87, 89, 90 and 102 to 119, ascending."""

BY_GM2: Final = (*range(1, 32), *range(64, 96))
"""What CA-022 / GM2 4.6.2 lets a controller be assigned from; all else must be ignored."""

BY_SOUNDFONT: Final = tuple(
    number
    for number in range(120)
    if number not in {0, 6, 32, 38, 98, 99, 100, 101} and number not in range(33, 64)
)
"""What SoundFont 2.04, 8.2.1 leaves: not 0, 6, 32, 38, 98 to 101 and 120 to 127, which are illegal,
nor 33 to 63, which are kept for low halves."""

ASSIGNABLE: Final = tuple(number for number in BY_GM2 if number in BY_SOUNDFONT)
"""1 to 5, 7 to 31, 64 to 95: what both let be assigned, ascending."""

UNDEFINED_SINGLES: Final = tuple(range(102, 120))
"""Undefined single numbers that no receiver need take for a controller (CA-022)."""

USABLE: Final = (*ASSIGNABLE, *UNDEFINED_SINGLES)
"""Every number that a knob may be sent on at all, ascending: one that is neither reserved nor a low
half. A low half goes with its high half alone."""


def low_half(number: int) -> int | None:
    """The low half of a high half; None where there is none: 64 and above are of a single byte.

    MIDI 1.0, page 12.
    """
    return number + HALF if number < HALF else None
