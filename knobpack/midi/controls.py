"""Controls: what control changes are about, halves of 14 bits paired, parameters told apart.

MIDI 1.0 Detailed Specification, page 12 and Table II, note 4: the high half of 14 bits goes first,
a low half that follows refines it, and a high half sets the low one to zero. Page 17: 99 and 98
(101 and 100) select a parameter, whose halves are 6 and 38. Not all senders keep to that: some send
the low half first. So it is decided for each control of a recording, and told: the order in which
more halves are pairs, else the one in which it goes the shorter way (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise
from typing import Final

import attrs

from knobpack.controllers.table import TABLE
from knobpack.midi.smf import ControlChange
from knobpack.phrases import many
from knobpack.shown import Fielded
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import listed

HIGH, LOW = 6, 38
"""The controllers that carry the halves of a parameter: data entry."""

TOGETHER: Final = 5
"""Milliseconds within which two halves are one position."""

NULL: Final = (127, 127)
"""The parameter that selects nothing."""

_SELECTING: Final = {99: ("nrpn", 0), 98: ("nrpn", 1), 101: ("rpn", 0), 100: ("rpn", 1)}
_RESET_ALL: Final = 121


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
class _Half:
    """A half of a position as it came."""

    time: int
    low: bool
    value: int


def controls(changes: Iterable[ControlChange]) -> tuple[tuple[Control, ...], tuple[str, ...]]:
    """The controls that changed, by channel and number, and remarks on what was passed over.

    Args:
        changes: control changes in the order of time.
    """
    heard = _Heard()
    for each in changes:
        heard.take(each)
    found: list[Control] = []
    for (channel, number), halves in sorted(heard.numbers.items()):
        if all(half.low for half in halves):
            alone = tuple((half.time, half.value) for half in halves)
            told = "7 bits: the high half to it was not heard"
            found.append(Control(channel, number + LOW_HALF, None, 7, alone, told))
        else:
            found.append(_control(channel, number, None, halves))
    for (channel, parameter), halves in sorted(heard.parameters.items()):
        if all(half.low for half in halves):
            heard.passed("parameter {}, {} has a low half alone".format(*parameter))
        else:
            found.append(_control(channel, None, parameter, halves))
    return tuple(found), tuple(heard.remarks)


@attrs.define
class _Heard:
    """What was heard so far.

    Args:
        numbers: the halves of each controller, by channel and the number of the high half.
        parameters: those of each non-registered parameter, by channel.
        selected: the parameter that is selected on each channel: its kind and the halves of its
            number, as far as they were sent.
        remarks: what was passed over.
    """

    numbers: dict[tuple[int, int], list[_Half]] = attrs.Factory(dict)
    parameters: dict[tuple[int, tuple[int, int]], list[_Half]] = attrs.Factory(dict)
    selected: dict[int, tuple[str, list[int | None]]] = attrs.Factory(dict)
    remarks: dict[str, None] = attrs.Factory(dict)

    def passed(self, what: str) -> None:
        """Remark on what was passed over."""
        self.remarks[f"{what[0].upper()}{what[1:]}: passed over."] = None

    def take(self, change: ControlChange) -> None:
        """Take a control change, by what its number means."""
        if change.number in _SELECTING:
            kind, half = _SELECTING[change.number]
            before = self.selected.get(change.channel)
            if before is None or before[0] != kind:
                before = self.selected[change.channel] = (kind, [None, None])
            before[1][half] = change.value
        elif change.number in (HIGH, LOW):
            self._data_entry(change)
        elif change.number in RESERVED:
            if change.number == _RESET_ALL:
                self.selected.pop(change.channel, None)
            self.passed(f"{_on(change.number, change.channel)} is no position")
        else:
            low = LOW_HALF <= change.number < 2 * LOW_HALF
            number = change.number - LOW_HALF if low else change.number
            into = self.numbers.setdefault((change.channel, number), [])
            into.append(_Half(change.time, low, change.value))

    def _data_entry(self, change: ControlChange) -> None:
        kind, (high, low) = self.selected.get(change.channel, ("", [None, None]))
        on = f"on channel {change.channel}"
        if high is None or low is None or (high, low) == NULL:
            self.passed(f"data entry {on} is about no parameter")
        elif kind == "rpn":
            self.passed(f"registered parameter {high}, {low} {on} is no knob's")
        else:
            into = self.parameters.setdefault((change.channel, (high, low)), [])
            into.append(_Half(change.time, change.number == LOW, change.value))


def _control(
    channel: int, number: int | None, parameter: tuple[int, int] | None, halves: Sequence[_Half]
) -> Control:
    plain = tuple((half.time, half.value) for half in halves if not half.low)
    single = Control(channel, number, parameter, 7, plain)
    if not any(half.low for half in halves):
        return single
    if not any(half.low and half.value for half in halves):
        return attrs.evolve(single, told="7 bits: the low half is always 0")
    high_first, low_first = _paired(halves, low_first=False), _paired(halves, low_first=True)
    ways = [(len(each), _way(each)) for each in (high_first, low_first)]
    if ways[0] <= ways[1]:
        return Control(channel, number, parameter, 14, high_first, "14 bits, the high half first")
    told = (
        f"14 bits, the low half first: so it is at {many(ways[1][0], 'position')} over "
        f"{ways[1][1]:,} steps in all, and the other way at {ways[0][0]:,} over {ways[0][1]:,}"
    )
    return Control(channel, number, parameter, 14, low_first, told)


def pairing(found: Iterable[Control]) -> tuple[str, ...]:
    """How the halves of controls were paired, in sentences; those alike in one."""
    alike: dict[tuple[str, int], list[Control]] = {}
    for each in found:
        if each.told:
            alike.setdefault((each.told, each.channel), []).append(each)
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
        begins = half.low is low_first
        completed = (
            begins
            and after is not None
            and after.low is not half.low
            and after.time - half.time <= TOGETHER
        )
        if high is not None and not completed:
            found.append((half.time, (high << 7) | low))
    return tuple(found)


def _way(positions: Sequence[tuple[int, int]]) -> int:
    """How far it goes in all, there and back."""
    return sum(abs(after - before) for (_, before), (_, after) in pairwise(positions))


def _on(number: int, channel: int) -> str:
    return f"controller {number} ({TABLE[number].name}) on channel {channel}"
