"""Curves: what a route makes of the position of its knob.

After DLS 2.2, 1.6.4 and 1.6.5, the one open document that says the four curves in full. It says
them for 7 and 14 bits. Three things here go beyond it:

- Any other resolution goes by the same formulas: Range = 2**bits and MaxValue = 127/128 of Range.
  Below 7 bits that is above the highest position, so MaxValue is the highest position there.
- From 8 bits on there are positions above MaxValue. Inverted they would become negative: they
  count as 0. A convex curve would go past 1 there: it stays at 1.
- So no output leaves 0 to 1, or -1 to 1 where bipolar.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Literal, TypeAlias, get_args

import attrs

from knobpack.errors import InputError
from knobpack.heavy_imports import load
from knobpack.positions.resolution import MOST_BITS, check_travel, checked_array
from knobpack.text.shown import Fielded
from knobpack.words import Travel, fields

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

Shape: TypeAlias = Literal["linear", "concave", "convex", "switch"]
"""What a curve is called: those of DLS 2.2, 1.6.5."""

SHAPES: tuple[Shape, ...] = get_args(Shape)

_SLOPE = 5 / 12  # 40 dB for each factor of ten, over 96 dB in all
_KNEE = 10 ** (-12 / 5)  # the share of MaxValue where 96 dB are reached and the curve lies flat


@attrs.frozen
class Curve(Fielded):
    """The curve of a route: its shape, its polarity and its direction.

    Every curve is monotone: it never turns back as the position rises. Concave starts slowly and
    ends steeply, convex the other way round; switch jumps at the middle.

    Args:
        shape: ``linear``, ``concave``, ``convex`` or ``switch``.
        bipolar: the output runs from -1 to 1 instead of 0 to 1.
        inverted: the output falls as the position rises.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        DLS 2.2, sections 1.6.4 and 1.6.5; what goes beyond them is said in
        :mod:`knobpack.positions.curves`.

    Example:
        >>> from knobpack.positions import Curve
        >>> curve = Curve("concave")
        >>> [round(curve.output(position, 7), 3) for position in (0, 64, 127)]
        [0.0, 0.127, 1.0]
    """

    shape: Shape = attrs.field(default="linear", validator=fields.choice(SHAPES))
    bipolar: bool = attrs.field(default=False, validator=fields.flag())
    inverted: bool = attrs.field(default=False, validator=fields.flag())

    def output(self, position: int, bits: int) -> float:
        """The output at a position.

        A linear curve ends just below 1 (at 127/128 with 7 bits), as the standard has it; the
        other shapes reach both ends. A bipolar concave or convex curve passes 0 half-way between
        the two middle positions at 7 bits, so its centre is not exactly 0.

        Args:
            position: 0 to 2**bits - 1.
            bits: the resolution of the position, 1 to 32; the standard says 7 and 14.

        Returns:
            0 to 1, or -1 to 1 where bipolar.

        Raises:
            InputError: an argument is not a whole number in its range.
        """
        fields.check_whole("Curve.output.bits", bits, 1, MOST_BITS, "of bits")
        fields.check_whole("Curve.output.position", position, 0, (1 << bits) - 1)
        most = _most(bits)
        index = max(0, most - position) if self.inverted else position
        if self.shape in {"linear", "switch"}:
            part = index / (1 << bits)
            straight = part if self.shape == "linear" else float(part >= 1 / 2)
            return 2 * straight - 1 if self.bipolar else straight
        bend = _concave if self.shape == "concave" else _convex
        if not self.bipolar:
            return bend(index, most)
        across = 2 * index - most
        return math.copysign(1, across) * bend(abs(across), most) + 0.0  # no -0.0

    def outputs(self, positions: NDArray[np.integer[Any]], bits: int) -> NDArray[np.float64]:
        """What ``output`` gives, for a whole array.

        Args:
            positions: each 0 to 2**bits - 1, of any shape and any whole-number dtype.
            bits: the resolution of the positions, 1 to 32.

        Returns:
            A new array of the same shape, dtype float64, each 0 to 1, or -1 to 1 where bipolar.

        Raises:
            InputError: ``bits`` is not a whole number from 1 to 32, ``positions`` is no array of
                whole numbers, or one of them is out of range.
        """
        load("numpy")
        import numpy as np

        fields.check_whole("Curve.outputs.bits", bits, 1, MOST_BITS, "of bits")
        index = checked_array("Curve.outputs.positions", positions, bits)
        most = _most(bits)
        if self.inverted:
            index = np.maximum(0, most - index)
        if self.shape in {"linear", "switch"}:
            part = index / (1 << bits)
            straight = part if self.shape == "linear" else np.where(part >= 1 / 2, 1.0, 0.0)
            return np.asarray(2 * straight - 1 if self.bipolar else straight)
        across = 2 * index - most if self.bipolar else index
        size = np.abs(across)
        if self.shape == "concave":
            flat, level = size > (1 - _KNEE) * most, 1.0
            ratio = most / np.where(flat, 1, most - size)
            bent = _SLOPE * np.log10(ratio)
        else:
            flat, level = size < _KNEE * most, 0.0
            bent = np.minimum(1, 1 + _SLOPE * np.log10(np.where(flat, most, size) / most))
        kept = np.where(flat, level, bent)
        return np.asarray(np.sign(across) * kept + 0.0)  # no -0.0


@attrs.frozen
class Reach(Fielded):
    """What a destination receives over the whole way of the master.

    Args:
        start: with the master at its bottom, in the unit of the depth.
        end: with the master at its top, in the unit of the depth.
    """

    start: float
    end: float

    @property
    def low(self) -> float:
        """The least that is received anywhere on the way."""
        return min(self.start, self.end)

    @property
    def high(self) -> float:
        """The most that is received anywhere on the way."""
        return max(self.start, self.end)


def reach(travel: Travel, curve: Curve, depth: float, bits: int) -> Reach:
    """What a destination receives from the master through its knob and its route.

    The two ends of the master's way tell everything: the knob goes from one end of its travel to
    the other without turning, the curve is monotone, and the depth is one factor. So nothing on
    the way lies outside what the two ends receive.

    Args:
        travel: of the knob, its ends 0 to 2**bits - 1.
        curve: of the route.
        depth: what the output of the curve is multiplied by, in the destination's own unit (such
            as cents); negative turns it round.
        bits: the resolution of the travel, 1 to 32.

    Returns:
        What is received at the two ends of the master's way, in the unit of ``depth``.

    Raises:
        InputError: an argument is of another type, not finite or out of range.

    Example:
        >>> from knobpack import Travel
        >>> from knobpack.positions import Curve, reach
        >>> reach(Travel(0, 64), Curve(), 2400.0, 7)
        Reach(start=0.0, end=1200.0)
    """
    fields.check_whole("reach.bits", bits, 1, MOST_BITS, "of bits")
    check_travel("reach.travel", travel, bits)
    if not isinstance(curve, Curve):
        raise InputError("reach.curve", curve, "give a Curve")
    factor = finite("reach.depth", depth)
    start = factor * curve.output(travel.start, bits) + 0.0  # no -0.0
    end = factor * curve.output(travel.end, bits) + 0.0
    return Reach(start, end)


def finite(where: str, value: object) -> float:
    """The number as float.

    Raises:
        InputError: it is no number, or not finite; ``where`` says where it was given.
    """
    if isinstance(value, int | float) and not isinstance(value, bool):
        try:
            number = float(value)
        except OverflowError:  # a whole number beyond every float
            number = math.inf
        if math.isfinite(number):
            return number
    raise InputError(where, value, "give a finite number")


def _most(bits: int) -> int:
    """MaxValue: 127/128 of the range, but never above the highest position."""
    whole = 1 << bits
    return whole - max(1, whole >> 7)


def _concave(index: int, most: int) -> float:
    if index > (1 - _KNEE) * most:
        return 1.0
    return _SLOPE * math.log10(most / (most - index))


def _convex(index: int, most: int) -> float:
    if index < _KNEE * most:
        return 0.0
    return min(1.0, 1 + _SLOPE * math.log10(index / most))
