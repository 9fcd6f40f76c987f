"""Number checker: whether numbers may stand as they are.

It reads the rules one after the other from the words and the table, and shares nothing with how
the numbers are chosen.
"""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.midi.control_change_table import ASSIGNABLE, UNDEFINED_SINGLES
from knobpack.midi.knob_numbers import KnobNumber
from knobpack.midi.numbers_wanted import NumbersWanted
from knobpack.midi.sent import Sent
from knobpack.words.knob_settings import RESERVED


def breaches(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> tuple[str, ...]:
    """What some numbers break, in sentences; none if they may stand.

    Args:
        wanted: what was asked.
        knobs: what each knob is to be sent on.
    """
    if tuple(each.knob for each in knobs) != tuple(want.knob for want in wanted.knobs):
        return ("they are not about the knobs that need a number",)
    found = [
        f"{each.knob or 'the master'}: {why}"
        for want, each in zip(wanted.knobs, knobs, strict=True)
        for why in _wrong(wanted, want, each)
    ]
    return (*found, *_collisions(knobs))


def _wrong(wanted: NumbersWanted, want: KnobNumber, each: KnobNumber) -> Iterator[str]:
    """What is wrong with what one knob is sent on, the others left aside."""
    number, low, parameter = each.sent.number, each.sent.low, each.sent.parameter
    if each.channels != want.channels:
        yield "it is on another channel than its voices"
    if number is not None and parameter is not None:
        yield "it is sent on a controller and on a parameter"
    if want.channel is None and each.sent != Sent():
        yield "it is sent, and no one channel is right"
    if want.deliberate and number != want.sent.number:
        yield f"it is not sent on {want.sent.number}, as asked"
    if parameter is not None:
        yield from _unfit(wanted, want, parameter)
    if number is not None and want.channel is not None:
        yield from _closed(wanted, want, want.channel, number)
    if low is not None and (number is None or number > 31 or low != number + 32):
        yield f"{low} is not the low half of {number}"
    if low is not None and not want.fine:
        yield "14 bits were not asked for"
    if low is None and want.fine and number is not None and number < 32:
        yield f"{number + 32}, its low half, is not used, though 14 bits were asked for"


def _unfit(wanted: NumbersWanted, want: KnobNumber, parameter: tuple[int, int]) -> Iterator[str]:
    if parameter not in wanted.parameters:
        yield f"parameter {parameter} was not offered"
    for each in wanted.listening:
        for heard in {6, 38, 98, 99}.intersection(each.numbers):
            if each.channel == want.channel:
                yield f"{each.voice} listens to {heard}, which carries parameters"


def _closed(wanted: NumbersWanted, want: KnobNumber, channel: int, number: int) -> Iterator[str]:
    if number in RESERVED:
        yield f"{number} is reserved"
    elif number not in ASSIGNABLE and number not in UNDEFINED_SINGLES:
        yield f"{number} is a low half"
    if number not in wanted.allowed:
        yield f"{number} is not allowed"
    if want.deliberate:
        return
    for each in wanted.listening:
        if each.channel == channel and number in each.numbers:
            yield f"{each.voice} listens to {number}"
        if each.channel == channel and number < 32 and number + 32 in each.numbers:
            yield f"{each.voice} listens to {number + 32}, the low half of {number}"


def _collisions(knobs: tuple[KnobNumber, ...]) -> Iterator[str]:
    """Two that send the same number, or parameter, on one channel."""
    taken: dict[tuple[int, object], str] = {}
    for each in knobs:
        if each.channel is None:
            continue
        for what in (each.sent.number, each.sent.low, each.sent.parameter):
            if what is None:
                continue
            if (each.channel, what) in taken:
                other = taken[each.channel, what] or "the master"
                yield f"{each.knob or 'the master'} sends {what}, as {other} does"
            taken[each.channel, what] = each.knob
