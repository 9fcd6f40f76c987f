"""Told: the answer of controller_numbers() in sentences, made from its fields alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from knobpack.controllers.listening import HIGHEST_NUMBER, check_channel
from knobpack.controllers.table import HALF, RESERVED, TABLE, UNDEFINED_SINGLES
from knobpack.wording import many
from knobpack.words import fields
from knobpack.words.demand import listed

if TYPE_CHECKING:
    from knobpack.controllers.answer import Closed, ControllerNumbers, KnobNumber, Room, Sent


def sentences(answer: ControllerNumbers) -> tuple[str, ...]:
    """The whole answer."""
    told = [_summary(answer), *map(knob_told, answer.knobs), *_closed(answer)]
    told += map(room_told, answer.room)
    if answer.proven:
        told.append("No other choice is better: each tier is proven.")
    else:
        open_tiers = listed([tier.name for tier in answer.tiers if not tier.proven])
        told.append(f"The search was stopped ({answer.stopped}); not proven best: {open_tiers}.")
    return tuple(told)


def knob_told(each: KnobNumber) -> str:
    """What one knob is sent on, and why."""
    who = _called(each.knob)
    if each.channel is None:
        where = listed([str(channel) for channel in each.channels])
        return f"{who} has no number: it drives voices on channels {where}, and sends on one."
    if not each.sent.bits:
        return f"{who} has no number: those that are open on channel {each.channel} have run out."
    why = [*_reasons(each), *_cautions(each)]
    return f"{who} sends {sent_told(each.sent)} on channel {each.channel}: {'; '.join(why)}."


def sent_told(sent: Sent) -> str:
    """What a knob is sent on, in words."""
    if sent.parameter is not None:
        return f"non-registered parameter {sent.parameter[0]}/{sent.parameter[1]}"
    if sent.low is None:
        return f"controller {sent.number}"
    return f"controllers {sent.number} and {sent.low} (14 bits)"


def closed_told(closed: Closed) -> str:
    """Why voices close a number."""
    heard = f"listen{'s' if len(closed.by) == 1 else ''} to {spans(closed.heard)}"
    why = f"{listed(closed.by)} {heard}"
    if closed.number not in closed.heard:
        # MIDI 1.0, Table II, note 4: to receive a high half sets the low half to zero.
        why += ", its low half, which it would set to zero"
    return f"{closed.number} ({TABLE[closed.number].name}) on channel {closed.channel}: {why}."


def room_told(room: Room) -> str:
    """Who is without a number, and what would give room."""
    ways = list(_ways(room))
    who = listed([_called(knob, False) for knob in room.left])
    return f"On channel {room.channel} {who} got no number. Room: {'; '.join(ways)}."


def why_not(answer: ControllerNumbers, number: int, channel: int) -> str:
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
        return knob_told(holder)
    if number - HALF in range(HALF):
        return f"{what} is a low half: it goes with {number - HALF} alone, for 14 bits."
    if number not in answer.allowed:
        return f"{what} is not allowed."
    for closed in answer.closed:
        if (closed.channel, closed.number) == (channel, number):
            return closed_told(closed)
    return f"{what} is free on channel {channel}."


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
    return knob or ("The master" if first else "the master")


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


def _reasons(each: KnobNumber) -> Iterator[str]:
    """Why this number: facts of the table and of who listens."""
    number = each.sent.number
    if number is None:
        yield "the controller numbers that are open have run out"
    elif each.deliberate:
        yield f"{TABLE[number].name}, as asked"
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
        was = sent_told(each.before) if each.before.bits else "nothing"
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
    yield "let parameters (NRPN) be used"
    yield "put voices on another channel"
