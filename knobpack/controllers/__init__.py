"""Controller numbers: what knobs are sent on by MIDI, without collision."""

from knobpack.controllers.answer import ControllerNumbers as ControllerNumbers
from knobpack.controllers.listening import Listening as Listening
from knobpack.controllers.numbers import controller_numbers as controller_numbers
from knobpack.controllers.parts import MASTER as MASTER
from knobpack.controllers.parts import Closed as Closed
from knobpack.controllers.parts import KnobNumber as KnobNumber
from knobpack.controllers.parts import Room as Room
from knobpack.controllers.parts import Sent as Sent
from knobpack.controllers.table import ASSIGNABLE as ASSIGNABLE
from knobpack.controllers.table import TABLE as TABLE
from knobpack.controllers.table import UNDEFINED as UNDEFINED
from knobpack.controllers.table import Controller as Controller
