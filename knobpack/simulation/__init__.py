"""Simulation: what every knob and destination of a setup does, before any of it is heard."""

from knobpack.setups.response import Response
from knobpack.simulation.change import change, worst_changes
from knobpack.simulation.jump import Jump, jump_sentences
from knobpack.simulation.sweep import Sweep, sweep

__all__ = [
    "Jump",
    "Response",
    "Sweep",
    "change",
    "jump_sentences",
    "sweep",
    "worst_changes",
]
