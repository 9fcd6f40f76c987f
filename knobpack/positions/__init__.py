"""Positions: their resolution, their steps, and the curves that bend them.

Pure functions after two open standards: M2-115-U 1.0.2 (bit scaling and resolution) and DLS 2.2,
1.6.4 and 1.6.5 (curves). What goes beyond them is said where it does.
"""

from knobpack.positions.curves import SHAPES, Curve, Reach, reach
from knobpack.positions.resolution import (
    Position,
    scaled,
    scaled_array,
    scaled_travel,
    zero_extended,
)
from knobpack.positions.steps import step_at, step_position

__all__ = [
    "SHAPES",
    "Curve",
    "Position",
    "Reach",
    "reach",
    "scaled",
    "scaled_array",
    "scaled_travel",
    "step_at",
    "step_position",
    "zero_extended",
]
