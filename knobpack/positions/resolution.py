"""Resolution: one position, told in another number of bits.

After M2-115-U 1.0.2. **Never chain up-scales.** 7 to 14 to 32 bits is not 7 to 32 bits: the step
between has filled in bits that are then taken for the player's own. Scale once, from the bits the
value was made with; a ``Position`` keeps them. Chained down-scales do agree with a single one.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import attrs

from knobpack.errors import InputError
from knobpack.heavy_imports import load
from knobpack.text.shown import Fielded
from knobpack.words import Travel, converters, fields

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_BITS = 32
"""The finest resolution there is, in bits."""


@attrs.frozen
class Position(Fielded):
    """A position and the resolution it was made in.

    It can be told in any resolution, each time from the original, so nothing is ever chained.

    Args:
        value: 0 to 2**bits - 1.
        bits: how many of its bits are the player's own, 1 to 32.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        M2-115-U 1.0.2, section 3.
    """

    value: int = attrs.field(converter=converters.whole)
    bits: int = attrs.field(
        converter=converters.whole, validator=fields.whole(1, MOST_BITS, unit="of bits")
    )

    def __attrs_post_init__(self) -> None:
        fields.check_whole("Position.value", self.value, 0, top(self.bits))

    def at(self, bits: int) -> int:
        """The position at another resolution, as ``scaled`` reckons it.

        Args:
            bits: the resolution wanted, 1 to 32.

        Returns:
            The position, 0 to 2**bits - 1.

        Raises:
            InputError: ``bits`` is not a whole number from 1 to 32.
        """
        fields.check_whole("Position.at.bits", bits, 1, MOST_BITS, "of bits")
        return scaled(self.value, self.bits, bits)


def scaled(value: int, from_bits: int, to_bits: int) -> int:
    """The position at another resolution: bottom, centre and top stay bottom, centre and top.

    Up: the value becomes the top bits, so shifting down again gives it back; above the centre its
    low bits are repeated below it, up to all ones at the top. A value of one bit becomes nothing or
    all ones. Down: a plain shift. To the same width: the value itself.

    Args:
        value: the position, 0 to 2**from_bits - 1.
        from_bits: the resolution it was made in, 1 to 32. If it was scaled up before, give the
            bits it had before that.
        to_bits: the resolution wanted, 1 to 32.

    Returns:
        The position, 0 to 2**to_bits - 1.

    Raises:
        InputError: an argument is not a whole number in its range.

    Source:
        M2-115-U 1.0.2, sections 3.3 (up) and 3.4 (down).

    Example:
        >>> from knobpack.positions import scaled
        >>> [scaled(position, 7, 14) for position in (0, 64, 127)]
        [0, 8192, 16383]
        >>> scaled(8192, 14, 7)
        64
    """
    _check_widths("scaled", from_bits, to_bits, least=1)
    fields.check_whole("scaled.value", value, 0, top(from_bits))
    if to_bits <= from_bits:
        return value >> (from_bits - to_bits)
    if from_bits == 1:
        return value * top(to_bits)
    centre = 1 << (from_bits - 1)
    if value <= centre:
        return value << (to_bits - from_bits)
    factor, surplus = _repeating(from_bits, to_bits)
    return (1 << (to_bits - 1)) + ((value - centre) * factor >> surplus)


def scaled_array(
    values: NDArray[np.integer[Any]], from_bits: int, to_bits: int
) -> NDArray[np.int64]:
    """What ``scaled`` gives, for a whole array.

    Args:
        values: positions, each 0 to 2**from_bits - 1, of any shape and any whole-number dtype.
        from_bits: the resolution they were made in, 1 to 32.
        to_bits: the resolution wanted, 1 to 32.

    Returns:
        A new array of the same shape, dtype int64 (signed, so that positions can be subtracted),
        each 0 to 2**to_bits - 1.

    Raises:
        InputError: a width is not a whole number in its range, ``values`` is no array of whole
            numbers, or one of them is out of range.

    Source:
        M2-115-U 1.0.2, sections 3.3 (up) and 3.4 (down).

    Example:
        >>> import numpy as np
        >>> from knobpack.positions import scaled_array
        >>> scaled_array(np.array([0, 64, 127]), 7, 10)
        array([   0,  512, 1023])
    """
    load("numpy")
    import numpy as np

    _check_widths("scaled_array", from_bits, to_bits, least=1)
    found = checked_array("scaled_array.values", values, from_bits)
    if to_bits <= from_bits:
        return np.asarray(found >> (from_bits - to_bits))
    if from_bits == 1:
        return np.asarray(found * top(to_bits))
    centre = 1 << (from_bits - 1)
    factor, surplus = _repeating(from_bits, to_bits)  # no product reaches 2**62: int64 is exact
    above = (1 << (to_bits - 1)) + ((found - centre) * factor >> surplus)
    return np.where(found <= centre, found << (to_bits - from_bits), above)


def zero_extended(value: int, from_bits: int, to_bits: int) -> int:
    """The position at another resolution, where it is a number with a unit and not a share.

    For registered parameters 0 to 31 and other values that are fixed-point, whole or defined by a
    unit. The top does not become the top: 127 of 127 becomes 16256 of 16383. Up: a plain shift.
    Down: rounded to the nearest, a half up, and kept within the range.

    Args:
        value: the position, 0 to 2**from_bits - 1.
        from_bits: the resolution it was made in, 2 to 32 (the standard excludes one bit).
        to_bits: the resolution wanted, 2 to 32.

    Returns:
        The position, 0 to 2**to_bits - 1.

    Raises:
        InputError: an argument is not a whole number in its range.

    Source:
        M2-115-U 1.0.2, section 4.

    Example:
        >>> from knobpack.positions import zero_extended
        >>> zero_extended(127, 7, 14)
        16256
    """
    _check_widths("zero_extended", from_bits, to_bits, least=2)
    fields.check_whole("zero_extended.value", value, 0, top(from_bits))
    if to_bits >= from_bits:
        return value << (to_bits - from_bits)
    lost = from_bits - to_bits
    return min((value + (1 << (lost - 1))) >> lost, top(to_bits))


def scaled_travel(travel: Travel, from_bits: int, to_bits: int) -> Travel:
    """The travel at another resolution, each end as ``scaled`` reckons it.

    The full travel stays the full travel and a reversed one stays reversed. A short travel may
    become an empty one on the way down: ``Travel.empty`` of the answer tells.

    Args:
        travel: its ends are 0 to 2**from_bits - 1.
        from_bits: the resolution it was made in, 1 to 32.
        to_bits: the resolution wanted, 1 to 32.

    Returns:
        The travel, its ends 0 to 2**to_bits - 1.

    Raises:
        InputError: a width or an end of the travel is out of range, or ``travel`` is no Travel.

    Source:
        M2-115-U 1.0.2, sections 3.3 (up) and 3.4 (down).

    Example:
        >>> from knobpack import Travel
        >>> from knobpack.positions import scaled_travel
        >>> scaled_travel(Travel(127, 64), 7, 10)
        Travel(start=1023, end=512)
    """
    _check_widths("scaled_travel", from_bits, to_bits, least=1)
    check_travel("scaled_travel.travel", travel, from_bits)
    return Travel(scaled(travel.start, from_bits, to_bits), scaled(travel.end, from_bits, to_bits))


def top(bits: int) -> int:
    """The highest position at a resolution of ``bits``: 2**bits - 1."""
    return (1 << bits) - 1


def check_travel(where: str, travel: object, bits: int) -> None:
    """Refuse what is no travel within a resolution of ``bits``."""
    if not isinstance(travel, Travel):
        raise InputError(where, travel, "give a Travel")
    fields.check_whole(f"{where}.start", travel.start, 0, top(bits))
    fields.check_whole(f"{where}.end", travel.end, 0, top(bits))


def checked_array(where: str, values: object, bits: int) -> NDArray[np.int64]:
    """The positions as int64: the same array where it is that already.

    Raises:
        InputError: it is no array of whole numbers, or one of them is out of range.
    """
    load("numpy")
    import numpy as np

    if not isinstance(values, np.ndarray) or values.dtype.kind not in "iu":
        raise InputError(where, values, "give a numpy array of whole numbers")
    wrong = np.argwhere((values < 0) | (values > top(bits)))
    if len(wrong):
        place = tuple(int(index) for index in wrong[0])
        at = f"[{', '.join(map(str, place))}]" if place else ""
        right = f"give whole numbers from 0 to {top(bits)}"
        raise InputError(where + at, int(values[place]), right)
    return np.asarray(values, dtype=np.int64)


def _check_widths(where: str, from_bits: int, to_bits: int, least: int) -> None:
    fields.check_whole(f"{where}.from_bits", from_bits, least, MOST_BITS, "of bits")
    fields.check_whole(f"{where}.to_bits", to_bits, least, MOST_BITS, "of bits")


def _repeating(from_bits: int, to_bits: int) -> tuple[int, int]:
    """A factor and a shift that repeat a value's bits below its top one over the new width.

    ``bits * factor >> surplus`` is those bits again and again, cut to ``to_bits - 1`` of them:
    the same as the standard's loop, in one step.
    """
    own = from_bits - 1
    times = -(-(to_bits - 1) // own)
    return top(times * own) // top(own), times * own - (to_bits - 1)
