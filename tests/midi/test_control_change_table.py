"""The Control Change table, row by row, against the open standards.

Sources: MIDI 1.0 Detailed Specification (1996), Table III and pages 11 to 16; the Control Change
table of the MIDI Association (Table 3, 2020); M2-113-UM App. A; RP-015; RP-021; RP-023; CA-031.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.midi.control_change_table import (
    ASSIGNABLE,
    BURDENS,
    BY_GM2,
    TABLE,
    UNDEFINED_SINGLES,
    USABLE,
    low_half,
)
from knobpack.words.knob_settings import RESERVED

# Table 3 of the MIDI Association; 70 to 78 with the defaults of RP-021, 91 and 93 as RP-023 renames
# them, 88 of CA-031. Low halves and undefined numbers are left out here.
NAMES = """
0 Bank Select|1 Modulation Wheel|2 Breath Controller|4 Foot Controller|5 Portamento Time
6 Data Entry|7 Channel Volume|8 Balance|10 Pan|11 Expression Controller|12 Effect Control 1
13 Effect Control 2|16 General Purpose Controller 1|17 General Purpose Controller 2
18 General Purpose Controller 3|19 General Purpose Controller 4|64 Damper Pedal
65 Portamento On/Off|66 Sostenuto|67 Soft Pedal|68 Legato Footswitch|69 Hold 2
70 Sound Variation|71 Timbre/Harmonic Intensity|72 Release Time|73 Attack Time|74 Brightness
75 Decay Time|76 Vibrato Rate|77 Vibrato Depth|78 Vibrato Delay|79 Sound Controller 10
80 General Purpose Controller 5|81 General Purpose Controller 6|82 General Purpose Controller 7
83 General Purpose Controller 8|84 Portamento Control|88 High Resolution Velocity Prefix
91 Reverb Send Level|92 Effects 2 Depth|93 Chorus Send Level|94 Effects 4 Depth
95 Effects 5 Depth|96 Data Increment|97 Data Decrement
98 Non-Registered Parameter Number LSB|99 Non-Registered Parameter Number MSB
100 Registered Parameter Number LSB|101 Registered Parameter Number MSB
120 All Sound Off|121 Reset All Controllers|122 Local Control On/Off|123 All Notes Off
124 Omni Mode Off|125 Omni Mode On|126 Mono Mode On|127 Poly Mode On
"""
NAMED = {
    int(number): name
    for number, name in (
        entry.split(" ", 1) for line in NAMES.strip().splitlines() for entry in line.split("|")
    )
}

# The list of undefined numbers of Table 3 (85 to 90 are undefined in 1996; CA-031 took 88).
PRINTED_UNDEFINED = {3, 9, 14, 15, *range(20, 32), 85, 86, 87, 89, 90, *range(102, 120)}


def test_there_is_one_row_for_each_number() -> None:
    assert [row.number for row in TABLE] == list(range(128))


@pytest.mark.parametrize("number", range(128))
def test_a_row_is_called_as_in_the_table(number: int) -> None:
    name = TABLE[number].name
    if number in range(32, 64):
        assert name == f"LSB of {number - 32} ({NAMED.get(number - 32, 'Undefined')})"
    else:
        assert name == NAMED.get(number, "Undefined")


def test_undefined_numbers_are_the_printed_ones() -> None:
    assert {row.number for row in TABLE if row.undefined} == PRINTED_UNDEFINED
    # What has a name and what is undefined make up the table, low halves aside.
    assert set(NAMED) | PRINTED_UNDEFINED | set(range(32, 64)) == set(range(128))
    assert not set(NAMED) & PRINTED_UNDEFINED


def test_low_halves_with_an_undefined_partner_are_the_printed_ones() -> None:
    # Table 3: 35, 41, 46, 47 and 52 to 63.
    partners = [row.number for row in TABLE[32:64] if TABLE[row.number - 32].undefined]
    assert partners == [35, 41, 46, 47, *range(52, 64)]


def test_general_purpose_controllers_are_four_of_two_bytes_and_four_of_one() -> None:
    # MIDI 1.0, page 11: 16 to 19 (with 48 to 51) are of two bytes, 80 to 83 of a single byte.
    general = [row.number for row in TABLE if row.general]
    assert general == [16, 17, 18, 19, 80, 81, 82, 83]
    assert [low_half(number) for number in general] == [48, 49, 50, 51, None, None, None, None]


def test_only_the_first_32_have_a_low_half() -> None:
    # MIDI 1.0, page 12: controllers 64 and above are of a single byte only. That includes 70 to 79,
    # which the Table 3 of 2020 lists as "LSB".
    assert [low_half(number) for number in range(32)] == list(range(32, 64))
    assert [row.number for row in TABLE if row.low] == list(range(32, 64))
    assert {low_half(number) for number in range(64, 128)} == {None}


def test_switches_are_off_below_64() -> None:
    # Table 3: 64 to 69, 0 to 63 off, 64 to 127 on.
    assert [row.number for row in TABLE if row.takes == "switch"] == list(range(64, 70))


def test_relative_sound_controllers_are_those_of_gm2() -> None:
    # GM2 3.3.11 to 3.3.18: 71 to 78 with 64 as no change. MIDI 1.0, pages 15 and 16, says so of 72
    # to 74, and calls 71 absolute: the table takes the careful reading.
    assert [row.number for row in TABLE if row.takes == "change"] == list(range(71, 79))


def test_what_takes_no_position() -> None:
    # Table 3: 84 takes a note number; CA-031: 88 is part of the next note's velocity.
    assert TABLE[84].takes == "note"
    assert TABLE[88].takes == "velocity"


def test_what_reset_all_controllers_does() -> None:
    # RP-015: 1 and 64 to 67 to 0, 11 to 127, parameter numbers to null (127).
    sets = {1: 0, 11: 127, 64: 0, 65: 0, 66: 0, 67: 0, 98: 127, 99: 127, 100: 127, 101: 127}
    # M2-113-UM App. A adds these.
    sets |= {8: 64, 40: 64, 43: 127, 68: 0, 69: 0, 2: 0, 4: 0, 5: 0, 12: 0, 13: 0}
    # RP-015 says to leave bank select, volume, pan, sound controllers and effects depths alone, and
    # M2-113-UM App. A leaves what is undefined or general purpose to the device.
    assert {row.number: row.on_reset for row in TABLE if row.on_reset is not None} == sets


def test_the_assignable_numbers_are_what_both_standards_allow() -> None:
    # CA-022 / GM2 4.6.2: 01H to 1FH and 40H to 5FH.
    assert set(BY_GM2) == {*range(0x01, 0x20), *range(0x40, 0x60)}
    # SoundFont 2.04, 8.2.1: 0, 6, 32, 38, 98 to 101 and 120 to 127 are illegal, 33 to 63 reserved.
    illegal = {0, 6, 32, 38, 98, 99, 100, 101, *range(120, 128)}
    by_soundfont = set(range(128)) - illegal - set(range(33, 64))
    assert list(ASSIGNABLE) == [*range(1, 6), *range(7, 32), *range(64, 96)]
    assert set(ASSIGNABLE) == set(BY_GM2) & by_soundfont


def test_reserved_numbers_are_what_soundfont_forbids_and_the_data_steps() -> None:
    # SoundFont 2.04, 8.2.1; 96 and 97 step the data of a parameter (MIDI 1.0, page 11).
    assert set(RESERVED) == {0, 6, 32, 38, *range(96, 102), *range(120, 128)}
    assert list(USABLE) == [*ASSIGNABLE, *range(102, 120)] == [*ASSIGNABLE, *UNDEFINED_SINGLES]
    assert not set(USABLE) & (set(RESERVED) | set(range(32, 64)))


def test_the_burden_of_each_number_is_the_documented_one() -> None:
    # The order is the project's own; what it goes by stands in the table.
    documented = {
        0: {3, 9, 14, 15, *range(16, 32), *range(80, 84), 85, 86, 87, 89, 90},
        1: set(range(102, 120)),
        2: {7, 10, *range(91, 96)},
        3: {1, 2, 4, 5, 8, 11, 12, 13},
        4: {70, 79},
        5: set(range(71, 79)),
        6: {*range(64, 70), 84, 88},
    }
    assert {n: points for points, numbers in documented.items() for n in numbers} == BURDENS


def test_a_row_is_frozen() -> None:
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        TABLE[7].name = "another"  # type: ignore[misc]
