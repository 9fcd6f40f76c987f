"""Positions: their resolution, their steps, and the curves that bend them.

Pure functions after two open standards: M2-115-U 1.0.2 (bit scaling and resolution) and DLS 2.2,
1.6.4 and 1.6.5 (curves). What goes beyond them is said where it does.
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
