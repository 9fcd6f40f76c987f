"""Halves are paired and parameters told apart as MIDI 1.0 says, and as senders really send."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack.midi import Control, Recording, read_recording
from tests.midi.bytes_of import Change, changes_file


def heard(*changes: Change) -> Recording:
    """The recording of some control changes."""
    return read_recording(changes_file(changes))


def values(control: Control) -> list[int]:
    """Where a control went."""
    return [value for _, value in control.positions]


def sent(*pairs: tuple[int, int], apart: int = 20, channel: int = 1) -> list[Change]:
    """Numbers and values, one after the other."""
    return [(at * apart, channel, number, value) for at, (number, value) in enumerate(pairs)]


def test_a_high_half_sets_the_low_one_to_zero() -> None:
    """MIDI 1.0, Table II, note 4, on channel volume: 7 and 39."""
    (control,) = heard(*sent((7, 100), (39, 5), (39, 6), (7, 101))).controls
    assert (control.number, control.bits) == (7, 14)
    assert values(control) == [12_800, 12_805, 12_806, 12_928]


def test_halves_that_come_at_once_are_one_position() -> None:
    (control,) = heard((0, 1, 7, 100), (1, 1, 39, 5), (30, 1, 7, 101), (33, 1, 39, 2)).controls
    assert control.positions == ((1, 12_805), (33, 12_930))
    assert control.told == "14 bits, the high half first"


def test_a_low_half_that_says_nothing_makes_no_14_bits() -> None:
    (plain,) = heard(*sent((16, 0), (16, 127))).controls
    assert (plain.bits, plain.told) == (7, "")
    (silent,) = heard(*sent((16, 0), (48, 0), (16, 127), (48, 0))).controls
    assert (silent.bits, values(silent)) == (7, [0, 127])
    assert silent.told == "7 bits: the low half is always 0"
    (alone,) = heard(*sent((50, 3), (50, 9))).controls
    assert (alone.number, alone.bits, values(alone)) == (50, 7, [3, 9])
    assert alone.told == "7 bits: the high half to it was not heard"


def stream(sweep: list[int], *, low_first: bool, gap: int) -> list[Change]:
    """A sweep of 14 bits as a sender sends it, both halves each time."""
    found: list[Change] = []
    for value in sweep:
        halves = [(16, value >> 7), (48, value & 0x7F)]
        for number, half in reversed(halves) if low_first else halves:
            found.append((len(found) // 2 * 20 + gap * (len(found) % 2), 1, number, half))
    return found


SWEEPS = st.tuples(st.integers(0, 16_383), st.integers(0, 16_383)).map(
    lambda ends: [ends[0] + (ends[1] - ends[0]) * step // 40 for step in range(41)]
)


@given(SWEEPS, st.booleans(), st.sampled_from([0, 1, 5]))
def test_a_sweep_is_heard_as_it_was_sent(sweep: list[int], low_first: bool, gap: int) -> None:
    (control,) = heard(*stream(sweep, low_first=low_first, gap=gap)).controls
    if control.bits == 7:
        assert all(value % 128 == 0 for value in sweep)
        return
    assert values(control) == sweep
    assert ("the low half first" in control.told) == low_first


@pytest.mark.parametrize("low_first", [False, True])
def test_where_all_halves_come_at_once_the_shorter_way_tells_the_order(low_first: bool) -> None:
    sweep = [*range(1_000, 9_000, 37), *range(9_000, 2_000, -41)]
    changes = [(0, *each[1:]) for each in stream(sweep, low_first=low_first, gap=0)]
    (control,) = heard(*changes).controls
    assert values(control) == sweep
    assert ("the low half first" in control.told) == low_first


def test_a_sender_may_leave_out_the_half_that_did_not_change() -> None:
    sweep = [*range(100, 300)]
    changes, before = [], -1
    for at, value in enumerate(sweep):
        if value >> 7 != before >> 7:
            changes.append((at * 10, 1, 16, value >> 7))
        changes.append((at * 10, 1, 48, value & 0x7F))
        before = value
    (control,) = heard(*changes).controls
    assert values(control) == sweep


@pytest.mark.parametrize(
    "order",
    [
        ((99, 0), (98, 55), (6, 64), (38, 1)),  # DLS 2.2, 1.8.13, as NRPN
        ((98, 55), (99, 0), (6, 64), (38, 1)),
        ((99, 0), (98, 55), (38, 1), (6, 64)),  # SoundFont 2.04, 9.6.1
    ],
)
def test_a_parameter_is_heard_in_the_orders_of_the_standards(order: tuple[tuple[int, int]]) -> None:
    changes = [*sent(*order, apart=1), *((40, 1, *each) for each in order), *SECOND(order)]
    (control,) = heard(*changes).controls
    assert (control.number, control.parameter, control.bits) == (None, (0, 55), 14)
    assert values(control) == [8_193, 8_193, 9_090]
    assert control.name == "non-registered parameter 0, 55 on channel 1"


def SECOND(order: tuple[tuple[int, int], ...]) -> list[Change]:  # noqa: N802 - beside the table
    """The same parameter at another value, 71 and 2."""
    other = {6: 71, 38: 2}
    return [(80, 1, number, other.get(number, value)) for number, value in order]


def test_what_is_no_position_is_passed_over_and_told() -> None:
    recording = heard(
        *sent(
            *((6, 1), (38, 2)),  # no parameter is selected
            *((101, 0), (100, 0), (6, 2)),  # pitch bend sensitivity
            *((99, 127), (98, 127), (6, 3)),  # null
            *((99, 1), (98, 2), (121, 0), (6, 4)),  # reset
            *((0, 5), (32, 6), (96, 0), (123, 0)),
            *((99, 3), (6, 5)),  # half a number
            *((101, 0), (100, 0), (99, 3), (6, 6)),  # half of one of another sort
        )
    )
    assert recording.controls == ()
    assert recording.sentences == (
        "No control changed in this recording.",
        "Data entry on channel 1 is about no parameter: passed over.",
        "Registered parameter 0, 0 on channel 1 is no knob's: passed over.",
        "Controller 121 (Reset All Controllers) on channel 1 is no position: passed over.",
        "Controller 0 (Bank Select) on channel 1 is no position: passed over.",
        *(f"Controller {each} on channel 1 is no position: passed over." for each in OTHERS),
    )


OTHERS = ("32 (LSB of 0 (Bank Select))", "96 (Data Increment)", "123 (All Notes Off)")


def test_controls_that_were_paired_alike_are_told_in_one_sentence() -> None:
    halves = [(number, 3) for number in (16, 17, 48, 49, 18, 50, 99, 98, 6, 38)]
    recording = heard(*sent(*halves), *sent((20, 1), (52, 0), channel=2))
    assert recording.sentences[-2:] == (
        (
            "Controllers 16, 17 and 18 and non-registered parameter 3, 3 on channel 1: "
            "14 bits, the high half first."
        ),
        "Controller 20 on channel 2: 7 bits: the low half is always 0.",
    )


def test_channels_are_apart() -> None:
    recording = heard(
        *((0, 1, 99, 0), (0, 1, 98, 1), (1, 2, 99, 0), (1, 2, 98, 2)),
        *((2, 1, 6, 10), (3, 2, 6, 20), (4, 1, 74, 1), (5, 2, 74, 2)),
    )
    assert [(each.channel, each.number, each.parameter) for each in recording.controls] == [
        *((1, 74, None), (2, 74, None), (1, None, (0, 1)), (2, None, (0, 2)))
    ]
    assert [each.last for each in recording.controls] == [1, 2, 10, 20]
