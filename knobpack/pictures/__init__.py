"""Pictures: setups, shows, sweeps, budgets and reasons to look at, each on Axes of matplotlib.

Every function takes the Axes to draw on as ``ax``, or makes a figure that suits the picture; it
returns the Axes, and neither shows nor saves anything. They need ``knobpack[pictures]``. A letter
that the fonts lack which matplotlib is set to (``font.family``) is a box.
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
