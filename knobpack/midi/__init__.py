"""MIDI: controller numbers, the lists that instruments give of themselves, sweeps, recordings.

Numbers after MIDI 1.0, lists after M2-117-UM 1.0, files after RP-001 (Standard MIDI Files 1.0).
"""

from knobpack.audition import SweepFile, sweep_file, sweep_files
from knobpack.controllers import (
    Closed,
    ControllerNumbers,
    KnobNumber,
    Listening,
    Room,
    Sent,
    controller_numbers,
)
from knobpack.exchange import (
    Imported,
    ListedController,
    import_all_controllers,
    import_channel_controllers,
    import_controllers,
)
from knobpack.midi.controls import Control
from knobpack.midi.heard import Heard, hear_positions, hear_travels
from knobpack.midi.recording import Recording, load_recording, read_recording

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
    "import_all_controllers",
    "import_channel_controllers",
    "import_controllers",
    "load_recording",
    "read_recording",
    "sweep_file",
    "sweep_files",
]
