"""The plain checker: whether numbers may stand as they are, and what they cost in each tier.

It reads the definitions one after the other from the words and the table, and shares nothing with
the model that the numbers come from. This is the definition of the tiers:

1. *left*: the knobs that are sent on nothing.
2. *parameters*: the knobs that are sent on a parameter.
3. *priority*: the standing of each knob that has no controller number, twice if it has no
   parameter either.
4. *fine*: the knobs that are to send 14 bits, and do not.
5. *changes*: the knobs that were sent on something else before.
6. *meaning*: the burden of each number (:data:`knobpack.controllers.burden.BURDENS`).
7. *runs*: the runs of neighbouring numbers on each channel.
8. *lowest*: the numbers, added up.
9. *order*: how often, from a knob to the next on its channel, in panel order, the master last, the
   number goes down. A knob without a number breaks the row.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from knobpack.controllers.burden import BURDENS
from knobpack.controllers.parts import KnobNumber, Sent
from knobpack.controllers.table import ASSIGNABLE, UNDEFINED_SINGLES
from knobpack.controllers.wanted import Want, Wanted
from knobpack.words.sending import RESERVED


def breaches(wanted: Wanted, knobs: tuple[KnobNumber, ...]) -> tuple[str, ...]:
    """What some numbers break, in sentences; none if they may stand.

    Args:
        wanted: what was asked.
        knobs: what each knob is to be sent on.
    """
    if tuple(each.knob for each in knobs) != tuple(want.who for want in wanted.wants):
        return ("they are not about the knobs that need a number",)
    found = [
        f"{each.knob or 'the master'}: {why}"
        for want, each in zip(wanted.wants, knobs, strict=True)
        for why in _wrong(wanted, want, each)
    ]
    return (*found, *_collisions(knobs))


def costs(wanted: Wanted, knobs: tuple[KnobNumber, ...]) -> tuple[int, ...]:
    """What some numbers cost in each tier, in order.

    Args:
        wanted: what was asked.
        knobs: what each knob is sent on, without a breach.
    """
    both = list(zip(wanted.wants, knobs, strict=True))
    numbers = [each.sent.number for each in knobs if each.sent.number is not None]
    return (
        sum(each.sent == Sent() for each in knobs),
        sum(each.sent.parameter is not None for each in knobs),
        sum(_missed(want, each.sent) for want, each in both),
        sum(want.fine and each.sent.bits < 14 for want, each in both),
        sum(_moved(want, each.sent) for want, each in both),
        sum(BURDENS[number] for number in numbers),
        sum(_runs(knobs, channel) for channel in wanted.channels),
        sum(numbers),
        sum(_downs(knobs, channel) for channel in wanted.channels),
    )


def _wrong(wanted: Wanted, want: Want, each: KnobNumber) -> Iterator[str]:
    """What is wrong with what one knob is sent on, the others left aside."""
    number, low, parameter = each.sent.number, each.sent.low, each.sent.parameter
    if each.channels != want.channels:
        yield "it is on another channel than its voices"
    if number is not None and parameter is not None:
        yield "it is sent on a controller and on a parameter"
    if want.channel is None and each.sent != Sent():
        yield "it is sent, and no one channel is right"
    if want.deliberate is not None and number != want.deliberate:
        yield f"it is not sent on {want.deliberate}, as asked"
    if parameter is not None and parameter not in wanted.parameters:
        yield f"parameter {parameter} was not offered"
    if number is not None and want.channel is not None:
        yield from _closed(wanted, want, want.channel, number)
    if low is not None and (number is None or number > 31 or low != number + 32):
        yield f"{low} is not the low half of {number}"
    if low is not None and not want.fine:
        yield "14 bits were not asked for"
    if low is None and want.fine and number is not None and number < 32:
        yield f"{number + 32}, its low half, is not used, though 14 bits were asked for"


def _closed(wanted: Wanted, want: Want, channel: int, number: int) -> Iterator[str]:
    if number in RESERVED:
        yield f"{number} is reserved"
    elif number not in ASSIGNABLE and number not in UNDEFINED_SINGLES:
        yield f"{number} is a low half"
    if number not in wanted.allowed:
        yield f"{number} is not allowed"
    if want.deliberate is not None:
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


def _missed(want: Want, sent: Sent) -> int:
    if sent.number is not None:
        return 0
    return want.standing if sent.parameter is not None else 2 * want.standing


def _moved(want: Want, sent: Sent) -> bool:
    if want.before is None:
        return False
    return (want.before.number, want.before.parameter) != (sent.number, sent.parameter)


def _on(knobs: tuple[KnobNumber, ...], channel: int) -> list[int | None]:
    return [each.sent.number for each in knobs if each.channel == channel]


def _runs(knobs: tuple[KnobNumber, ...], channel: int) -> int:
    used = {number for number in _on(knobs, channel) if number is not None}
    return sum(number - 1 not in used for number in used)


def _downs(knobs: tuple[KnobNumber, ...], channel: int) -> int:
    steps = pairwise(_on(knobs, channel))
    return sum(a is not None and b is not None and b < a for a, b in steps)
