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


def number_breaches(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> tuple[str, ...]:
    """What some numbers break, in sentences; none if they may stand.

    Args:
        wanted: what was it really is.
        knobs: what each knob is to be sent on.
    """
    if tuple(each.knob for each in knobs) != tuple(want.knob for want in wanted.knobs):
        return ("they are not about the knobs that need a number",)
    found = []
    taken: dict[tuple[int | None, object], str] = {}
    for want, each in zip(wanted.knobs, knobs, strict=True):
        who, sent = each.knob or "the master", each.sent
        found += [f"{who}: {why}" for why in (*_wrong(want, each), *_closed(wanted, want, sent))]
        for what in (sent.number, sent.low, sent.parameter):
            other = who if what is None else taken.setdefault((each.channel, what), who)
            if other != who:
                found.append(f"{who} sends {what}, as {other} does")
    return tuple(found)


def _wrong(want: KnobNumber, each: KnobNumber) -> Iterator[str]:
    """What is wrong with what one knob is sent on, whatever else there is."""
    number, low, parameter = each.sent.number, each.sent.low, each.sent.parameter
    if each.channels != want.channels:
        yield "it is on another channel than its voices"
    if number is not None and parameter is not None:
        yield "it is sent on a controller and on a parameter"
    if want.channel is None and each.sent != Sent():
        yield "it is sent, and no one channel is right"
    if want.own and number != want.sent.number:
        yield f"it is not sent on {want.sent.number}, as it really is"
    if number in RESERVED:
        yield f"{number} is reserved"
    elif number is not None and number not in (*ASSIGNABLE, *UNDEFINED_SINGLES):
        yield f"{number} is a low half"
    if low is not None and (number is None or number > 31 or low != number + 32):
        yield f"{low} is not the low half of {number}"
    if low is not None and not want.fine:
        yield "14 bits were not asked for"
    if low is None and want.fine and number is not None and number < 32:
        yield f"{number + 32}, its low half, is not used, though 14 bits were asked for"


def _closed(wanted: NumbersWanted, want: KnobNumber, sent: Sent) -> Iterator[str]:
    """What was not offered, and what a voice there listens to already."""
    number = sent.number
    if sent.parameter is not None and sent.parameter not in wanted.parameters:
        yield f"parameter {sent.parameter} was not offered"
    if number is not None and number not in wanted.allowed:
        yield f"{number} is not allowed"
    for each in wanted.listening:
        heard = set(each.numbers) if each.channel == want.channel else set()
        if sent.parameter is not None:
            for carrying in heard.intersection((6, 38, 98, 99)):
                yield f"{each.voice} listens to {carrying}, which carries parameters"
        if number in heard and not want.own:
            yield f"{each.voice} listens to {number}"
        if number is not None and number < 32 and number + 32 in heard and not want.own:
            yield f"{each.voice} listens to {number + 32}, the low half of {number}"
