"""Travel: where a knob stands as the master goes from bottom to top."""

from __future__ import annotations

from typing import SupportsIndex

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields

HIGHEST_POSITION = 2**32 - 1


@attrs.frozen
class Travel(Fielded):
    """The start and end position of a knob, in the resolution of its surface.

    ``end`` below ``start`` is a reversed travel; ``end`` equal to ``start`` is an empty one: the
    knob follows the master and does nothing.

    Args:
        start: the position with the master at its bottom, 0 to 2**32 - 1.
        end: the position with the master at its top, 0 to 2**32 - 1.

    Raises:
        InputError: a position is not a whole number from 0 to 2**32 - 1.
    """

    start: int = attrs.field(
        converter=converters.whole, validator=fields.whole(0, HIGHEST_POSITION)
    )
    end: int = attrs.field(converter=converters.whole, validator=fields.whole(0, HIGHEST_POSITION))

    @classmethod
    def full(cls, bits: SupportsIndex) -> Travel:
        """The whole range at a resolution.

        Args:
            bits: the resolution, 2 to 32.

        Returns:
            The travel from 0 to 2**bits - 1.

        Raises:
            InputError: ``bits`` is no whole number from 2 to 32.
        """
        bits = converters.whole(bits)
        fields.check_whole("Travel.full.bits", bits, 2, 32, "of bits")
        return cls(0, 2**bits - 1)

    @property
    def reversed(self) -> bool:
        """Whether the position falls as the master rises."""
        return self.end < self.start

    @property
    def empty(self) -> bool:
        """Whether the position stays where it is."""
        return self.end == self.start

    def __str__(self) -> str:
        return f"{self.start} to {self.end}"


def hundredths(positions: int, top: int) -> int:
    """So many positions in hundredths of full travel, to the nearest; half of one counts as one.

    ``top`` is the highest position of the surface.
    """
    return (200 * positions + top) // (2 * top)


def distance(one: Travel, other: Travel, top: int) -> int:
    """How far the starts and the ends of two travels are apart, added up, in hundredths: 0 to 200.

    ``top`` is the highest position of the surface.
    """
    return hundredths(abs(one.start - other.start) + abs(one.end - other.end), top)


def travel_text(travel: Travel, top: int) -> str:
    """A travel in positions, and in words: ``0 to 64 (half)``.

    Args:
        travel: the travel.
        top: the highest position.
    """
    if travel.empty:
        return f"{travel} (does nothing)"
    share = hundredths(abs(travel.end - travel.start), top)
    length = {100: "full", 50: "half"}.get(share, f"{share} %")
    if travel.reversed:
        length = "reversed" if share == 100 else f"reversed, {length}"
    return f"{travel} ({length})"
