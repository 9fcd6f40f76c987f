# What knobpack.midi offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.midi.heard import Heard as Heard
from knobpack.midi.heard import hear_positions as hear_positions
from knobpack.midi.heard import hear_travels as hear_travels
from knobpack.midi.imported import Imported as Imported
from knobpack.midi.imported import ListedController as ListedController
from knobpack.midi.knob_numbers import Closed as Closed
from knobpack.midi.knob_numbers import ControllerNumbers as ControllerNumbers
from knobpack.midi.knob_numbers import KnobNumber as KnobNumber
from knobpack.midi.knob_numbers import Room as Room
from knobpack.midi.lists import import_controllers as import_controllers
from knobpack.midi.numbers import controller_numbers as controller_numbers
from knobpack.midi.recordings import Control as Control
from knobpack.midi.recordings import Recording as Recording
from knobpack.midi.recordings import load_recording as load_recording
from knobpack.midi.recordings import read_recording as read_recording
from knobpack.midi.sent import Listening as Listening
from knobpack.midi.sent import Sent as Sent
from knobpack.midi.sweeps import SweepFile as SweepFile
from knobpack.midi.sweeps import sweep_file as sweep_file
from knobpack.midi.sweeps import sweep_files as sweep_files

__all__: list[str]
