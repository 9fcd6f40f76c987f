"""Pictures: setups, shows, sweeps, budgets and reasons to look at, each on Axes of matplotlib.

Every function takes the Axes to draw on as ``ax``, or makes a figure that suits the picture; it
returns the Axes, and neither shows nor saves anything. They need ``knobpack[pictures]``.
"""

from knobpack.pictures.budgets import draw_budget
from knobpack.pictures.reasons import draw_reasons
from knobpack.pictures.routes import draw_routes
from knobpack.pictures.show import draw_show
from knobpack.pictures.snapshots import draw_snapshots
from knobpack.pictures.surface import draw_surface
from knobpack.pictures.sweeps import draw_sweep

__all__ = [
    "draw_budget",
    "draw_reasons",
    "draw_routes",
    "draw_show",
    "draw_snapshots",
    "draw_surface",
    "draw_sweep",
]
