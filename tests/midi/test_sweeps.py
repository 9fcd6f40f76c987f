"""Sweep files: byte by byte, and worked by hand."""

from __future__ import annotations

import io
from typing import Any

import attrs
import mido  # type: ignore[import-untyped]
import pytest

from knobpack.errors import InputError
from knobpack.midi import controller_numbers, sweep_file
from knobpack.words import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice
from tests.midi.smf import Receiver, by_symusic, controls, track_of
from tests.midi.swept_setups import Numbers
from tests.simulation.setups import two_voices


def one_knob(bits: int, travel: Travel | None = None, kind: str = "cutoff") -> Setup:
    return Setup(
        "One",
        Surface.row(1, bits=bits),
        (Voice("Pad", (Destination("d", kind=kind),)),),
        routes=(Route("Pad/d", "K1"),),
        travels=(KnobTravel("K1", travel or Travel.full(bits)),),
        snapshots=(Snapshot("all", ("Pad",)), Snapshot("none", ())),
    )


def many_knobs(knobs: int, bits: int) -> Setup:
    voice = Voice("Pad", tuple(Destination(f"d{number}") for number in range(knobs)))
    routes = tuple(Route(f"Pad/d{number}", f"K{number + 1}") for number in range(knobs))
    return Setup("Big", Surface.row(knobs, bits=bits), (voice,), routes=routes)


def test_it_is_what_the_standard_says_byte_by_byte() -> None:
    # RP-001. Two bits have four positions, in 7 bits 0, 32, 64 and 127 (M2-115-U 3.3.1). 500 ms
    # each way in three equal parts: 1000, 1167, 1333 and 1500 ms, then back at 1667, 1833, 2000.
    found = sweep_file(one_knob(2), "all", {"K1": 20}, channel=3, seconds=1)
    assert found.data.hex(" ") == (
        "4d 54 68 64 00 00 00 06 00 00 00 01 01 f4 "  # format 0, one track, 500 ticks a quarter
        "4d 54 72 6b 00 00 00 3c "  # 60 bytes
        "00 ff 03 08 4f 6e 65 3a 20 61 6c 6c "  # One: all
        "00 ff 58 04 04 02 18 08 "  # 4/4
        "00 ff 51 03 07 a1 20 "  # 500,000 microseconds a quarter: a tick is a millisecond
        "00 b2 14 00 "  # where it stands
        "89 0f 14 20 "  # 1167; the status runs on
        "81 26 14 40 "  # 166 later
        "81 27 14 7f "  # 167
        "81 27 14 40 "  # 167
        "81 26 14 20 "  # 166
        "81 27 14 00 "  # 167: 2000
        "83 74 ff 2f 00"  # 500
    )
    assert found.moments == (
        *((1000, 0), (1167, 1), (1333, 2), (1500, 3)),
        *((1667, 2), (1833, 1), (2000, 0)),
    )


def test_fourteen_bits_send_the_coarse_half_first_and_the_fine_half_alone() -> None:
    # MIDI 1.0, Table II, note 4. From 126 to 129 at 14 bits in four positions, and back.
    setup = one_knob(14, Travel(126, 129))
    found = sweep_file(setup, "all", {"K1": (16, 48)}, seconds=1)
    sent = [event[1:] for event in controls(track_of(found.data), 1)]
    assert sent == [
        *((16, 0), (48, 126)),
        (48, 127),
        *((16, 1), (48, 0)),  # a receiver that does not set it to zero itself must be told
        (48, 1),
        (48, 0),
        *((16, 0), (48, 127)),
        (48, 126),
    ]


def test_the_worked_case_is_sent_as_it_is_told() -> None:
    # 10 bits: 512 of 1023 is 64 of 127 and 8192 of 16383; 1023 is 127, and 127 and 127.
    numbers: dict[str, Numbers] = {"K1": 20, "K2": (16, 48), "K3": 21, "K4": 22}
    found = sweep_file(two_voices(), "only Pad", numbers, master_number=1, start={"K3": 1000})
    sent = controls(track_of(found.data), 1)
    # What is held first, then the master, then what follows.
    assert [event for event in sent if event[0] == 0] == [
        *((0, 21, 125), (0, 22, 37)),  # 1000 >> 3, 300 >> 3
        (0, 1, 0),
        *((0, 20, 0), (0, 16, 127), (0, 48, 127)),
    ]
    top = [event[1:] for event in sent if event[0] <= 5000]
    receiver = Receiver(zeroing=True)
    for each in top:
        receiver.take(*each)
    assert [receiver.stands(n) for n in (1, 20, (16, 48), 21, 22)] == [127, 64, 0, 125, 37]
    assert {number for now, number, _ in sent if now} == {1, 20, 16, 48}


