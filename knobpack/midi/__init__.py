"""MIDI: controller numbers, the lists that instruments give of themselves, sweeps to be heard.

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
)

__all__ = [
    "Closed",
    "ControllerNumbers",
    "Imported",
    "KnobNumber",
    "ListedController",
    "Listening",
    "Room",
    "Sent",
    "SweepFile",
    "controller_numbers",
    "import_all_controllers",
    "import_channel_controllers",
    "sweep_file",
    "sweep_files",
]
