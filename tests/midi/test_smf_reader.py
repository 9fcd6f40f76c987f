"""Files are read as RP-001 says; what is broken is refused with the byte where it is."""

from __future__ import annotations

import io

import mido  # type: ignore[import-untyped]
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack import InputError
from knobpack.midi import load_recording, read_recording
from knobpack.storage.midi_file import ControlChange, control_changes
from tests.midi.bytes_of import changes_file, chunk, file_of, header, quantity, track

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

TURN = "00 B0 4A 40  05 B0 4A 41"
TURNED = (ControlChange(0, 1, 74, 64), ControlChange(5, 1, 74, 65))

READ = {
    "controllers alone, no note on their channel": (file_of(TURN), ""),
    "controllers beside a note": (file_of(f"00 90 3C 40 {TURN}"), ""),
    "running status": (file_of("00 B0 4A 40 05 4A 41"), ""),
    "running status kept over a meta event": (
        file_of("00 B0 4A 40 00 FF 01 01 41 05 4A 41"),
        "running status goes on",
    ),
    "running status kept over a system exclusive message": (
        file_of("00 B0 4A 40 00 F0 02 7D F7 05 4A 41"),
        "running status goes on",
    ),
    "a chunk that is not known before the track": (
        header() + chunk(b"junk", b"\xff" * 9) + track(TURN),
        "",
    ),
    "a chunk that is not known between tracks": (
        header(2, 1) + track("") + chunk(b"MTrx", b"ab") + track(TURN),
        "",
    ),
    "a header of 8 bytes": (header(more=b"\0\0") + track(TURN), ""),
    "no end of track": (header() + chunk(b"MTrk", bytes.fromhex(TURN)), "no end"),
    "format 2": (header(1, 2) + track(TURN), ""),
    "more tracks announced than there": (header(3, 1) + track(TURN), "3 tracks are announced"),
    "an escape": (file_of(f"00 F7 03 F3 01 FF {TURN}"), ""),
    "a key signature that is none": (file_of(f"00 FF 59 02 63 07 {TURN}"), ""),
    "a tempo of one byte": (file_of(f"00 FF 51 01 07 {TURN}"), "a tempo"),
    "a meta event that is not known": (file_of(f"00 FF 60 02 63 07 {TURN}"), ""),
    "bytes after the end of a track": (
        header() + chunk(b"MTrk", bytes.fromhex(f"{TURN} 00 FF 2F 00 99 99")),
        "2 bytes stand after the end",
    ),
    "bytes after the last track": (file_of(TURN) + b"xyz", "3 bytes stand after"),
    # 25 frames a second, 40 ticks a frame: a tick is a millisecond.
    "a division of time": (header(division=0xE728) + track(TURN), ""),
}

BROKEN = {
    "a track that is said to be longer": (
        header() + b"MTrk\0\0\0\x20" + bytes.fromhex(TURN),
        "byte 19",
        "the file ends before",
    ),
    "a track that is said to be shorter": (
        header() + b"MTrk\0\0\0\x03" + bytes.fromhex(TURN),
        "byte 25",
        "within an event",
    ),
    "a file that is cut": (file_of(TURN)[:-6], "byte 19", "the file ends before"),
    "a data byte over 127": (file_of("00 B0 4A 80"), "byte 26", "7F at most"),
    "data before any status": (file_of("00 4A 40"), "byte 24", "a message begins"),
    "a status that no file holds": (file_of("00 F8"), "byte 24", "of this status"),
    "a wrapper": (b"RIFF\0\0\0\0RMIDdata" + file_of(TURN), "byte 1", "a wrapper"),
    "text": (b"no music in this file", "byte 1", "'MThd'"),
    "nothing": (b"", "byte 1", "'MThd'"),
    "a number of five bytes": (file_of("FF FF FF FF 7F B0 4A 40"), "byte 26", "four bytes"),
    "format 3": (header(1, 3) + track(TURN), "byte 9", "formats 0, 1 and 2"),
    "no ticks": (header(1, 0, 0) + track(TURN), "byte 13", "one tick or more"),
    "no ticks in a frame": (header(1, 0, 0xE700) + track(TURN), "byte 13", "one tick or more"),
}


@pytest.mark.parametrize("name", READ)
def test_what_can_be_read_is_read_and_remarked_on(name: str) -> None:
    data, remark = READ[name]
    changes, remarks = control_changes(data)
    assert changes == TURNED
    assert len(remarks) == bool(remark)
    assert all(remark in each for each in remarks)


