"""Controller numbers: what knobs are sent on by MIDI, without collision."""

from knobpack.controllers.answer import ControllerNumbers
from knobpack.controllers.listening import Listening
from knobpack.controllers.numbers import controller_numbers
from knobpack.controllers.parts import MASTER, Closed, KnobNumber, Room, Sent
from knobpack.controllers.table import ASSIGNABLE, TABLE, UNDEFINED, Controller

__all__ = [
    "ASSIGNABLE",
    "MASTER",
    "TABLE",
    "UNDEFINED",
    "Closed",
    "Controller",
    "ControllerNumbers",
    "KnobNumber",
    "Listening",
    "Room",
    "Sent",
    "controller_numbers",
]
