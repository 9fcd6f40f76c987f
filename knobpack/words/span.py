"""Span: the keys or velocities that a voice answers to."""

from __future__ import annotations

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields

HIGHEST_DATA = 127
"""The highest data byte of MIDI 1.0: 7 bits."""


@attrs.frozen
class Span(Fielded):
    """The keys, or the velocities, from a lowest to a highest, both among them.

    Where ``high`` is below ``low`` there is none: a setup may be faulty, and the audit says so.

    Args:
        low: the lowest, 0 to 127.
        high: the highest, 0 to 127.

    Raises:
        InputError: one of them is not a whole number from 0 to 127.

    Source:
        MIDI 1.0 Detailed Specification, Table II: keys and velocities are data bytes of 7 bits;
        key 60 is middle C.
    """

    low: int = attrs.field(converter=converters.whole, validator=fields.whole(0, HIGHEST_DATA))
    high: int = attrs.field(converter=converters.whole, validator=fields.whole(0, HIGHEST_DATA))

    def __str__(self) -> str:
        return f"{self.low} to {self.high}"
