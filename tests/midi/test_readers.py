"""The readers that the files are read with, on what RP-001 (Standard MIDI Files 1.0) prints."""

from __future__ import annotations

import io

import mido  # type: ignore[import-untyped]
import pytest

from tests.midi.smf import Receiver, by_symusic, quantity, read

# RP-001, appendix 1: the same music as format 0 and as format 1, both printed in full.
FORMAT_0 = bytes.fromhex(
    "4D546864000000060000000100604D54726B0000003B00FF58040402180800FF510307A12000C00500C12E00C246"
    "00923060003C606091434060904C208140823040003C400081434000804C4000FF2F00"
)
FORMAT_1 = bytes.fromhex(
    "4D546864000000060001000400604D54726B0000001400FF58040402180800FF510307A1208300FF2F00"
    "4D54726B0000001000C0058140904C2081404C0000FF2F00"
    "4D54726B0000000F00C12E609143408220430000FF2F00"
    "4D54726B0000001500C24600923060003C6083003000003C0000FF2F00"
)
# RP-001, the table of variable-length quantities: all twelve.
QUANTITIES = [
    (0x00000000, "00"),
    (0x00000040, "40"),
    (0x0000007F, "7F"),
    (0x00000080, "8100"),
    (0x00002000, "C000"),
    (0x00003FFF, "FF7F"),
    (0x00004000, "818000"),
    (0x00100000, "C08000"),
    (0x001FFFFF, "FFFF7F"),
    (0x00200000, "81808000"),
    (0x08000000, "C0808000"),
    (0x0FFFFFFF, "FFFFFF7F"),
]
# The music: channel, note and velocity, and from when to when, in ticks of 96 to the quarter.
NOTES = {
    (1, 0x4C, 0x20, 192, 384),
    (2, 0x43, 0x40, 96, 384),
    (3, 0x30, 0x60, 0, 384),
    (3, 0x3C, 0x60, 0, 384),
}
PROGRAMS = {1: 5, 2: 46, 3: 70}


def test_the_plain_reader_finds_the_printed_music_in_both_files() -> None:
    for data, form in ((FORMAT_0, 0), (FORMAT_1, 1)):
        found = read(data)
        assert (found.format, found.division, len(found.tracks)) == (form, 96, 1 + 3 * form)
        every = [event for track in found.tracks for event in track]
        assert (0, b"\xff\x51\x07\xa1\x20") in every
        assert (0, b"\xff\x58\x04\x02\x18\x08") in every
        assert {each[0] - 0xBF: each[1] for _, each in every if each[0] >> 4 == 0xC} == PROGRAMS
        assert all(track[-1] == (384, b"\xff\x2f") for track in found.tracks)
        started, notes = {}, set()
        for now, message in every:
            sort, channel = message[0] >> 4, 1 + message[0] % 16
            if sort == 9 and message[2]:
                started[channel, message[1]] = now, message[2]
            elif sort in (8, 9):
                since, velocity = started.pop((channel, message[1]))
                notes.add((channel, message[1], velocity, since, now))
        assert notes == NOTES
        assert not started


@pytest.mark.parametrize("data", [FORMAT_0, FORMAT_1])
def test_the_two_libraries_read_the_printed_files(data: bytes) -> None:
    file = mido.MidiFile(file=io.BytesIO(data))
    assert file.ticks_per_beat == 96
    assert file.length == 2
    again = io.BytesIO()
    file.save(file=again)
    assert again.getvalue() == data
    score = by_symusic(data)
    assert score.ticks_per_quarter == 96
    assert {track.program for track in score.tracks} == set(PROGRAMS.values())
    assert {
        (note.pitch, note.velocity, note.time, note.end)
        for track in score.tracks
        for note in track.notes
    } == {(pitch, velocity, start, end) for _, pitch, velocity, start, end in NOTES}


@pytest.mark.parametrize(("number", "written"), QUANTITIES)
def test_all_read_the_printed_quantities(number: int, written: str) -> None:
    delta = bytes.fromhex(written)
    assert quantity(delta, 0) == (number, len(delta))
    # One note that starts after so many ticks.
    body = delta + bytes.fromhex("903C40 01803C40 00FF2F00")
    data = bytes.fromhex("4D546864 00000006 0000 0001 0060 4D54726B") + len(body).to_bytes(4) + body
    assert [now for now, _ in read(data).tracks[0]] == [number, number + 1, number + 1]
    file = mido.MidiFile(file=io.BytesIO(data))
    assert file.tracks[0][0].time == number
    again = io.BytesIO()
    file.save(file=again)
    assert again.getvalue() == data
    assert by_symusic(data).tracks[0].notes[0].time == number


def test_a_receiver_takes_a_coarse_half_for_the_whole_until_the_fine_one_comes() -> None:
    # MIDI 1.0, Table II, note 4: volume, 7 and then 39. 100 · 128 + 5 = 12805.
    receiver, stands = Receiver(zeroing=True), []
    for number, value in ((7, 100), (39, 5), (39, 6), (7, 101)):
        receiver.take(number, value)
        stands.append(receiver.stands((7, 39)))
    assert stands == [12800, 12805, 12806, 12928]
    assert receiver.stands(7) == 101
