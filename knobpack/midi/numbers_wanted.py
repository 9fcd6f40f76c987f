"""Numbers wanted: which knobs need a number, on which channel, and which numbers are open there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Any

import attrs

from knobpack.errors import InputError
from knobpack.midi.control_change_table import (
    DATA_ENTRY,
    NRPN,
    NULL_PARAMETER,
    USABLE,
    low_half,
    touched,
)
from knobpack.midi.knob_numbers import Closed, ControllerNumbers, KnobNumber
from knobpack.midi.sent import MASTER, Listening, Sent, check_channel, own_sent
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup, converters, fields
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.voice import HIGHEST_DATA

CALL = "controller_numbers"

DEFAULT_CHANNEL = 1
"""Where that is sent whose channel is not known."""

MASTER_STANDING = 6
"""The master stands above every knob: it moves all that follow it."""

_LEAST_BITS = 8


@attrs.frozen
class NumbersWanted:
    """All that the choice of numbers depends on, in order.

    Args:
        setup: the name of the setup.
        knobs: the knobs in panel order, then the master; sent on nothing yet, but for those of
            which the setup says what they really send.
        standing: 5 for a knob that drives something essential, down to 1 for one that drives only
            what is hidden (priority 1 to 5, M2-117-UM); 6 for the master.
        allowed: the numbers that may be used, ascending.
        listening: what voices listen to already.
        parameters: the non-registered parameters that may be used where numbers run out, the
            first first; the same ones on every channel where no voice listens to what carries them.
    """

    setup: str
    knobs: tuple[KnobNumber, ...]
    standing: Mapping[str, int]
    allowed: tuple[int, ...]
    listening: tuple[Listening, ...] = ()
    parameters: tuple[tuple[int, int], ...] = ()

    @cached_property
    def channels(self) -> tuple[int, ...]:
        """The channels that something is sent on, ascending."""
        return tuple(sorted({each.channel for each in self.knobs if each.channel is not None}))

    def on(self, channel: int) -> tuple[KnobNumber, ...]:
        """What is sent on a channel, in order."""
        return tuple(each for each in self.knobs if each.channel == channel)

    def _hearing(self, channel: int, numbers: Iterable[int]) -> tuple[str, ...]:
        """The voices on a channel that listen to any of some numbers, each once."""
        heard = [each for each in self.listening if each.channel == channel]
        return tuple(
            dict.fromkeys(e.voice for e in heard if not set(e.numbers).isdisjoint(numbers))
        )

    def heard_by(self, channel: int, number: int) -> tuple[str, ...]:
        """The voices on a channel that are touched if ``number`` is sent there, each once."""
        return self._hearing(channel, touched(number))

    def shut_by(self, channel: int) -> tuple[str, ...]:
        """The voices on a channel that listen to what carries parameters: none is given there."""
        return self._hearing(channel, (*DATA_ENTRY, *NRPN))

    def answered(self, knob: KnobNumber, sent: Sent) -> KnobNumber:
        """The answer for one, if it is sent so."""
        if knob.channel is None or sent.number is None:
            return attrs.evolve(knob, sent=sent)
        return attrs.evolve(knob, sent=sent, heard_by=self.heard_by(knob.channel, sent.number))

    def closed(self, channel: int) -> tuple[Closed, ...]:
        """The allowed numbers that voices on a channel listen to, ascending."""
        heard = {n for each in self.listening if each.channel == channel for n in each.numbers}
        return tuple(
            Closed(channel, number, tuple(sorted(moved)), self.heard_by(channel, number))
            for number in self.allowed
            if (moved := touched(number) & heard)
        )

    def open(self, channel: int) -> tuple[int, ...]:
        """The numbers that may be chosen freely on a channel, ascending."""
        shut = {closed.number for closed in self.closed(channel)}
        shut |= {each.sent.number for each in self.on(channel) if each.sent.number is not None}
        return tuple(number for number in self.allowed if number not in shut)


def paired(number: int, fine: bool) -> Sent:
    """What is sent on a number: with its low half where 14 bits are wanted and it has one."""
    return Sent(number, low_half(number) if fine else None)


def wanted_of(
    setup: Setup,
    channel: object,
    listening: object,
    fine: object,
    allowed: object,
    parameters: object,
    previous: object,
    master: object,
) -> NumbersWanted:
    """All that the choice of numbers depends on, checked.

    Args, Raises: as :func:`knobpack.midi.controller_numbers`.
    """
    reading = read(setup, f"{CALL}.setup")
    if channel is not None:
        check_channel(f"{CALL}.channel", channel)
    fields.check_kind(f"{CALL}.fine", fine, bool)
    fields.check_kind(f"{CALL}.master", master, bool)
    if fine and setup.surface.bits < _LEAST_BITS:
        right = f"positions of {setup.surface.bits} bits need no low half: leave it out"
        raise InputError(f"{CALL}.fine", fine, right)
    open_to_all = _list("allowed", allowed, "give a list of controller numbers")
    usable = {_usable(f"{CALL}.allowed[{at}]", each) for at, each in enumerate(open_to_all)}
    own = own_sent(reading)
    usable |= {_usable(_where(knob), each.number) for knob, each in own.items()}
    channels = {
        knob: reading.channels[knob] or (DEFAULT_CHANNEL,)
        for knob, names in reading.carries.items()
        if names or knob in own
    }
    if master:
        channels[MASTER] = (min((each for on in channels.values() for each in on), default=1),)
    if isinstance(channel, int):
        channels = dict.fromkeys(channels, (channel,))
    before = _previous(previous)
    knobs = []
    for knob, on in channels.items():
        # One that would send on several channels sends nothing, and the answer says so.
        precise = own[knob].low is not None if knob in own else bool(fine)
        number = own[knob].number if knob in own and len(on) == 1 else None
        sent = Sent() if number is None else paired(number, precise)
        knobs.append(
            KnobNumber(knob, on, sent, fine=precise, before=before.get(knob), own=sent != Sent())
        )
    _check_apart(knobs)
    heard = _list("listening", listening, "give a list, each a Listening")
    fields.check_items(f"{CALL}.listening", heard, (Listening,))
    return NumbersWanted(
        setup.name,
        tuple(knobs),
        {knob: _standing(reading, knob) for knob in channels},
        tuple(sorted(usable)),
        heard,
        _parameters(parameters),
    )


def _where(knob: str) -> str:
    """What holds the number of a knob, for errors."""
    return f"{CALL}.setup.sending of {knob!r}"


def _standing(reading: Reading, knob: str) -> int:
    if knob == MASTER:
        return MASTER_STANDING
    return 6 - min((reading.destinations[n].priority for n in reading.carries[knob]), default=5)


def _list(name: str, given: object, right: str) -> tuple[Any, ...]:
    """What is given as a list of anything."""
    return fields.as_list(f"{CALL}.{name}", given, right)


def _usable(where: str, number: object) -> int:
    fields.check_whole(where, number, 0, HIGHEST_DATA)
    if number in RESERVED:
        raise InputError(where, number, "it is reserved: it means something else than a position")
    if not isinstance(number, int) or number not in USABLE:
        right = f"{LOW_HALF} to {2 * LOW_HALF - 1} are low halves: give the number of the high half"
        raise InputError(where, number, right)
    return number


def _check_apart(knobs: Iterable[KnobNumber]) -> None:
    """Refuse a number that two really send on one channel."""
    taken: dict[tuple[int | None, int], str] = {}
    for each in knobs:
        number = each.sent.number
        if number is None:
            continue
        other = taken.setdefault((each.channel, number), each.knob)
        if other != each.knob:
            right = f"{other!r} sends it on channel {each.channel}: let one send another number"
            raise InputError(_where(each.knob), number, right)


def _parameters(given: object) -> tuple[tuple[int, int], ...]:
    found: dict[tuple[int, int], None] = {}
    right = "give a list of parameter numbers, each MSB and LSB"
    for position, pair in enumerate(_list("parameters", given, right)):
        where = f"{CALL}.parameters[{position}]"
        both = converters.as_tuple(pair)
        if not isinstance(both, tuple) or len(both) != 2:
            raise InputError(where, pair, "give two numbers, MSB and LSB")
        for half in both:
            fields.check_whole(where, half, 0, HIGHEST_DATA)
        if both == NULL_PARAMETER or both in found:
            right = "it selects no parameter" if both == NULL_PARAMETER else "it is given twice"
            raise InputError(where, pair, f"{right}; give another")
        found[both[0], both[1]] = None
    return tuple(found)


def _previous(given: object) -> dict[str, Sent]:
    """What each was sent on before. Names that are not there any more are passed over."""
    if given is None:
        return {}
    fields.check_kind(f"{CALL}.previous", given, ControllerNumbers)
    return {each.knob: each.sent for each in given.knobs}  # type: ignore[attr-defined]
