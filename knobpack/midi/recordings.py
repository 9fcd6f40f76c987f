"""Recordings: a Standard MIDI File recorded while knobs were turned, as what each control did.

Halves of 14 bits are paired and parameters told apart. MIDI 1.0 Detailed Specification, page 12 and
Table II, note 4: the high half of 14 bits goes first, a low half that follows refines it, and a
high half sets the low one to zero. Page 17: 99 and 98 (101 and 100) select a parameter, whose
halves are 6 and 38. Not all senders keep to that: some send the low half first. So it is decided
for each control of a recording, and told: the order in which more halves are pairs, else the one in
which it goes the shorter way (common practice, no source).
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

import attrs

from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.midi.control_change_table import (
    DATA_ENTRY,
    NRPN,
    NULL_PARAMETER,
    RESET_ALL,
    RPN,
    TABLE,
)
from knobpack.storage.midi_file import ControlChange, control_changes
from knobpack.text.shown import Fielded, Told, counted, html_list, html_table
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import listed

TOGETHER: Final = 5
"""Milliseconds within which two halves are one position."""


@attrs.frozen
class Control(Fielded):
    """What one control did in a recording.

    Args:
        channel: 1 to 16.
        number: its controller number, of 14 bits that of the high half; None: a parameter.
        parameter: the number of a non-registered parameter (NRPN), high half and low; None: it is
            a controller.
        bits: how many bits its positions have: 7 or 14.
        positions: when it came to each position, in milliseconds, and the position, 0 to
            2**bits - 1, in the order of time.
        told: how its halves were paired, in words; empty where it has none.

    Source:
        MIDI 1.0 Detailed Specification, pages 12 and 17.
    """

    channel: int
    number: int | None
    parameter: tuple[int, int] | None
    bits: int
    positions: tuple[tuple[int, int], ...] = attrs.field(repr=False)
    told: str = ""

    @property
    def name(self) -> str:
        """What it is: ``controller 74 (Brightness) on channel 1``."""
        if self.parameter is not None:
            return "non-registered parameter {}, {} on channel {}".format(
                *self.parameter, self.channel
            )
        return _on(self.number or 0, self.channel)

    @property
    def last(self) -> int:
        """Where it was left, 0 to 2**bits - 1."""
        return self.positions[-1][1]


@attrs.frozen
class Recording(Told):
    """What controls did in a file.

    Args:
        controls: the controls that changed, by channel and number, parameters last.
        remarks: what was not quite right in the file, and what was passed over.
    """

    controls: tuple[Control, ...] = attrs.field(repr=counted)
    remarks: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each control with where it went, how its halves were paired, and the remarks."""
        told = []
        for each in self.controls:
            low, high = _ends(each)
            told.append(
                f"{each.name[0].upper()}{each.name[1:]}: {len(each.positions)} positions of "
                f"{each.bits} bits, from {low} to {high}, left at {each.last}."
            )
        none = () if told else ("No control changed in this recording.",)
        return (*none, *told, *pairing(self.controls), *self.remarks)

    @property
    def _parts(self) -> Sequence[str]:
        heads = ("control", "bits", "lowest", "highest", "left at")
        rows = [(each.name, each.bits, *_ends(each), each.last) for each in self.controls]
        table = html_table("Controls", heads, tuple(tuple(map(str, row)) for row in rows))
        told = (*pairing(self.controls), *self.remarks)
        return (table, html_list(told)) if told else (table,)


def _ends(control: Control) -> tuple[int, int]:
    values = [value for _, value in control.positions]
    return min(values), max(values)


def read_recording(data: bytes) -> Recording:
    """Read a recording.

    Args:
        data: the bytes of a Standard MIDI File of any format, at most 8 MB.

    Returns:
        What controls did in it: controllers of 7 bits, of 14 bits and non-registered parameters.

    Raises:
        InputError: it is no Standard MIDI File, or is broken; the field says at which byte.

    Source:
        RP-001 (Standard MIDI Files 1.0); MIDI 1.0 Detailed Specification, pages 12 and 17.

    Example:
        >>> from knobpack.midi import read_recording
        >>> track = bytes.fromhex("00 B0 10 20 60 B0 10 40 00 FF 2F 00")
        >>> head = b"MThd" + bytes.fromhex("00000006 0000 0001 0060")
        >>> recording = read_recording(head + b"MTrk" + len(track).to_bytes(4, "big") + track)
        >>> print(recording)
        Controller 16 (General Purpose Controller 1) on channel 1: 2 positions of 7 bits, from 32 \
to 64, left at 64.
    """
    return recording_of(*control_changes(data))


def recording_of(changes: Sequence[ControlChange], remarks: Iterable[str]) -> Recording:
    """What controls did, by the control changes of a file, with remarks on the file."""
    found, passed = _controls(changes)
    return Recording(found, (*remarks, *passed))


def load_recording(path: str | os.PathLike[str]) -> Recording:
    """Read a recording from a file.

    Args:
        path: the file, at most 8 MB.

    Returns:
        What :func:`read_recording` makes of it.

    Raises:
        InputError: as :func:`read_recording`; its ``file`` is the path.
        FileError: the file cannot be read.
    """
    from knobpack.storage.disk import of_file, read_bytes

    content = read_bytes(path)
    with of_file(path):
        return read_recording(content)


@attrs.frozen
class _Half:
    """A half of a position as it came."""

    time: int
    low: bool
    value: int


_About = tuple[int, int | None, tuple[int, int] | None]
"""A channel, and a controller, by the number of its high half, or a non-registered parameter."""


