"""Senders: which controller numbers a knob, or the master, is sent on.

Numbers as of MIDI 1.0 (Table III and page 11): 0 to 31 are the coarse halves of 14-bit controllers,
32 to 63 their fine halves, in the same order, 64 and above are of one byte. A number that means
something else than a position (:data:`knobpack.words.knob_settings.RESERVED`) is refused.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import attrs

from knobpack.errors import InputError
from knobpack.words import converters
from knobpack.words.knob_settings import LOW_HALF, RESERVED

Numbers = int | tuple[int, int]
"""One controller number for 7 bits, or two for 14: the coarse half, then the fine."""

MASTER = ""
"""Who sends if no knob does: the master. No knob is called so."""

_COARSE = range(LOW_HALF)
_RIGHT = (
    "give a controller number from 1 to 119 but 6, 32, 38 and 96 to 101, or for 14 bits two, the "
    "first from 1 to 31, the second higher by 32"
)


@attrs.frozen
class Sender:
    """What sends positions on one or two controller numbers.

    Args:
        who: the name of a knob; ``MASTER``: the master.
        number: its controller number; of 14 bits, that of the coarse half (MSB).
        fine: the controller number of the fine half (LSB); None: 7 bits are sent.
        channel: 1 to 16.
    """

    who: str
    number: int
    fine: int | None = None
    channel: int = 1

    @property
    def bits(self) -> int:
        """How many bits of a position are sent: 7 or 14."""
        return 7 if self.fine is None else 14

    def messages(self, value: int, before: int | None) -> list[tuple[int, int]]:
        """The controller numbers and values that tell a receiver where it stands now.

        MIDI 1.0, Table II, note 4: the coarse half goes first, then the fine half, which goes
        alone where nothing else changed. Receivers should take the fine half for zero when they
        get a coarse one, but not all do: it is sent even where it is zero.

        Args:
            value: 0 to 2**bits - 1.
            before: what was sent before; None: nothing yet.
        """
        if value == before:
            return []
        if self.fine is None:
            return [(self.number, value)]
        low = (self.fine, value & 0x7F)
        if before is not None and before >> 7 == value >> 7:
            return [low]
        return [(self.number, value >> 7), low]

    def most_messages(self, start: int, end: int) -> int:
        """How many messages it takes at most to go on, on the way between two values."""
        if start == end:
            return 0
        return 1 if self.fine is None or start >> 7 == end >> 7 else 2

    def __str__(self) -> str:
        if self.fine is None:
            return f"controller {self.number}"
        return f"controllers {self.number} and {self.fine}"


def senders(
    call: str,
    channels: Mapping[str, tuple[int, ...]],
    numbers: object,
    master_number: object,
    channel: int | None,
) -> tuple[Sender | None, tuple[Sender, ...]]:
    """The sender of the master, if it has a number, and those of the knobs that have one.

    A knob that reaches voices on several channels has a sender for each of them.

    Args:
        call: the name of the function that was given the rest, for errors.
        channels: for each knob of the surface, in panel order, the channels that it sends on, as
            far as they are known.
        numbers: a controller number or two for each name of a knob.
        master_number: the same for the master; None: it is not sent.
        channel: 1 to 16, for all; None: those of each knob, or 1 where none is known, and for the
            master the lowest that a knob sends on.

    Raises:
        InputError: a knob is not there, a number is none that can be used, or two knobs would be
            heard on one.
    """
    if not isinstance(numbers, Mapping):
        raise InputError(f"{call}(numbers)", numbers, "give numbers for each name of a knob")
    for knob in numbers:
        if knob not in channels:
            raise InputError(f"{call}(numbers)", knob, "name a knob of the surface")
    found: dict[int, dict[str, Sender]] = {}
    made = []
    for knob, known in channels.items():
        if knob in numbers:
            place = f"{call}(numbers)[{knob!r}]"
            plain = _sender(place, knob, numbers[knob])
            for on in known or (1,) if channel is None else (channel,):
                made.append(attrs.evolve(plain, channel=on))
                found.setdefault(on, {})[place] = made[-1]
    master = None
    if master_number is not None:
        place, on = f"{call}(master_number)", channel or min(found, default=1)
        master = attrs.evolve(_sender(place, MASTER, master_number), channel=on)
        found.setdefault(on, {})[place] = master
    for each in found.values():
        _check_distinct(each)
    return master, tuple(made)


def _sender(where: str, who: str, given: object) -> Sender:
    pair = converters.as_tuple(given)
    both = pair if isinstance(pair, tuple) else (pair,)
    if not all(_usable(each) for each in both):
        raise InputError(where, given, _RIGHT)
    match both:
        case (number,):
            return Sender(who, number)
        case (number, fine) if number in _COARSE and fine == number + len(_COARSE):
            return Sender(who, number, fine)
    raise InputError(where, given, _RIGHT)


def _usable(number: object) -> bool:
    whole = isinstance(number, int) and not isinstance(number, bool)
    return whole and number in range(120) and number not in RESERVED


def _check_distinct(found: Mapping[str, Sender]) -> None:
    """Refuse two that a receiver cannot tell apart."""
    taken: dict[int, str] = {}
    for where, sender in found.items():
        for number in _heard(sender):
            if number in taken:
                called = f"the same as {taken[number]}"
                raise InputError(where, number, f"give each its own numbers: this one is {called}")
            taken[number] = where
    for where, sender in found.items():
        coarse = sender.number - len(_COARSE)
        if coarse in taken and coarse in _COARSE:
            right = (
                f"{coarse}, of {taken[coarse]}, sets it to zero, as the fine half of its own: "
                "give another number"
            )
            raise InputError(where, sender.number, right)


def _heard(sender: Sender) -> Iterator[int]:
    yield sender.number
    if sender.fine is not None:
        yield sender.fine
