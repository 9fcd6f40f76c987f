"""MIDI: controller numbers, the lists that instruments give of themselves, sweeps, recordings.

Numbers after MIDI 1.0, lists after M2-117-UM 1.0, files after RP-001 (Standard MIDI Files 1.0).
"""

from knobpack.heavy_imports import on_demand

# __init__.pyi says where each stands.
__getattr__, __dir__ = on_demand(__name__)
