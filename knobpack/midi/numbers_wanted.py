"""Numbers wanted: which knobs need a number, on which channel, and which numbers are open there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
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
from knobpack.midi.sent import MASTER, Listening, Sent, check_channel, own_sent, sent_of
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup, converters, fields
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import voice_part
from knobpack.words.span import HIGHEST_DATA

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
        knobs: the knobs in panel order, then the master; sent on nothing yet, but for those whose
            number is deliberate.
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

    def offered(self, channel: int) -> tuple[tuple[int, int], ...]:
        """The parameters that may be used on a channel."""
        return () if self.shut_by(channel) else self.parameters

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


def wanted_of(  # noqa: PLR0913, PLR0917 - each is one thing to ask for
    setup: Setup,
    channel: int | Mapping[str, int] | None,
    listening: object,
    deliberate: object,
    fine: object,
    allowed: object,
    parameters: object,
    previous: object,
    master: object,
) -> NumbersWanted:
    """All that the choice of numbers depends on, checked.

    Args, Raises: those of :func:`knobpack.midi.controller_numbers`.
    """
    reading = read(setup, f"{CALL}.setup")
    open_to_all = _list("allowed", allowed, "give a list of controller numbers")
    usable = {_usable(f"{CALL}.allowed[{at}]", each) for at, each in enumerate(open_to_all)}
    if not isinstance(master, bool):
        raise InputError(f"{CALL}.master", master, "give true or false")
    panel = {*reading.carries, *([MASTER] if master else [])}
    asked = _deliberate(deliberate, panel)
    own = {knob: each for knob, each in own_sent(reading).items() if knob not in asked}
    numbers = asked | {knob: _usable(_where(knob, True), each.number) for knob, each in own.items()}
    driving = tuple(k for k, names in reading.carries.items() if names or k in numbers)
    who = (*driving, MASTER) if master else driving
    channels = _channels(channel, reading, who)
    before = _previous(previous)
    precise = {knob for knob, each in own.items() if each.low is not None}
    precise |= _fine(fine, setup, who).difference(own)
    knobs = []
    for knob in who:
        # One that would send on several channels sends nothing, and the answer says so.
        given = knob in asked or (knob in own and len(channels[knob]) == 1)
        knobs.append(
            KnobNumber(
                knob,
                channels[knob],
                paired(numbers[knob], knob in precise) if given else Sent(),
                fine=knob in precise,
                deliberate=given,
                before=before.get(knob),
                own=given and knob in own,
            )
        )
    _check_apart(knobs)
    heard = _list("listening", listening, "give a list, each a Listening")
    fields.check_items(f"{CALL}.listening", heard, (Listening,))
    return NumbersWanted(
        setup.name,
        tuple(knobs),
        {knob: _standing(reading, knob) for knob in who},
        tuple(sorted({*usable, *numbers.values()})),
        heard,
        _parameters(parameters),
    )


def _where(knob: str, own: bool) -> str:
    """What holds the number of a knob, for errors."""
    return f"{CALL}.setup.sending of {knob!r}" if own else f"{CALL}.deliberate[{knob!r}]"


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


def _deliberate(given: object, panel: Collection[object]) -> dict[str, int]:
    asked = {} if given == () else given
    if not isinstance(asked, Mapping):
        right = "give a controller number for each name of a knob"
        raise InputError(f"{CALL}.deliberate", given, right)
    for knob in asked:
        _check_knob(f"{CALL}.deliberate", knob, panel)
    return {knob: _usable(_where(knob, False), number) for knob, number in asked.items()}


def _check_knob(where: str, knob: object, panel: Collection[object]) -> None:
    if knob not in panel:
        raise InputError(where, knob, "name a knob of the surface, or the master as ''")


def _check_apart(knobs: Iterable[KnobNumber]) -> None:
    """Refuse a deliberate number that would be sent by two, or by one that cannot send."""
    taken: dict[tuple[int, int], str] = {}
    for each in knobs:
        number = each.sent.number
        if number is None:
            continue
        if each.channel is None:
            on = ", ".join(map(str, each.channels))
            right = f"the knob drives voices on channels {on}, and it sends on one: leave it out"
            raise InputError(_where(each.knob, each.own), number, right)
        other = taken.setdefault((each.channel, number), each.knob)
        if other != each.knob:
            right = f"{other!r} sends it on channel {each.channel}: let one send another number"
            raise InputError(_where(each.knob, each.own), number, right)


def _channels(
    given: int | Mapping[str, int] | None, reading: Reading, who: Iterable[str]
) -> dict[str, tuple[int, ...]]:
    """The channels of the voices that each drives, ascending."""
    where = f"{CALL}.channel"
    if given is not None and not isinstance(given, Mapping):
        check_channel(where, given)
        return dict.fromkeys(who, (given,))
    for voice, channel in (given or {}).items():
        if voice != MASTER and all(voice != each.name for each in reading.setup.voices):
            raise InputError(where, voice, "name a voice of the setup, or the master as ''")
        check_channel(f"{where}[{voice!r}]", channel)
    found: dict[str, tuple[int, ...]] = {}
    for knob in who:
        if knob == MASTER:
            lowest = min((each for some in found.values() for each in some), default=1)
            found[knob] = ((given or {}).get(MASTER, lowest),)
        elif given is None:
            found[knob] = reading.channels[knob] or (DEFAULT_CHANNEL,)
        else:
            found[knob] = _of_knob(given, reading, knob)
    return found


def _of_knob(given: Mapping[str, int], reading: Reading, knob: str) -> tuple[int, ...]:
    where = f"{CALL}.channel"
    driven = dict.fromkeys(voice_part(name) for name in reading.carries[knob])
    if not driven:
        right = "this knob drives nothing, so that no channel is known for it: give one for all"
        raise InputError(where, knob, right)
    for voice in driven:
        if voice not in given:
            raise InputError(where, dict(given), f"give the channel of {voice!r}, which is driven")
    return tuple(sorted({given[voice] for voice in driven}))


def _fine(given: object, setup: Setup, who: tuple[str, ...]) -> set[str]:
    if given is False:
        return set()
    names: object = who if given is True else (given,) if isinstance(given, str) else given
    found = _list("fine", names, "give the names of knobs, or true for all of them")
    for position, name in enumerate(found):
        _check_knob(f"{CALL}.fine[{position}]", name, {*setup.surface.knob_names, MASTER})
    if given and setup.surface.bits < _LEAST_BITS:
        right = f"positions of {setup.surface.bits} bits need no low half: leave it out"
        raise InputError(f"{CALL}.fine", given, right)
    return set(found)


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
    where = f"{CALL}.previous"
    if given is None:
        return {}
    if isinstance(given, ControllerNumbers):
        return {each.knob: each.sent for each in given.knobs}
    if not isinstance(given, Mapping):
        raise InputError(where, given, "give ControllerNumbers, or numbers for each name of a knob")
    return {knob: sent_of(f"{where}[{knob!r}]", numbers) for knob, numbers in given.items()}