@pytest.mark.parametrize("name", BROKEN)
def test_what_is_broken_is_refused_with_the_byte(name: str) -> None:
    data, field, right = BROKEN[name]
    with pytest.raises(InputError) as refusal:
        control_changes(data)
    assert refusal.value.field == field
    assert right in refusal.value.right


def test_the_music_that_is_printed_holds_no_control() -> None:
    for data in (FORMAT_0, FORMAT_1):
        assert control_changes(data) == ((), ())


@pytest.mark.parametrize(("number", "printed"), QUANTITIES)
def test_numbers_of_variable_length_are_those_that_are_printed(number: int, printed: str) -> None:
    assert quantity(number) == bytes.fromhex(printed)
    changes, _ = control_changes(file_of(f"{printed} B0 4A 40"))
    assert changes[0].time == number


def test_time_goes_by_the_tempo() -> None:
    """6,144 ticks at 96 to a quarter note of 500,000 microseconds are 32 s (RP-001)."""
    late = f"{quantity(6144).hex()} B0 4A 40"
    plain, _ = control_changes(header(division=96) + track(late))
    assert plain[0].time == 32_000
    doubled = header(2, 1, 96) + track("00 FF 51 03 0F 42 40") + track(late)
    assert control_changes(doubled)[0][0].time == 64_000
    half_way = f"{quantity(3072).hex()} FF 51 03 0F 42 40"
    changed = header(2, 1, 96) + track(half_way) + track(late)
    assert control_changes(changed)[0][0].time == 48_000
    # 30 frames a second and 80 ticks a frame, the division that RP-001 prints: E250.
    assert (
        control_changes(header(division=0xE250) + track(f"{quantity(2400).hex()} B0 4A 40"))[0][
            0
        ].time
        == 1_000
    )
    # 29 frames with two dropped a minute are 30,000 in 1,001 seconds.
    dropped = header(division=0xE364) + track(f"{quantity(30_000).hex()} B0 4A 40")
    assert control_changes(dropped)[0][0].time == 10_010


def test_tracks_of_format_2_follow_one_another() -> None:
    data = header(2, 2) + track("0A B0 4A 40") + track("05 B0 4A 41")
    assert [each.time for each in control_changes(data)[0]] == [10, 15]


@given(
    st.lists(
        st.tuples(
            st.integers(0, 300_000), st.integers(1, 16), st.integers(0, 127), st.integers(0, 127)
        ),
        max_size=20,
    )
)
def test_control_changes_are_those_that_another_reader_finds(
    changes: list[tuple[int, int, int, int]],
) -> None:
    data = changes_file(sorted(changes))
    found, remarks = control_changes(data)
    assert remarks == ()
    assert [(each.time, each.channel, each.number, each.value) for each in found] == sorted(changes)
    # Written anew by another library, with running status.
    file = mido.MidiFile(file=io.BytesIO(data))
    again = io.BytesIO()
    file.save(file=again)
    assert control_changes(again.getvalue()) == (found, ())
    read = [each for each in file.tracks[0] if each.type == "control_change"]
    assert [(each.channel + 1, each.control, each.value) for each in read] == [
        each[1:] for each in sorted(changes)
    ]


@settings(max_examples=300)
@given(st.binary(max_size=60), st.integers(0, 80), st.data())
def test_any_bytes_are_read_or_refused(some: bytes, at: int, data: st.DataObject) -> None:
    whole = data.draw(st.sampled_from([b"", *(each for each, _ in READ.values())]))
    try:
        recording = read_recording(whole[:at] + some + whole[at + len(some) :])
    except InputError:
        return
    assert all(sentence.endswith(".") for sentence in recording.sentences)


def test_a_file_of_too_many_events_is_refused() -> None:
    with pytest.raises(InputError, match="at most 500,000 events"):
        control_changes(file_of("00 B0 4A 40 " + "00 4A 41 " * 500_000))


def test_a_file_that_is_too_large_or_no_file_is_refused(tmp_path: object) -> None:
    for wrong in ("text", None, b" " * 8_000_001):
        with pytest.raises(InputError):
            read_recording(wrong)  # type: ignore[arg-type]
    with pytest.raises(InputError, match="give a file that can be read"):
        load_recording(f"{tmp_path}/none.mid")
    with open(f"{tmp_path}/turned.mid", "wb") as file:  # noqa: PTH123 - the path is text here
        file.write(b"MThd")
    with pytest.raises(InputError) as refusal:
        load_recording(f"{tmp_path}/turned.mid")
    assert refusal.value.file == f"{tmp_path}/turned.mid"
