"""Knob numbers: what each knob is sent on and why, what is closed, and where there is no room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import ClassVar

import attrs

from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.midi.control_change_table import TABLE, UNDEFINED_SINGLES
from knobpack.midi.sent import MASTER, Numbers, Sent, check_channel
from knobpack.text.shown import Fielded, Told
from knobpack.words import fields
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import knob_told, listed
from knobpack.words.voice import HIGHEST_DATA


@attrs.frozen
class KnobNumber(Fielded):
    """What one knob, or the master, is sent on.

    Args:
        knob: its name; ``MASTER``: the master.
        channels: the channels of the voices that it drives, 1 to 256. It sends on one channel:
            where there are several, it has no number.
        sent: what it is sent on.
        fine: whether 14 bits were asked for.
        heard_by: the voices that were listening to the number there already, in the order given.
        before: what it was sent on in the previous answer; None: nothing is known.
        own: whether the number is the one that the setup says it really sends.
    """

    knob: str
    channels: tuple[int, ...]
    sent: Sent
    fine: bool = False
    heard_by: tuple[str, ...] = ()
    before: Sent | None = None
    own: bool = False

    @property
    def channel(self) -> int | None:
        """The one channel that it sends on; None: it would take several."""
        return self.channels[0] if len(self.channels) == 1 else None

    @property
    def changed(self) -> bool:
        """Whether it was sent on another number before. Its low half alone is no change."""
        was, now = self.before, self.sent
        return was is not None and (was.number, was.parameter) != (now.number, now.parameter)

    def __str__(self) -> str:
        who = _called(self.knob)
        if self.channel is None:
            where = listed([str(channel) for channel in self.channels])
            return f"{who} has no number: it drives voices on channels {where}, and sends on one."
        if not self.sent.bits:
            open_on = f"those that are open on channel {self.channel}"
            return f"{who} has no number: {open_on} have run out."
        why = "; ".join((*_reasons(self), *_cautions(self)))
        return f"{who} sends {_with_bits(self.sent)} on channel {self.channel}: {why}."


@attrs.frozen
class Closed(Fielded):
    """A number that is allowed, but that voices on the channel listen to already.

    Args:
        channel: the channel, 1 to 256.
        number: the controller number.
        heard: what of it they listen to: the number itself, its low half, or both.
        by: the voices.
    """

    channel: int
    number: int
    heard: tuple[int, ...]
    by: tuple[str, ...]

    def __str__(self) -> str:
        why = f"{_listening(self.by)} to {spans(self.heard)}"
        if self.number not in self.heard:
            why += ", its low half, which it would set to zero"
        return f"{self.number} ({TABLE[self.number].name}) on channel {self.channel}: {why}."


@attrs.frozen
class Room(Fielded):
    """What would give room on a channel where the numbers have run out.

    Args:
        channel: the channel, 1 to 256.
        left: the knobs without a number or parameter there.
        allowing: usable controller numbers that are not allowed and that no voice there listens to.
        listened: allowed numbers that voices listen to and no knob was asked to use.
        shut_by: the voices there that listen to what carries parameters, so that none is given.
    """

    channel: int
    left: tuple[str, ...]
    allowing: tuple[int, ...]
    listened: tuple[int, ...]
    shut_by: tuple[str, ...] = ()

    def __str__(self) -> str:
        who = listed([_called(knob, "the master") for knob in self.left])
        return f"On channel {self.channel} {who} got no number. Room: {'; '.join(self._ways())}."

    def _ways(self) -> Iterator[str]:
        undefined = set(UNDEFINED_SINGLES).intersection(self.allowing)
        others = set(self.allowing) - undefined
        if others:
            yield f"allow {spans(others)} as well"
        if undefined:
            yield f"allow {spans(undefined)}, which are undefined, as well"
        if self.listened:
            yield f"let a knob really send {spans(self.listened)}, though voices listen there"
        # MIDI 1.0, page 11: many parameters of one device are for NRPN, not for controllers.
        if not self.shut_by:
            yield "let parameters (NRPN) be used"
        yield "put voices on another channel"


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

    question: ClassVar[str] = "controller numbers"

    setup: str
    knobs: tuple[KnobNumber, ...]
    allowed: tuple[int, ...]
    closed: tuple[Closed, ...]
    room: tuple[Room, ...]

    @property
    def numbers(self) -> dict[str, Numbers]:
        """The controller numbers of the knobs that have one, by name; the master is not here."""
        found = {each.knob: each.sent.numbers for each in self.knobs if each.knob != MASTER}
        return {knob: numbers for knob, numbers in found.items() if numbers is not None}

    @property
    def master_number(self) -> Numbers | None:
        """The controller numbers of the master; None: it has none."""
        return next((each.sent.numbers for each in self.knobs if each.knob == MASTER), None)

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
        fields.check_whole("why_not.number", number, 0, HIGHEST_DATA)
        check_channel("why_not.channel", channel)
        what = f"{number} ({TABLE[number].name})"
        if number in RESERVED:
            return f"{what} is reserved: it means something else than a position."
        for each in self.knobs:
            if each.channel == channel and number in (each.sent.number, each.sent.low):
                return str(each)
        if TABLE[number].low:
            return f"{what} is a low half: it goes with {number - LOW_HALF} alone, for 14 bits."
        if number not in self.allowed:
            return f"{what} is not allowed."
        for closed in self.closed:
            if (closed.channel, closed.number) == (channel, number):
                return str(closed)
        return f"{what} is free on channel {channel}."

    @property
    def summary(self) -> str:
        """How many knobs got a number, in a sentence."""
        knobs = [each.sent for each in self.knobs if each.knob != MASTER]
        numbered = sum(sent.number is not None for sent in knobs)
        told = f"{self.setup}: {numbered} of {many(len(knobs), 'knob')} got a controller number"
        parameters = sum(sent.parameter is not None for sent in knobs)
        if parameters:
            told += f", {parameters} a parameter number"
        if len(knobs) < len(self.knobs):
            told += f"; the master has {'none' if self.master_number is None else 'one too'}"
        return f"{told}."

    @property
    def sentences(self) -> tuple[str, ...]:
        """How many got a number, each of them, what is closed, and what would give room."""
        return (self.summary, *map(str, self.knobs), *self._closed(), *map(str, self.room))

    def _closed(self) -> Iterator[str]:
        """What voices close on the channels that something is sent on, those alike in one."""
        used = {(each.channel, each.sent.number) for each in self.knobs}
        sending = {channel for channel, _ in used}
        alike = grouped(
            ((each.channel, each.by), each.number)
            for each in self.closed
            if each.channel in sending and (each.channel, each.number) not in used
        )
        for (channel, by), numbers in alike.items():
            why = f"because {_listening(by)} there"
            yield f"Closed on channel {channel}, {why}: {spans(numbers)}."


def spans(numbers: Iterable[int]) -> str:
    """Numbers as spans: ``1 to 5, 7 and 9``."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and found[-1][-1] == number - 1:
            found[-1].append(number)
        else:
            found.append([number])
    told = ([f"{each[0]} to {each[-1]}"] if len(each) > 2 else map(str, each) for each in found)
    return listed([part for parts in told for part in parts], most=len(TABLE))