@attrs.define
class _Heard:
    """What was heard so far.

    Args:
        halves: the halves of each control.
        selected: the parameter that is selected on each channel: what selects it, and the halves
            of its number, as far as they were sent.
        remarks: what was passed over.
    """

    halves: dict[_About, list[_Half]] = attrs.Factory(dict)
    selected: dict[int, tuple[tuple[int, int], list[int | None]]] = attrs.Factory(dict)
    remarks: dict[str, None] = attrs.Factory(dict)

    def passed(self, what: str) -> None:
        """Remark on what was passed over."""
        self.remarks[f"{what[0].upper()}{what[1:]}: passed over."] = None

    def take(self, change: ControlChange) -> None:
        """Take a control change, by what its number means."""
        number, channel = change.number, change.channel
        if number in (*NRPN, *RPN):
            pair = NRPN if number in NRPN else RPN
            before = self.selected.get(channel)
            if before is None or before[0] != pair:
                before = self.selected[channel] = (pair, [None, None])
            before[1][pair.index(number)] = change.value
        elif number in DATA_ENTRY:
            self._data_entry(change)
        elif number in RESERVED:
            if number == RESET_ALL:
                self.selected.pop(channel, None)
            self.passed(f"{_on(number, channel)} is no position")
        else:
            low = TABLE[number].low
            self._half((channel, number - LOW_HALF if low else number, None), change, low)

    def _data_entry(self, change: ControlChange) -> None:
        pair, (high, low) = self.selected.get(change.channel, (NRPN, (None, None)))
        on = f"on channel {change.channel}"
        if high is None or low is None or (high, low) == NULL_PARAMETER:
            self.passed(f"data entry {on} is about no parameter")
        elif pair == RPN:
            self.passed(f"registered parameter {high}, {low} {on} is no knob's")
        else:
            self._half((change.channel, None, (high, low)), change, change.number == DATA_ENTRY[1])

    def _half(self, about: _About, change: ControlChange, low: bool) -> None:
        self.halves.setdefault(about, []).append(_Half(change.time, low, change.value))


def _controls(changes: Iterable[ControlChange]) -> tuple[tuple[Control, ...], tuple[str, ...]]:
    """The controls that changed, in order, and remarks on what was passed over."""
    heard = _Heard()
    for each in changes:
        heard.take(each)
    found: list[Control] = []
    # By channel and number, parameters last.
    for about in sorted(heard.halves, key=lambda a: (a[1] is None, a[0], a[1] or 0, a[2] or ())):
        (channel, number, parameter), halves = about, heard.halves[about]
        if not all(half.low for half in halves):
            found.append(_control(channel, number, parameter, halves))
        elif number is not None:
            alone = tuple((half.time, half.value) for half in halves)
            told = "7 bits: the high half to it was not heard"
            found.append(Control(channel, number + LOW_HALF, None, 7, alone, told))
        else:
            heard.passed("parameter {}, {} has a low half alone".format(*parameter or ()))
    return tuple(found), tuple(heard.remarks)


def _control(
    channel: int, number: int | None, parameter: tuple[int, int] | None, halves: Sequence[_Half]
) -> Control:
    plain = tuple((half.time, half.value) for half in halves if not half.low)
    single = Control(channel, number, parameter, 7, plain)
    if not any(half.low for half in halves):
        return single
    if not any(half.low and half.value for half in halves):
        return attrs.evolve(single, told="7 bits: the low half is always 0")
    high_first, low_first = (_paired(halves, low_first=each) for each in (False, True))
    (count, way), (fewer, shorter) = (_length(each) for each in (high_first, low_first))
    positions, told = high_first, "14 bits, the high half first"
    if (count, way) > (fewer, shorter):
        positions, told = (
            low_first,
            (
                f"14 bits, the low half first: so it is at {many(fewer, 'position')} over "
                f"{shorter:,} steps in all, and the other way at {count:,} over {way:,}"
            ),
        )
    return Control(channel, number, parameter, 14, positions, told)


def pairing(found: Iterable[Control]) -> tuple[str, ...]:
    """How the halves of controls were paired, in sentences; those alike in one."""
    alike = grouped(((each.told, each.channel), each) for each in found if each.told)
    return tuple(
        f"{_all_of(controls)} on channel {channel}: {told}."
        for (told, channel), controls in alike.items()
    )


def _all_of(found: Sequence[Control]) -> str:
    numbers = [str(each.number) for each in found if each.number is not None]
    parameters = ["{}, {}".format(*each.parameter) for each in found if each.parameter]
    told = [f"controller{'s' * (len(numbers) > 1)} {listed(numbers)}"] if numbers else []
    told += [f"non-registered parameter {each}" for each in parameters]
    return f"{told[0][0].upper()}{listed(told)[1:]}"


def _paired(halves: Sequence[_Half], *, low_first: bool) -> tuple[tuple[int, int], ...]:
    """Positions of 14 bits; before the first high half there are none.

    A half that the other one follows at once, in this order, is no position yet.
    """
    high: int | None = None
    low = 0
    found = []
    for half, after in zip(halves, [*halves[1:], None], strict=True):
        if half.low:
            low = half.value
        else:
            high, low = half.value, low if low_first else 0
        goes_on = after is not None and after.low is not half.low is low_first
        at_once = after is not None and after.time - half.time <= TOGETHER
        if high is not None and not (goes_on and at_once):
            found.append((half.time, (high << 7) | low))
    return tuple(found)


def _length(positions: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """How many positions they are, and how far they go in all, there and back."""
    return len(positions), sum(
        abs(after - before) for (_, before), (_, after) in pairwise(positions)
    )


def _on(number: int, channel: int) -> str:
    return f"controller {number} ({TABLE[number].name}) on channel {channel}"
