"""controller_numbers(): a controller number for every knob, without collision."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from knobpack.errors import Fault
from knobpack.midi.control_change_table import ASSIGNABLE, USABLE
from knobpack.midi.knob_numbers import ControllerNumbers, KnobNumber, Room
from knobpack.midi.number_checker import number_breaches
from knobpack.midi.numbers_wanted import NumbersWanted, wanted_of
from knobpack.midi.sent import Listening, Sent
from knobpack.words import Setup


def controller_numbers(
    setup: Setup,
    *,
    channel: int | None = None,
    listening: Iterable[Listening] = (),
    fine: bool = False,
    allowed: Iterable[int] = ASSIGNABLE,
    parameters: Iterable[tuple[int, int]] = (),
    previous: ControllerNumbers | None = None,
    master: bool = True,
) -> ControllerNumbers:
    """Choose a controller number for each knob that drives something, and for the master.

    A knob of which the setup says what it really sends (``sending``) keeps that, allowed or not and
    though a voice listens to it, be it led anywhere or not; numbers are chosen for the others.

    Collisions are about a channel: no two knobs send one number there, no knob sends what is
    reserved or a low half by itself, and none that is given a number sends what a voice on the
    channel listens to. Numbers of other channels do not matter. A knob sends on one channel: one
    that drives voices on several is left without a number, and the answer says so. What a knob
    sends reaches all that listens on its channel, whatever the setup routes.

    Args:
        setup: the setup. A knob drives something if a route that counts leads from it.
        channel: 1 to 256 (counted across Groups): where all is sent. None: what the setup says of
            its knobs and voices, and 1 where it says nothing; of the master the lowest of those.
        listening: what voices, of this setup or not, listen to already.
        fine: whether knobs of which nothing is known are to send 14 bits: a high half of 1 to 5 or
            7 to 31, and the low half, higher by 32. Where none is left, 7 bits on another number;
            the answer says so. The surface must have more than 7 bits.
        allowed: the numbers that may be used: of 1 to 5, 7 to 31, 64 to 95 and 102 to 119; the
            default leaves out the last, which receivers may ignore. What knobs really send is
            allowed besides.
        parameters: non-registered parameters (MSB, LSB), each 0 to 127, for what is left when the
            numbers run out, the first first; the same ones on every channel, but where a voice
            listens to what carries them (6, 38, 98 or 99), which gets none.
        previous: what was chosen before, to stay close to. Names that are not there are passed
            over, and so are channels.
        master: whether the master is sent, too: above all knobs, as it moves all that follow it.

    Returns:
        The numbers, checked; the same for the same input. As few knobs as can be are left with
        none, or on parameters, and those the least important; then as many as can be send 14 bits
        that are to; then as few as can be change; then the numbers mean as little else as can be.
        Where they run out, it says which knobs have none and what would give room.

    Raises:
        InputError: something given is not what it must be; or a number that a knob really sends
            is reserved or sent by two knobs on one channel.

    Source:
        MIDI 1.0 Detailed Specification, page 11 (classes of numbers, parameters) and page 12 (pairs
        of 14 bits); CA-022 / GM2 4.6.2 (what may be assigned); M2-117-UM 1.0 (channels). The table:
        :mod:`knobpack.midi.control_change_table`.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack.midi import Listening, controller_numbers
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ... )
        >>> heard = Listening("Felt piano", channel=1, numbers=(14, 16))
        >>> found = controller_numbers(setup, listening=(heard,))
        >>> found.numbers, found.master_number
        ({'K1': 17}, 18)
        >>> found.why_not(16)
        '16 (General Purpose Controller 1) on channel 1: Felt piano listens to 16.'
    """
    asked = (channel, listening, fine, allowed, parameters, previous, master)
    wanted = wanted_of(setup, *asked)
    from knobpack.midi.number_choice import numbers_on  # here, because it loads ortools

    sent = {knob: each for on in wanted.channels for knob, each in numbers_on(wanted, on).items()}
    knobs = tuple(wanted.answered(each, sent.get(each.knob, Sent())) for each in wanted.knobs)
    _pass(wanted, knobs)
    heard = sorted({*wanted.channels, *(each.channel for each in wanted.listening)})
    return ControllerNumbers(
        setup=wanted.setup,
        knobs=knobs,
        allowed=wanted.allowed,
        closed=tuple(closed for each in heard for closed in wanted.closed(each)),
        room=tuple(_room(wanted, knobs)),
    )


def _pass(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> None:
    """Let the plain checker pass an answer."""
    if broken := number_breaches(wanted, knobs):
        raise Fault(f"the numbers found do not pass the checker ({'; '.join(broken)})")


def _room(wanted: NumbersWanted, knobs: tuple[KnobNumber, ...]) -> Iterator[Room]:
    """What would give room, for each channel that something is left on."""
    for channel in wanted.channels:
        here = [each for each in knobs if each.channel == channel]
        left = tuple(each.knob for each in here if each.sent == Sent())
        if left:
            heard = [number for number in USABLE if wanted.heard_by(channel, number)]
            used = {each.sent.number for each in here}
            yield Room(
                channel=channel,
                left=left,
                allowing=tuple(n for n in USABLE if n not in wanted.allowed and n not in heard),
                listened=tuple(n for n in heard if n in wanted.allowed and n not in used),
                shut_by=wanted.shut_by(channel),
            )
