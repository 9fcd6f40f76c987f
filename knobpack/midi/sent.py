"""Sent: what a knob, or the master, is sent on; Listening: what a voice already answers to."""

from __future__ import annotations

from typing import TypeAlias

import attrs

from knobpack.errors import InputError
from knobpack.midi.control_change_table import low_half
from knobpack.setups.as_read import Reading
from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.voice import HIGHEST_DATA

MASTER = ""
"""The name under which the master stands among the knobs; no knob is called so."""

CHANNELS = 256
"""Channels of one Function Block, at most: 16 in each of 16 Groups (M2-117-UM, key ``channel``)."""

Numbers: TypeAlias = int | tuple[int, int]
"""One controller number for 7 bits, or two for 14: the high half, then the low."""

_RIGHT = (
    "give a controller number from 1 to 119 but 6, 32, 38 and 96 to 101, or for 14 bits two, the "
    "first from 1 to 31, the second higher by 32"
)


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

    @property
    def numbers(self) -> Numbers | None:
        """The controller number, or the two of 14 bits; None: there is none."""
        return self.number if self.number is None or self.low is None else (self.number, self.low)

    @property
    def short(self) -> str:
        """The numbers alone: ``16``, ``16/48``, ``NRPN 1/4``; empty: nothing is sent."""
        if self.parameter is not None:
            return "NRPN {}/{}".format(*self.parameter)
        return "/".join(str(each) for each in (self.number, self.low) if each is not None)

    def __str__(self) -> str:
        if self.parameter is not None:
            return "non-registered parameter {}/{}".format(*self.parameter)
        if self.low is not None:
            return f"controllers {self.number} and {self.low}"
        return "nothing" if self.number is None else f"controller {self.number}"


@attrs.frozen
class Listening(Fielded):
    """What a voice already listens to, before any knob is given a number.

    Args:
        voice: its name.
        channel: where it receives, 1 to 256 (counted across Groups).
        numbers: the controller numbers it answers to there, 0 to 127, each once; of a 14-bit pair
            both halves. An empty list is a voice that answers to no controller.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        M2-117-UM 1.0 (channels across Groups).
    """

    voice: str = attrs.field(converter=converters.voice_name, validator=fields.name())
    channel: int = attrs.field(converter=converters.whole, validator=fields.whole(1, CHANNELS))
    numbers: tuple[int, ...] = attrs.field(converter=converters.wholes)

    @numbers.validator
    def _check(self, _: object, numbers: object) -> None:
        where = "Listening.numbers"
        if not isinstance(numbers, tuple):
            right = f"give a list, each a whole number from 0 to {HIGHEST_DATA}"
            raise InputError(where, numbers, right)
        for position, number in enumerate(numbers):
            fields.check_whole(f"{where}[{position}]", number, 0, HIGHEST_DATA)
            if number in numbers[:position]:
                right = "this number is given twice; each must be its own"
                raise InputError(f"{where}[{position}]", number, right)


def check_channel(where: str, channel: object) -> None:
    """Refuse what is no channel, 1 to 256, counted across the Groups of the Function Block.

    Raises:
        InputError: it is none.
    """
    fields.check_whole(where, channel, 1, CHANNELS)


def sent_of(where: str, given: object) -> Sent:
    """What is sent on a number, or on the two of 14 bits.

    A low half by itself will do: a device may send 7 bits on it.

    Args:
        where: what holds it, for errors.
        given: what a caller gave.

    Raises:
        InputError: it is neither, or a number means something else than a position.
    """
    both = converters.as_tuple(given)
    match both if isinstance(both, tuple) else (both,):
        case (number,) if _position(number):
            return Sent(number)
        case (number, low) if _position(number) and _position(low) and low == low_half(number):
            return Sent(number, low)
    raise InputError(where, given, _RIGHT)


def _position(number: object) -> bool:
    whole = isinstance(number, int) and not isinstance(number, bool)
    return whole and number in range(HIGHEST_DATA + 1) and number not in RESERVED


def own_sent(reading: Reading) -> dict[str, Sent]:
    """What the setup says that the knobs of the surface really send, not yet looked at."""
    return {
        each.knob: Sent(each.number, each.number + LOW_HALF if each.fine else None)
        for each in reading.setup.sending
        if each.number is not None and each.knob in reading.carries
    }
