"""Parts of the answer: what each knob is sent on, what is closed, and where there is no room."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobpack.controllers.table import TABLE, UNDEFINED_SINGLES
from knobpack.shown import Fielded
from knobpack.words.names import knob_told, listed

MASTER = ""
"""The name under which the master stands among the knobs; no knob is called so."""

Numbers = int | tuple[int, int]
"""One controller number for 7 bits, or two for 14: the high half, then the low."""


@attrs.frozen
class Sent(Fielded):
    """What a knob is sent on; nothing, if all three are None.

    Args:
        number: a controller number, 1 to 5, 7 to 31, 64 to 95 or 102 to 119; of 14 bits, that of
            the high half, 1 to 5 or 7 to 31.
        low: the controller number of the low half, higher by 32; None: 7 bits are sent.
        parameter: the number of a non-registered parameter, MSB and LSB, each 0 to 127; its data
            are of 14 bits.

    Source:
        MIDI 1.0 Detailed Specification, page 12 (a low half is higher by 32) and page 17
        (parameters).
    """

    number: int | None = None
    low: int | None = None
    parameter: tuple[int, int] | None = None

    @property
    def bits(self) -> int:
        """How many bits of a position are sent: 0, 7 or 14."""
        if self.low is not None or self.parameter is not None:
            return 14
        return 0 if self.number is None else 7


@attrs.frozen
class KnobNumber(Fielded):
    """What one knob, or the master, is sent on.

    Args:
        knob: its name; ``MASTER``: the master.
        channels: the channels of the voices that it drives, 1 to 256. It sends on one channel:
            where there are several, it has no number.
        sent: what it is sent on.
        fine: whether 14 bits were asked for.
        deliberate: whether the number was asked for.
        heard_by: the voices that were listening to the number there already, in the order given.
        before: what it was sent on in the previous answer; None: nothing is known.
        own: whether the number is the one that the setup says it really sends.
    """

    knob: str
    channels: tuple[int, ...]
    sent: Sent
    fine: bool = False
    deliberate: bool = False
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
        return _knob_told(self)


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
        return _closed_told(self)


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
        return _room_told(self)


def _knob_told(each: KnobNumber) -> str:
    """What one knob is sent on, and why."""
    who = _called(each.knob)
    if each.channel is None:
        where = listed([str(channel) for channel in each.channels])
        return f"{who} has no number: it drives voices on channels {where}, and sends on one."
    if not each.sent.bits:
        return f"{who} has no number: those that are open on channel {each.channel} have run out."
    why = [*_reasons(each), *_cautions(each)]
    return f"{who} sends {_sent_told(each.sent)} on channel {each.channel}: {'; '.join(why)}."


def _sent_told(sent: Sent) -> str:
    """What a knob is sent on, in words."""
    if sent.parameter is not None:
        return f"non-registered parameter {sent.parameter[0]}/{sent.parameter[1]}"
    if sent.low is None:
        return f"controller {sent.number}"
    return f"controllers {sent.number} and {sent.low} (14 bits)"


def _closed_told(closed: Closed) -> str:
    """Why voices close a number."""
    heard = f"listen{'s' if len(closed.by) == 1 else ''} to {spans(closed.heard)}"
    why = f"{listed(closed.by)} {heard}"
    if closed.number not in closed.heard:
        # MIDI 1.0, Table II, note 4: to receive a high half sets the low half to zero.
        why += ", its low half, which it would set to zero"
    return f"{closed.number} ({TABLE[closed.number].name}) on channel {closed.channel}: {why}."


def _room_told(room: Room) -> str:
    """Who is without a number, and what would give room."""
    ways = list(_ways(room))
    who = listed([_called(knob, False) for knob in room.left])
    return f"On channel {room.channel} {who} got no number. Room: {'; '.join(ways)}."


def spans(numbers: Iterable[int]) -> str:
    """Numbers as spans: ``1 to 5, 7 and 9``."""
    found: list[list[int]] = []
    for number in sorted(numbers):
        if found and found[-1][-1] == number - 1:
            found[-1].append(number)
        else:
            found.append([number])
    return listed([part for span in found for part in _span(span)], most=len(TABLE))


def _span(span: Sequence[int]) -> list[str]:
    return [f"{span[0]} to {span[-1]}"] if len(span) > 2 else [str(number) for number in span]


def _called(knob: str, first: bool = True) -> str:
    """How a knob, or the master, is called in a sentence, at its start or not."""
    return knob_told(knob) or ("The master" if first else "the master")


def _reasons(each: KnobNumber) -> Iterator[str]:
    """Why this number: facts of the table and of who listens."""
    number = each.sent.number
    if number is None:
        yield "the controller numbers that are open have run out"
    elif each.deliberate:
        yield f"{TABLE[number].name}, {'which it really sends' if each.own else 'as asked'}"
        if each.heard_by:
            yield f"{listed(each.heard_by)} listen{'s' if len(each.heard_by) == 1 else ''} to it"
        else:
            yield "no voice there is known to listen to it"
    elif TABLE[number].undefined:
        yield "undefined, so it means nothing else"
    elif TABLE[number].general:
        yield f"{TABLE[number].name}, for any use"
    else:
        yield f"{TABLE[number].name}, which no voice there is known to listen to"
    if each.before is not None:
        was = _sent_told(each.before) if each.before.bits else "nothing"
        yield f"it was sent on {was} before" if each.changed else "as before"


def _cautions(each: KnobNumber) -> Iterator[str]:
    """What of the number's own meaning may get in the way."""
    number = each.sent.number
    if number is not None:
        row = TABLE[number]
        if isinstance(row.on_reset, int):
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


def _ways(room: Room) -> Iterator[str]:
    undefined = [number for number in room.allowing if number in UNDEFINED_SINGLES]
    others = [number for number in room.allowing if number not in UNDEFINED_SINGLES]
    if others:
        yield f"allow {spans(others)} as well"
    if undefined:
        yield f"allow {spans(undefined)}, which are undefined, as well"
    if room.listened:
        yield f"use {spans(room.listened)} deliberately, though voices listen there"
    # MIDI 1.0, page 11: many parameters of one device are for NRPN rather than for controllers.
    if not room.shut_by:
        yield "let parameters (NRPN) be used"
    yield "put voices on another channel"
