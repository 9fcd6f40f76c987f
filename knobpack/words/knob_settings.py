"""What the display of a knob shows, and what the knob really sends.

What is sent is of the knob and stays with it, whatever it drives. A knob whose channel is not
given sends on those of its voices. An endless knob has no position, so no sweep file sends it.
"""

from __future__ import annotations

from typing import Final, Literal, TypeAlias, get_args

import attrs

from knobpack.errors import InputError
from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.voice import CHANNELS, HIGHEST_DATA

LOW_HALF = 32
"""The low half of a controller of 14 bits has the number of its high half, and 32."""

RESERVED = (0, 6, 32, 38, *range(96, 102), *range(120, 128))
"""Controller numbers that mean something else than a position: bank select (0, 32), data entry (6,
38), data increment and decrement (96, 97), parameter numbers (98 to 101) and channel modes (120 to
127); MIDI 1.0, Table III. All but 96 and 97 are illegal as controllers in SoundFont 2.04, 8.2.1."""

ABSOLUTE: Final = "absolute"
ENDLESS: Final = "endless"

Turning: TypeAlias = Literal["absolute", "pick-up", "endless"]
"""How a knob takes over: at once from where it stands; from where it meets what is stored; or not
at all, as it sends how far it is turned and has no position of its own."""


@attrs.frozen
class KnobLabel(Fielded):
    """The label that the display of a knob shows.

    Args:
        knob: the name of the knob.
        label: text of 1 to 120 printable characters, no space at its ends.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    label: str = attrs.field(validator=fields.label())


@attrs.frozen
class KnobSending(Fielded):
    """What a knob really sends, and how it takes over.

    Args:
        knob: the name of the knob.
        number: the controller number that it sends, 0 to 127; of 14 bits that of the high half,
            0 to 31. None: not known.
        fine: whether it sends 14 bits, the low half on the number higher by 32.
        channel: the MIDI channel that it sends on, 1 to 16; None: that of the voices that it
            drives.
        turning: how it takes over. ``absolute``: what it drives jumps to where the knob stands at
            the first touch. ``pick-up``: it does nothing until it meets the position that is
            stored. ``endless``: it has no position of its own and sends changes. None: not known.

    Raises:
        InputError: a field holds a value it cannot hold; neither ``number`` nor ``turning`` is
            given; or 14 bits are to be sent on a number that has no low half.

    Source:
        MIDI 1.0 Detailed Specification, Table III (controller numbers) and page 12 (pairs of 14
        bits). M2-117-UM 1.0 parts absolute from relative, which is endless here; pick-up is common
        practice, no source.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    number: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(0, HIGHEST_DATA, optional=True),
    )
    fine: bool = attrs.field(default=False, validator=fields.flag())
    channel: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, CHANNELS, optional=True),
    )
    turning: Turning | None = attrs.field(
        default=None, validator=fields.choice(get_args(Turning), optional=True)
    )

    def __attrs_post_init__(self) -> None:
        if self.number is None and self.turning is None:
            right = "give the controller number that the knob sends, or how it takes over"
            raise InputError("KnobSending.number", None, right)
        if self.fine and (self.number is None or self.number >= LOW_HALF):
            right = f"14 bits take a number from 0 to {LOW_HALF - 1}; leave `fine` out"
            raise InputError("KnobSending.number", self.number, right)

    @property
    def numbers(self) -> tuple[int, ...]:
        """The controller numbers that it sends: none, one, or the high and the low half."""
        if self.number is None:
            return ()
        return (self.number, self.number + LOW_HALF) if self.fine else (self.number,)

    def __str__(self) -> str:
        told = [f"controller {self.number}"] if len(self.numbers) == 1 else []
        if self.fine:
            told = ["controllers {} and {} (14 bits)".format(*self.numbers)]
        if self.channel is not None:
            told = [" ".join([*told, f"on channel {self.channel}"])]
        return ", ".join([*told, *([self.turning] if self.turning else [])])
