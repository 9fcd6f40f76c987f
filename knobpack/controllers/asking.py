"""Asking: what a caller of controller_numbers() gives, checked and put in order."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from knobpack.controllers.answer import ControllerNumbers
from knobpack.controllers.listening import HIGHEST_NUMBER, Listening, check_channel
from knobpack.controllers.parts import MASTER, Numbers, Sent
from knobpack.controllers.table import ASSIGNABLE, HALF, USABLE
from knobpack.controllers.wanted import MASTER_STANDING, Want, Wanted
from knobpack.errors import InputError
from knobpack.setup_as_read import Reading, read
from knobpack.words import KnobSending, Setup, converters, fields
from knobpack.words.knob_settings import RESERVED

CALL = "controller_numbers"

DEFAULT_CHANNEL = 1
"""Where that is sent whose channel is not known."""

NULL = (127, 127)
"""The parameter number that selects nothing (MIDI 1.0, RPN and NRPN null)."""

_LEAST_BITS = 8


def wanted_of(  # noqa: PLR0913 - each keyword is one thing to ask for
    setup: Setup,
    *,
    channel: int | Mapping[str, int] | None = None,
    listening: Iterable[Listening] = (),
    deliberate: Mapping[str, int] | tuple[()] = (),
    fine: bool | Iterable[str] = False,
    allowed: Iterable[int] = ASSIGNABLE,
    parameters: Iterable[tuple[int, int]] = (),
    previous: ControllerNumbers | Mapping[str, Numbers] | None = None,
    master: bool = True,
) -> Wanted:
    """All that the choice of numbers depends on.

    Args, Raises: those of :func:`knobpack.controllers.controller_numbers`.
    """
    reading = read(setup, f"{CALL}(setup)")
    usable = _allowed(allowed)
    asked = _deliberate(deliberate, usable, setup, master)
    own = {each.knob: each for each in _own(reading) if each.knob not in asked}
    numbers = {knob: each.number for knob, each in own.items()} | asked
    driving = tuple(k for k, names in reading.carries.items() if names or k in numbers)
    who = (*driving, MASTER) if _flag("master", master) else driving
    channels = _channels(channel, reading, who)
    before = _previous(previous)
    precise = _fine(fine, setup, who)
    wants = tuple(
        Want(
            who=each,
            channels=channels[each],
            standing=_standing(reading, each),
            fine=own[each].fine if each in own else each in precise,
            # One that would send on several channels sends nothing, and the answer says so.
            deliberate=None if each in own and len(channels[each]) > 1 else numbers.get(each),
            before=before.get(each),
            own=each in own,
        )
        for each in who
    )
    _check_apart(wants)
    sent = {each.number for each in own.values() if each.number is not None}
    allow = tuple(sorted({*usable, *sent}))
    return Wanted(setup.name, wants, allow, _listening(listening), _parameters(parameters))


def _own(reading: Reading) -> Iterator[KnobSending]:
    """What the knobs of the surface really send.

    Raises:
        InputError: it is a number that means something else than a position.
    """
    for place, each in enumerate(reading.setup.sending):
        if each.number is not None and each.knob in reading.carries:
            _check_usable(f"{CALL}(setup).sending[{place}].number", each.number)
            yield each


def _standing(reading: Reading, who: str) -> int:
    if who == MASTER:
        return MASTER_STANDING
    priorities = (reading.destinations[name].priority for name in reading.carries[who])
    return 6 - min(priorities, default=5)


def _allowed(given: object) -> tuple[int, ...]:
    where = f"{CALL}(allowed)"
    numbers = converters.as_tuple(given)
    if not isinstance(numbers, tuple):
        raise InputError(where, given, "give a list of controller numbers")
    for position, number in enumerate(numbers):
        _check_usable(f"{where}[{position}]", number)
    return tuple(sorted(set(numbers)))


def _check_usable(where: str, number: object) -> None:
    fields.check_whole(where, number, 0, HIGHEST_NUMBER)
    if number in RESERVED:
        raise InputError(where, number, "it is reserved: it means something else than a position")
    if number not in USABLE:
        right = f"{HALF} to {2 * HALF - 1} are low halves: give the number of the high half"
        raise InputError(where, number, right)


def _deliberate(
    given: object, allowed: tuple[int, ...], setup: Setup, master: bool
) -> dict[str, int]:
    where = f"{CALL}(deliberate)"
    asked = dict(given) if isinstance(given, Mapping) else {} if given == () else None
    if asked is None:
        raise InputError(where, given, "give a controller number for each name of a knob")
    panel = {*setup.surface.knob_names, *([MASTER] if master else [])}
    for knob, number in asked.items():
        _check_knob(where, knob, panel)
        place = f"{where}[{knob!r}]"
        _check_usable(place, number)
        if number not in allowed:
            raise InputError(place, number, "it is not in `allowed`: allow it as well")
    return asked


def _check_knob(where: str, knob: object, panel: Collection[object]) -> None:
    if knob not in panel:
        raise InputError(where, knob, "name a knob of the surface, or the master as ''")


def _check_apart(wants: tuple[Want, ...]) -> None:
    """Refuse a deliberate number that would be sent by two, or by one that cannot send."""
    taken: dict[tuple[int, int], str] = {}
    for want in wants:
        if want.deliberate is None:
            continue
        where = f"{CALL}(deliberate)[{want.who!r}]"
        if want.own:
            where = f"{CALL}(setup).sending of {want.who!r}"
        if want.channel is None:
            right = f"{_drives(want)}, and it sends on one: leave it out"
            raise InputError(where, want.deliberate, right)
        other = taken.setdefault((want.channel, want.deliberate), want.who)
        if other != want.who:
            right = f"{other!r} is to have it on channel {want.channel}: give each its own"
            if want.own:
                right = (
                    f"{other!r} sends it too, on channel {want.channel}: put in the setup what "
                    "each really sends, or let one send another number"
                )
            raise InputError(where, want.deliberate, right)


def _drives(want: Want) -> str:
    return f"the knob drives voices on channels {', '.join(map(str, want.channels))}"


def _channels(given: object, reading: Reading, who: tuple[str, ...]) -> dict[str, tuple[int, ...]]:
    """The channels of the voices that each drives, ascending."""
    where = f"{CALL}(channel)"
    if given is None:
        known = reading.channels
        found = {each: known[each] or (DEFAULT_CHANNEL,) for each in who if each != MASTER}
        if MASTER in who:
            sent = (channel for channels in found.values() for channel in channels)
            found[MASTER] = (min(sent, default=DEFAULT_CHANNEL),)
        return found
    if not isinstance(given, Mapping):
        check_channel(where, given)
        return {each: (given,) for each in who if isinstance(given, int)}
    voices = {voice.name for voice in reading.setup.voices}
    for voice, channel in given.items():
        if voice not in voices and voice != MASTER:
            raise InputError(where, voice, "name a voice of the setup, or the master as ''")
        check_channel(f"{where}[{voice!r}]", channel)
    found = {each: _of_knob(given, reading, each) for each in who if each != MASTER}
    if MASTER in who:
        lowest = min((channel for channels in found.values() for channel in channels), default=1)
        found[MASTER] = (given.get(MASTER, lowest),)
    return found


def _of_knob(given: Mapping[str, int], reading: Reading, knob: str) -> tuple[int, ...]:
    where = f"{CALL}(channel)"
    driven = dict.fromkeys(name.split("/", 1)[0] for name in reading.carries[knob])
    if not driven:
        right = "this knob drives nothing, so that no channel is known for it: give one for all"
        raise InputError(where, knob, right)
    for voice in driven:
        if voice not in given:
            raise InputError(where, dict(given), f"give the channel of {voice!r}, which is driven")
    return tuple(sorted({given[voice] for voice in driven}))


def _fine(given: object, setup: Setup, who: tuple[str, ...]) -> frozenset[str]:
    where = f"{CALL}(fine)"
    if isinstance(given, bool):
        names: object = who if given else ()
    else:
        names = (given,) if isinstance(given, str) else converters.as_tuple(given)
    if not isinstance(names, tuple):
        raise InputError(where, given, "give the names of knobs, or true for all of them")
    panel = {*setup.surface.knob_names, MASTER}
    for position, name in enumerate(names):
        _check_knob(f"{where}[{position}]", name, panel)
    if given and setup.surface.bits < _LEAST_BITS:
        right = f"positions of {setup.surface.bits} bits need no low half: leave it out"
        raise InputError(where, given, right)
    return frozenset(names)


def _listening(given: object) -> tuple[Listening, ...]:
    where = f"{CALL}(listening)"
    listening = converters.as_tuple(given)
    if not isinstance(listening, tuple):
        raise InputError(where, given, "give a list, each a Listening")
    seen: set[tuple[str, int]] = set()
    for position, each in enumerate(listening):
        if not isinstance(each, Listening):
            raise InputError(f"{where}[{position}]", each, "give a Listening")
        if (each.voice, each.channel) in seen:
            right = f"{each.voice!r} is given twice for channel {each.channel}; give it once"
            raise InputError(f"{where}[{position}]", each, right)
        seen.add((each.voice, each.channel))
    return listening


def _parameters(given: object) -> tuple[tuple[int, int], ...]:
    where = f"{CALL}(parameters)"
    pairs = converters.as_tuple(given)
    if not isinstance(pairs, tuple):
        raise InputError(where, given, "give a list of parameter numbers, each MSB and LSB")
    found: dict[tuple[int, int], None] = {}
    for position, pair in enumerate(pairs):
        place = f"{where}[{position}]"
        both = converters.as_tuple(pair)
        if not isinstance(both, tuple) or len(both) != 2:
            raise InputError(place, pair, "give two numbers, MSB and LSB")
        for half in both:
            fields.check_whole(place, half, 0, HIGHEST_NUMBER)
        number = (both[0], both[1])
        if number == NULL or number in found:
            right = "it selects no parameter" if number == NULL else "it is given twice"
            raise InputError(place, pair, f"{right}; give another")
        found[number] = None
    return tuple(found)


def _previous(given: object) -> dict[str, Sent]:
    """What each was sent on before. Names that are not there any more are passed over."""
    where = f"{CALL}(previous)"
    if given is None:
        return {}
    if isinstance(given, ControllerNumbers):
        return {each.knob: each.sent for each in given.knobs}
    if not isinstance(given, Mapping):
        raise InputError(where, given, "give ControllerNumbers, or numbers for each name of a knob")
    found = {}
    for knob, numbers in given.items():
        both = (numbers,) if isinstance(numbers, int) else converters.as_tuple(numbers)
        if not isinstance(both, tuple) or len(both) not in {1, 2}:
            raise InputError(f"{where}[{knob!r}]", numbers, "give a controller number, or two")
        for number in both:
            fields.check_whole(f"{where}[{knob!r}]", number, 0, HIGHEST_NUMBER)
        found[knob] = Sent(both[0], both[1] if len(both) == 2 else None)
    return found


def _flag(name: str, value: object) -> bool:
    if not isinstance(value, bool):
        raise InputError(f"{CALL}({name})", value, "give true or false")
    return value