@pytest.mark.parametrize(
    ("knobs", "bits", "numbers", "seconds", "points"),
    [
        # 8 knobs and the master in 7 bits: 9 ms for each position; 128 of them have the time.
        (8, 7, 7, 8, 128),
        # In 14 bits two messages each: 18 ms; 4000 / 18 = 222.2, and the bottom itself.
        (8, 14, 14, 8, 223),
        (8, 32, 14, 60, 1667),  # 30,000 / 18
        (1, 14, 7, 8, 2001),  # 4000 / 2
        (8, 2, 14, 1, 4),
    ],
)
def test_the_master_stands_at_as_many_positions_as_a_line_can_carry(
    knobs: int, bits: int, numbers: int, seconds: int, points: int
) -> None:
    fine = numbers == 14
    given: dict[str, Any] = {f"K{n + 1}": (8 + n, 40 + n) if fine else 8 + n for n in range(knobs)}
    found = sweep_file(
        many_knobs(knobs, bits),
        "everything",
        given,
        master_number=(1, 33) if fine else 1,
        seconds=seconds,
    )
    assert len(found.moments) == 2 * points - 1
    sent = [now for now, _, _ in controls(track_of(found.data), 1)]
    assert len(sent) <= 1000 * (seconds + 1)
    thinned = points < 2**bits
    told = [each for each in found.sentences if "1,000 messages" in each]
    assert len(told) == thinned
    if thinned:
        assert f"at {points:,} of its {2**bits:,} positions" in told[0]


def test_a_huge_surface_with_every_number_taken_keeps_to_the_line() -> None:
    setup = many_knobs(10_000, 32)
    coarse = [number for number in range(1, 32) if number != 6]
    given: list[Any] = [(number, number + 32) for number in coarse]
    given += [*range(64, 96), *range(102, 120)]
    numbers = dict(zip(setup.surface.knob_names[5000:], given, strict=False))
    found = sweep_file(setup, "everything", numbers, seconds=1)
    # 30 pairs and 50 single ones: 110 ms for each position, five of them in half a second.
    assert [now for now, _ in found.moments[:5]] == [1000, 1125, 1250, 1375, 1500]
    sent = controls(track_of(found.data), 1)
    assert len({number for _, number, _ in sent}) == 110
    assert max(value for _, _, value in sent) == 127


def test_what_does_not_move_is_set_and_then_left_alone() -> None:
    for setup, snapshot in ((one_knob(7), "none"), (one_knob(7, Travel(9, 9)), "all")):
        found = sweep_file(setup, snapshot, {"K1": 7})
        sent = controls(track_of(found.data), 1)
        assert sent == [(0, 7, 9 if snapshot == "all" else 0)]
    nothing = sweep_file(one_knob(7), "all", {})
    assert [message[:2] for _, message in track_of(nothing.data)] == [
        *(b"\xff\x03", b"\xff\x58", b"\xff\x51", b"\xff\x2f")
    ]


def test_a_travel_too_short_for_7_bits_is_set_once() -> None:
    # 0 to 7 of 1023 is nothing at 7 bits (shift by 3).
    found = sweep_file(one_knob(10, Travel(0, 7)), "all", {"K1": 7})
    assert controls(track_of(found.data), 1) == [(0, 7, 0)]
    assert "K1 is sent on controller 7, and stays at 0." in found.sentences


@pytest.mark.parametrize("name", ["音色 ½", "Fläche", "x" * 120, "🎛 \\{}", "a" + "\u0301"])
def test_the_name_of_the_track_is_the_names_of_setup_and_snapshot(name: str) -> None:
    setup = attrs.evolve(one_knob(7), name=name, snapshots=(Snapshot(f"only {name}", ("Pad",)),))
    found = sweep_file(setup, f"only {name}", {"K1": 7}, notes=True)
    told = f"{name}: only {name}"
    assert track_of(found.data)[0] == (0, b"\xff\x03" + told.encode())
    assert by_symusic(found.data).tracks[0].name == told
    file = mido.MidiFile(file=io.BytesIO(found.data), charset="utf-8")
    assert file.tracks[0].name == told


def test_what_numbers_were_chosen_for_a_channel_are_sent_there() -> None:
    setup = one_knob(7)
    numbers = controller_numbers(setup, channel=5)
    events = track_of(sweep_file(setup, "all", numbers).data)
    assert controls(events, 5)
    assert not controls(events, 1)
    with pytest.raises(InputError, match=r"sweep_file\.channel.*17"):
        sweep_file(setup, "all", controller_numbers(setup, channel=17))
