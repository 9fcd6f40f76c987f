"""MIDI: controller numbers, the lists that instruments give of themselves, sweeps, recordings.

Numbers after MIDI 1.0, lists after M2-117-UM 1.0, files after RP-001 (Standard MIDI Files 1.0).
"""

from knobpack.midi.heard import Heard, hear_positions, hear_travels
from knobpack.midi.imported import Imported, ListedController
from knobpack.midi.knob_numbers import Closed, ControllerNumbers, KnobNumber, Room
from knobpack.midi.lists import import_controllers
from knobpack.midi.numbers import controller_numbers
from knobpack.midi.recordings import Control, Recording, load_recording, read_recording
from knobpack.midi.sent import Listening, Sent
from knobpack.midi.sweeps import SweepFile, sweep_file, sweep_files

__all__ = [
    "Closed",
    "Control",
    "ControllerNumbers",
    "Heard",
    "Imported",
    "KnobNumber",
    "ListedController",
    "Listening",
    "Recording",
    "Room",
    "Sent",
    "SweepFile",
    "controller_numbers",
    "hear_positions",
    "hear_travels",
    "import_controllers",
    "load_recording",
    "read_recording",
    "sweep_file",
    "sweep_files",
]
