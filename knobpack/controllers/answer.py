"""What controller_numbers() gives back: what every knob is sent on, and why, as values."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.controllers.listening import HIGHEST_NUMBER, check_channel
from knobpack.controllers.parts import MASTER, Closed, KnobNumber, Numbers, Room, Sent, spans
from knobpack.controllers.table import HALF, TABLE
from knobpack.phrases import many
from knobpack.shown import Told
from knobpack.words import fields
from knobpack.words.knob_settings import RESERVED
from knobpack.words.names import listed


@attrs.frozen
class ControllerNumbers(Told):
    """The controller numbers of a setup, checked.

    They are about channels: a knob sends on one, and two knobs collide only if they send one
    number on the same channel.

    Args:
        setup: the name of the setup.
        knobs: every knob that has something to send, in panel order, then the master.
        allowed: the controller numbers that were allowed, ascending.
        closed: those of them that voices listen to already, by channel and number.
        room: what would give room, for each channel where the numbers have run out.
    """

    setup: str
    knobs: tuple[KnobNumber, ...]
    allowed: tuple[int, ...]
    closed: tuple[Closed, ...]
    room: tuple[Room, ...]

    @property
    def numbers(self) -> dict[str, Numbers]:
        """The controller numbers of the knobs that have one, by name; the master is not here."""
        found = {each.knob: _numbers(each.sent) for each in self.knobs if each.knob != MASTER}
        return {knob: numbers for knob, numbers in found.items() if numbers is not None}

    @property
    def master_number(self) -> Numbers | None:
        """The controller numbers of the master; None: it has none."""
        return next((_numbers(each.sent) for each in self.knobs if each.knob == MASTER), None)

    @property
    def left(self) -> tuple[str, ...]:
        """The knobs that are sent on nothing, in panel order; ``MASTER`` for the master."""
        return tuple(each.knob for each in self.knobs if not each.sent.bits)

    def why_not(self, number: int, channel: int = 1) -> str:
        """Why a number is not free on a channel, or that it is, in a sentence.

        Args:
            number: 0 to 127.
            channel: 1 to 256.

        Returns:
            The sentence.

        Raises:
            InputError: one of them is not what it must be.
        """
        return _why_not(self, number, channel)

    @property
    def sentences(self) -> tuple[str, ...]:
        """How many got a number, each of them, what is closed, and what would give room."""
        return (_summary(self), *map(str, self.knobs), *_closed(self), *map(str, self.room))


def _numbers(sent: Sent) -> Numbers | None:
    if sent.number is None or sent.low is None:
        return sent.number
    return sent.number, sent.low


def _why_not(answer: ControllerNumbers, number: int, channel: int) -> str:
    """Why a number is not free on a channel, or that it is."""
    fields.check_whole("why_not(number)", number, 0, HIGHEST_NUMBER)
    check_channel("why_not(channel)", channel)
    what = f"{number} ({TABLE[number].name})"
    if number in RESERVED:
        return f"{what} is reserved: it means something else than a position."
    holder = next(
        (
            each
            for each in answer.knobs
            if each.channel == channel and number in {each.sent.number, each.sent.low}
        ),
        None,
    )
    if holder is not None:
        return str(holder)
    if number - HALF in range(HALF):
        return f"{what} is a low half: it goes with {number - HALF} alone, for 14 bits."
    if number not in answer.allowed:
        return f"{what} is not allowed."
    for closed in answer.closed:
        if (closed.channel, closed.number) == (channel, number):
            return str(closed)
    return f"{what} is free on channel {channel}."


def _summary(answer: ControllerNumbers) -> str:
    knobs = [each for each in answer.knobs if each.knob]
    numbered = sum(each.sent.number is not None for each in knobs)
    told = f"{answer.setup}: {numbered} of {many(len(knobs), 'knob')} got a controller number"
    parameters = sum(each.sent.parameter is not None for each in knobs)
    if parameters:
        told += f", {parameters} a parameter number"
    if len(knobs) < len(answer.knobs):
        told += (
            "; the master has one too"
            if answer.master_number is not None
            else ("; the master has none")
        )
    return f"{told}."


def _closed(answer: ControllerNumbers) -> Iterator[str]:
    """What voices close on the channels that something is sent on, those alike in one."""
    used = {(each.channel, each.sent.number) for each in answer.knobs}
    sending = {channel for channel, _ in used}
    alike: dict[tuple[int, tuple[str, ...]], list[int]] = {}
    for closed in answer.closed:
        if closed.channel in sending and (closed.channel, closed.number) not in used:
            alike.setdefault((closed.channel, closed.by), []).append(closed.number)
    for (channel, by), numbers in alike.items():
        listening = f"{listed(by)} listen{'s' if len(by) == 1 else ''} there"
        yield f"Closed on channel {channel}, because {listening}: {spans(numbers)}."
