# What knobpack.positions offers, for type checkers; __init__.py loads each when asked for it.

from knobpack.positions.curves import SHAPES as SHAPES
from knobpack.positions.curves import Curve as Curve
from knobpack.positions.curves import Reach as Reach
from knobpack.positions.curves import reach as reach
from knobpack.positions.resolution import Position as Position
from knobpack.positions.resolution import scaled as scaled
from knobpack.positions.resolution import scaled_array as scaled_array
from knobpack.positions.resolution import scaled_travel as scaled_travel
from knobpack.positions.resolution import zero_extended as zero_extended
from knobpack.positions.steps import step_at as step_at
from knobpack.positions.steps import step_position as step_position

__all__: list[str]