def _called(knob: str, master: str = "The master") -> str:
    return knob_told(knob) or master


def _listening(voices: tuple[str, ...]) -> str:
    return f"{listed(voices)} listen{'s' if len(voices) == 1 else ''}"


def _with_bits(sent: Sent) -> str:
    return f"{sent}{'' if sent.low is None else ' (14 bits)'}"


def _reasons(each: KnobNumber) -> Iterator[str]:
    """Why this number: facts of the table and of who listens."""
    number = each.sent.number
    if number is None:
        yield "the controller numbers that are open have run out"
    elif each.own:
        yield f"{TABLE[number].name}, which it really sends"
        heard = f"{_listening(each.heard_by)} to it"
        yield heard if each.heard_by else "no voice there is known to listen to it"
    elif TABLE[number].undefined:
        yield "undefined, so it means nothing else"
    elif TABLE[number].general:
        yield f"{TABLE[number].name}, for any use"
    else:
        yield f"{TABLE[number].name}, which no voice there is known to listen to"
    if each.before is not None:
        was = f"it was sent on {_with_bits(each.before)} before"
        yield was if each.changed else "as before"


def _cautions(each: KnobNumber) -> Iterator[str]:
    """What of the number's own meaning may get in the way."""
    number = each.sent.number
    if number is not None:
        row = TABLE[number]
        if row.on_reset is not None:
            yield f"Reset All Controllers sets it to {row.on_reset}"
        if row.takes == "change":
            yield "a receiver may take 64 for no change"
        elif row.takes == "switch":
            yield "0 to 63 is off and 64 to 127 on"
        elif row.takes in {"note", "velocity"}:
            yield f"a receiver may take it for a {row.takes}"
        if number in UNDEFINED_SINGLES:
            yield "a receiver that keeps to CA-022 ignores it"
    if each.fine and each.sent.bits < 14:
        yield "it is of a single byte, so 7 bits are sent and not 14"
