"""Sweep files of random setups: read again by others, played to receivers, and saved."""

from __future__ import annotations

import unicodedata
from fractions import Fraction
from itertools import pairwise
from math import floor
from pathlib import Path

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack import files
from knobpack.errors import InputError
from knobpack.midi import SweepFile, sweep_file, sweep_files
from knobpack.simulation import sweep
from knobpack.storage.midi_file import control_changes
from knobpack.words import Snapshot, Surface
from knobpack.words.fields import check_name
from tests.midi.smf import Receiver, by_symusic, controls, track_of
from tests.midi.swept_setups import Asked, Numbers, any_asked
from tests.oracles.amount import EXAMPLES
from tests.oracles.strategies import Choices
from tests.positions.standard import by_the_loop
from tests.simulation.setups import two_voices

LEAD, TAIL = 1000, 500
LINE = Fraction(31_250, 10 * 3 * 1000)
"""Messages of three bytes that a line carries in a millisecond: MIDI 1.0, 31,250 bits a second,
ten to a byte."""

SHORT = settings(max_examples=max(20, EXAMPLES // 10))


@st.composite
def asked_for(draw: st.DrawFn) -> Asked:
    return any_asked(Choices(lambda low, high: draw(st.integers(low, high))))


def on_the_wire(position: int, bits: int, numbers: Numbers) -> int:
    """M2-115-U 1.0.2: 3.3 up, 3.4 down."""
    width = 7 if isinstance(numbers, int) else 14
    if bits >= width:
        return position >> (bits - width)
    return by_the_loop(position, bits, width)


def nearest(number: Fraction) -> int:
    return floor(number + Fraction(1, 2))


@SHORT
@given(asked_for())
def test_a_receiver_stands_where_the_sweep_puts_it_at_every_moment(asked: Asked) -> None:
    setup, bits = asked.setup, asked.setup.surface.bits
    half = nearest(Fraction(str(asked.seconds)) * 500)
    files = sweep_files(setup, asked.numbers, **asked.rest)
    names = [snapshot.name for snapshot in setup.snapshots] or ["everything"]
    assert [found.snapshot for found in files] == names
    for found in files:
        track = track_of(found.data)
        assert track[0] == (0, b"\xff\x03" + f"{setup.name}: {found.snapshot}".encode())
        assert (0, b"\xff\x51\x07\xa1\x20") in track
        assert track[-1] == (LEAD + 2 * half + TAIL, b"\xff\x2f")
        sent = controls(track, asked.channel)
        texts = [message[2:].decode() for _, message in track if message[:2] == b"\xff\x01"]
        # Three meta events and where it starts from before, one after: no notes.
        assert len(sent) == len(track) - 4 - len(texts)
        moments = found.moments
        points = (len(moments) + 1) // 2
        assert [now for now, _ in moments] == [
            LEAD + (way if step < points else 2 * half - way)
            for step in range(2 * points - 1)
            for way in [nearest(Fraction(min(step, 2 * points - 2 - step) * half, points - 1))]
        ]
        masters = [master for _, master in moments]
        up = sweep(setup, found.snapshot, master=points).master.tolist()
        assert masters == up + up[-2::-1]
        assert (up[0], up[-1]) == (0, setup.surface.top)
        swept = sweep(setup, found.snapshot, master=masters, start=asked.start)
        rows = dict(zip(swept.knobs, swept.positions.tolist(), strict=True))
        held = [knob for knob in rows if knob in asked.numbers and knob not in swept.follows]
        known = ", ".join(f"{k} at {rows[k][0]}" for k in held if k not in swept.supposed)
        unknown = ", ".join(f"{k} at {rows[k][0]}" for k in held if k in swept.supposed)
        parts = (("Held", known), ("Not known, set", unknown))
        told = [f"{part}: {places}, of {setup.surface.top}." for part, places in parts if places]
        assert [text.replace(" and ", ", ") for text in texts] == [" ".join(told)] * bool(told)
        ways = [(numbers, rows[knob]) for knob, numbers in asked.numbers.items()]
        if asked.master_number is not None:
            ways.append((asked.master_number, masters))
        expected = [(n, [on_the_wire(each, bits, n) for each in way]) for n, way in ways]
        follow_to_the_end(sent, moments, expected)
        send_no_more_than_they_must(sent, expected)


def follow_to_the_end(
    sent: list[tuple[int, int, int]],
    moments: tuple[tuple[int, int], ...],
    expected: list[tuple[Numbers, list[int]]],
) -> None:
    """What receivers make of it is what is expected, from one moment until the next."""
    receivers = (Receiver(zeroing=True), Receiver(zeroing=False))
    left = list(reversed(sent))
    line_free = Fraction(0)
    # Before the sweep starts everything stands where it starts from.
    for step, now in enumerate([0, *(now for now, _ in moments)]):
        assert line_free <= now  # all that was sent before has gone through
        line_free = Fraction(now)
        while left and left[-1][0] <= now:
            when, number, value = left.pop()
            assert when == now
            line_free += 1 / LINE
            for receiver in receivers:
                receiver.take(number, value)
        for numbers, way in expected:
            for receiver in receivers:
                assert receiver.stands(numbers) == way[max(0, step - 1)]
    assert not left


def send_no_more_than_they_must(
    sent: list[tuple[int, int, int]], expected: list[tuple[Numbers, list[int]]]
) -> None:
    """Each value is sent when it is new; of 14 bits the coarse half only when it is."""
    for numbers, way in expected:
        changes = [(None, way[0]), *pairwise(way)]
        new = [(old, value) for old, value in changes if old != value]
        if isinstance(numbers, int):
            assert [v for _, n, v in sent if n == numbers] == [value for _, value in new]
            continue
        coarse = [value >> 7 for old, value in new if old is None or old >> 7 != value >> 7]
        assert [v for _, n, v in sent if n == numbers[0]] == coarse
        assert [v for _, n, v in sent if n == numbers[1]] == [value % 128 for _, value in new]


@SHORT
@given(asked_for())
def test_three_readers_find_the_same_and_notes_change_nothing_else(asked: Asked) -> None:
    for found, heard in zip(
        sweep_files(asked.setup, asked.numbers, **asked.rest),
        sweep_files(asked.setup, asked.numbers, notes=True, **asked.rest),
        strict=True,
    ):
        sent = controls(track_of(found.data), asked.channel)
        changes, remarks = control_changes(found.data)
        assert [(each.time, each.number, each.value) for each in changes] == sent
        assert {each.channel for each in changes} <= {asked.channel}
        assert remarks == ()
        track = track_of(heard.data)
        assert controls(track, asked.channel) == sent
        end, status = track[-1][0], asked.channel - 1
        notes = [event for event in track if event[1][0] in (0x80 + status, 0x90 + status)]
        # All voices receive on one channel, and share its one key.
        key = (500, bytes([0x90 + status, 60, 64])), (end, bytes([0x80 + status, 60, 64]))
        assert notes == [*key] if asked.setup.voices else not notes
        if not asked.setup.voices:  # symusic passes over a track without a note
            continue
        score = by_symusic(heard.data)
        assert score.ticks_per_quarter == 500
        assert [(tempo.time, tempo.mspq) for tempo in score.tempos] == [(0, 500_000)]
        (only,) = score.tracks
        assert only.name == f"{asked.setup.name}: {found.snapshot}"
        assert [(c.time, c.number, c.value) for c in only.controls] == sent
        assert sorted((n.time, n.end, n.pitch, n.velocity) for n in only.notes) == [
            (500, end, 60, 64)
        ]


@SHORT
@given(asked_for())
def test_the_same_is_asked_the_same_is_written(asked: Asked) -> None:
    files = sweep_files(asked.setup, asked.numbers, **asked.rest)
    turned = dict(reversed(asked.numbers.items()))
    assert sweep_files(asked.setup, turned, **asked.rest) == files
    for found in files:
        assert sweep_file(asked.setup, found.snapshot, asked.numbers, **asked.rest) == found


def files_of(*names: str) -> tuple[SweepFile, ...]:
    snapshots = tuple(Snapshot(name) for name in names)
    setup = attrs.evolve(two_voices(), surface=Surface.row(0), routes=(), snapshots=snapshots)
    return sweep_files(setup, {}, seconds=1)


def is_name(text: str) -> bool:
    try:
        check_name("name", text)
    except InputError:
        return False
    return True


@pytest.mark.parametrize(
    ("snapshot", "saved"),
    [
        ("both", "01 both.mid"),
        ("only Pad (high)", "01 only Pad (high).mid"),
        (r"a\b:c*d?e|f<g>h", "01 a_b_c_d_e_f_g_h.mid"),
        ("..", "01 __.mid"),
        ("end.", "01 end_.mid"),
        ("NUL", "01 NUL.mid"),
        ("音色 é", "01 音色 é.mid"),
        ("e\u0301", "01 \u00e9.mid"),
        ("\uff05\uff0f", "01 __.mid"),
        ("é" * 120, f"01 {'é' * 60}.mid"),  # 120 bytes
        ("音" * 120, f"01 {'音' * 40}.mid"),
        ("x" * 119 + " y", f"01 {'x' * 119}.mid"),
    ],
)
def test_a_file_is_called_after_its_snapshot(snapshot: str, saved: str) -> None:
    assert files_of(snapshot)[0].file_name == saved


def test_names_are_sorted_as_the_snapshots_are() -> None:
    found = [each.file_name for each in files_of(*(f"s{n}" for n in range(120)))]
    assert found[0] == "001 s0.mid"
    assert found == sorted(found)
    setup = two_voices()
    for each in sweep_files(setup, {}, seconds=1):
        assert sweep_file(setup, each.snapshot, {}, seconds=1).file_name == each.file_name


@settings(max_examples=60)
@given(st.lists(st.text(max_size=125).filter(is_name), min_size=1, max_size=3, unique=True))
def test_names_are_distinct_and_safe_on_every_system(names: list[str]) -> None:
    found = [each.file_name for each in files_of(*names, *{n.swapcase() for n in names} - {*names})]
    same = {unicodedata.normalize("NFKC", name).casefold() for name in found}
    assert len(same) == len(found)
    for name in found:
        assert len(name.encode()) <= 255
        assert not set(name) & set('<>:"/\\|?*')
        assert name.isprintable()
        assert name.endswith(".mid")
        assert not name[:-4].endswith((" ", "."))


def test_they_are_saved_by_their_names(tmp_path: Path) -> None:
    for each in sweep_files(two_voices(), {"K1": 20}, seconds=1):
        files.save(tmp_path / each.file_name, each)
        assert (tmp_path / each.file_name).read_bytes() == each.data
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["01 both.mid", "02 only Pad.mid", "03 only Lead.mid"]
    with pytest.raises(InputError, match=r"SweepFile: give a file that ends in \.mid"):
        files.save(tmp_path / "both.json", each)
