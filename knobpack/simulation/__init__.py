"""Simulation: what every knob and destination of a setup does, before any of it is heard."""

from knobpack.simulation.change import Jump as Jump
from knobpack.simulation.change import change as change
from knobpack.simulation.change import jump_sentences as jump_sentences
from knobpack.simulation.change import worst_changes as worst_changes
from knobpack.simulation.pickup import BEHAVIOURS as BEHAVIOURS
from knobpack.simulation.pickup import Turned as Turned
from knobpack.simulation.pickup import turned as turned
from knobpack.simulation.response import Response as Response
from knobpack.simulation.sweep import Sweep as Sweep
from knobpack.simulation.sweep import sweep as sweep
