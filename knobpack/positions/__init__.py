"""Positions: their resolution, their steps, and the curves that bend them.

Pure functions after two open standards: M2-115-U 1.0.2 (bit scaling and resolution) and DLS 2.2,
1.6.4 and 1.6.5 (curves). What goes beyond them is said where it does.
"""

from knobpack.positions.curves import SHAPES as SHAPES
from knobpack.positions.curves import Curve as Curve
from knobpack.positions.curves import Reach as Reach
from knobpack.positions.curves import reach as reach
from knobpack.positions.scaling import Position as Position
from knobpack.positions.scaling import scaled as scaled
from knobpack.positions.scaling import scaled_array as scaled_array
from knobpack.positions.scaling import scaled_travel as scaled_travel
from knobpack.positions.scaling import zero_extended as zero_extended
from knobpack.positions.steps import step_at as step_at
from knobpack.positions.steps import step_position as step_position
