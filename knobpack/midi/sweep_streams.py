"""Sweep streams: what a knob, or the master, sends while the master is swept, and when.

Time goes in whole milliseconds. A line of MIDI 1.0 carries 31,250 bits a second, ten to a byte:
1,042 messages of three bytes. Here one message is given a whole millisecond, so any line keeps up:
the positions of the master follow one another so far apart that what one of them asks for is sent
before the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

import attrs

from knobpack.errors import InputError
from knobpack.midi.control_change_table import touched
from knobpack.midi.sent import MASTER, Sent, sent_of
from knobpack.setups.response import nearest
from knobpack.text.shown import Fielded
from knobpack.words.fields import check_named, check_whole
from knobpack.words.names import knob_told

SHORTEST, LONGEST = 1, 600
"""Seconds that a sweep may take. In half a second every controller number can send twice."""

LEAD = 1000
"""Milliseconds from the first message to the start of the sweep."""

NOTE_AT = 500
"""When the first note starts that is held, in milliseconds: all knobs stand in their places."""

TAIL = 500
"""Milliseconds from the end of the sweep to the end of the file."""

Event = tuple[int, int, int, int]
"""When, in milliseconds; a channel; a controller number; a value from 0 to 127."""


@attrs.frozen
class Stream:
    """What is sent on one or two controller numbers.

    Args:
        who: the name of a knob; ``MASTER``: the master.
        sent: its controller number, or the two of 14 bits.
        channel: 1 to 16.
        values: what it sends at each point as the master goes up; or one value, for all of them.
    """

    who: str
    sent: Sent
    channel: int
    values: Sequence[int] = ()

    @property
    def moving(self) -> bool:
        """Whether what it sends ever changes."""
        return self.values[0] != self.values[-1]  # it never turns back on the way

    @property
    def in_steps(self) -> bool:
        """Whether its values go on by one at most, so that none is left out."""
        near = zip(self.values[:-1], self.values[1:], strict=True)
        return all(abs(later - earlier) <= 1 for earlier, later in near)

    def messages(self, value: int, before: int | None) -> list[tuple[int, int]]:
        """The controller numbers and values that tell a receiver where it stands now.

        MIDI 1.0, Table II, note 4: the high half goes first, then the low half, which goes
        alone where nothing else changed. Receivers should take the low half for zero when they
        get a high one, but not all do: it is sent even where it is zero.

        Args:
            value: 0 to 2**bits - 1.
            before: what was sent before; None: nothing yet.
        """
        if value == before or self.sent.number is None:
            return []
        if self.sent.low is None:
            return [(self.sent.number, value)]
        low = (self.sent.low, value & 0x7F)
        if before is not None and before >> 7 == value >> 7:
            return [low]
        return [(self.sent.number, value >> 7), low]


@attrs.frozen
class Timing(Fielded):
    """When the master stands where, from bottom to top and back.

    Args:
        top: the highest position of the master.
        half: milliseconds from bottom to top, and again from top to bottom.
        points: at how many positions it stands on the way up, bottom and top included, spread
            evenly; on the way down it stands at the same.
    """

    top: int
    half: int
    points: int

    @property
    def end(self) -> int:
        """When the file ends, in milliseconds."""
        return LEAD + 2 * self.half + TAIL

    @property
    def passed(self) -> tuple[int, ...]:
        """At which of its points it stands at each step: up, then down again."""
        return (*range(self.points), *reversed(range(self.points - 1)))

    def time(self, step: int) -> int:
        """When a step is taken: 0 is the bottom, ``points`` - 1 the top, then down again.

        Args:
            step: 0 to 2 * (``points`` - 1).

        Returns:
            Milliseconds from the start of the file.
        """
        last = self.points - 1
        way = nearest(min(step, 2 * last - step), self.half, last)
        return LEAD + (way if step <= last else 2 * self.half - way)

    @property
    def moments(self) -> Iterator[tuple[int, int]]:
        """Every step: when, in milliseconds, and the position of the master."""
        for step, at in enumerate(self.passed):
            yield self.time(step), nearest(at, self.top, self.points - 1)


def timing(top: int, half: int, burst: int) -> Timing:
    """The finest timing in which every position of the master has the time it takes to send.

    Args:
        top: the highest position of the master.
        half: milliseconds from bottom to top, ``burst`` or more.
        burst: how many messages a position of the master asks for, at most.
    """
    return Timing(top, half, min(top + 1, half // max(1, burst) + 1))


def events(timing: Timing, streams: Sequence[Stream]) -> Iterator[Event]:
    """All that is sent, in order: first where everything stands, then what changes.

    Args:
        timing: when the master stands where.
        streams: what is sent, in the order in which it is.
    """
    for each in streams:
        for number, value in each.messages(each.values[0], None):
            yield 0, each.channel, number, value
    moving = [each for each in streams if each.moving]
    for step, (before, at) in enumerate(pairwise(timing.passed), start=1):
        for each in moving:
            for number, value in each.messages(each.values[at], each.values[before]):
                yield timing.time(step), each.channel, number, value


def streams_of(
    call: str,
    channels: Mapping[str, tuple[int, ...]],
    numbers: object,
    master_number: object,
    channel: int | None,
) -> tuple[Stream | None, tuple[Stream, ...]]:
    """The stream of the master, if it has a number, and those of the knobs that have one.

    A knob that reaches voices on several channels has a stream for each of them.

    Args:
        call: the name of the function that was given the rest, for errors.
        channels: for each knob of the surface, in panel order, the channels that it sends on, as
            far as they are known.
        numbers: a controller number or two for each name of a knob.
        master_number: the same for the master; None: it is not sent.
        channel: 1 to 16, for all; None: those of each knob, or 1 where none is known, and for the
            master the lowest that a knob sends on.

    Raises:
        InputError: a knob is not there, a number is none that can be used, a channel none of the 16
            that a file has, or two knobs would be heard on one.
    """
    if not isinstance(numbers, Mapping):
        raise InputError(f"{call}.numbers", numbers, "give numbers for each name of a knob")
    for knob in numbers:
        check_named(f"{call}.numbers", knob, channels, "name a knob of the surface")
    found: list[tuple[str, Stream]] = []
    for knob, known in channels.items():
        if knob in numbers:
            where = f"{call}.numbers[{knob!r}]"
            sent = sent_of(where, numbers[knob])
            on = known or (1,) if channel is None else (channel,)
            for each in on:
                check_whole(f"{call}.channel", each, 1, 16)
            found += [(where, Stream(knob, sent, each)) for each in on]
    knobs, master = tuple(stream for _, stream in found), None
    if master_number is not None:
        where = f"{call}.master_number"
        lowest = min((each.channel for each in knobs), default=1)
        master = Stream(MASTER, sent_of(where, master_number), channel or lowest)
        found.append((where, master))
    _check_distinct(found)
    return master, knobs


def _check_distinct(found: Sequence[tuple[str, Stream]]) -> None:
    """Refuse two that a receiver cannot tell apart: a high half moves its low half too."""
    taken: dict[tuple[int, int], str] = {}
    for where, stream in found:
        for number in sorted(touched(stream.sent.number or 0)):
            other = taken.setdefault((stream.channel, number), stream.who)
            if other != stream.who:
                right = f"give each its own numbers: {knob_told(other)} moves this one too"
                raise InputError(where, number, right)
