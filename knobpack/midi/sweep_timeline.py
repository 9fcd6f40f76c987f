"""Sweep timeline: what is sent when, in whole milliseconds.

A line of MIDI 1.0 carries 31,250 bits a second, ten to a byte: 1,042 messages of three bytes.
Here one message is given a whole millisecond, so any line keeps up: the positions of the master
follow one another so far apart that what one of them asks for is sent before the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from knobpack.midi.sweep_streams import Stream
from knobpack.shown import Fielded
from knobpack.simulation.response import nearest

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
        last = self.points - 1
        for step in range(2 * last + 1):
            yield self.time(step), nearest(min(step, 2 * last - step), self.top, last)


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
    last = timing.points - 1
    for step in range(1, 2 * last + 1):
        at, before = last - abs(last - step), last - abs(last - step + 1)
        for each in moving:
            for number, value in each.messages(each.values[at], each.values[before]):
                yield timing.time(step), each.channel, number, value
