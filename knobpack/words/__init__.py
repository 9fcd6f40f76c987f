"""The words: frozen values, each checked where it is built."""

from knobpack.words.layout import Arrival as Arrival
from knobpack.words.layout import BrokenKnob as BrokenKnob
from knobpack.words.layout import Home as Home
from knobpack.words.layout import KnobTravel as KnobTravel
from knobpack.words.layout import Layout as Layout
from knobpack.words.layout import MovedPosition as MovedPosition
from knobpack.words.layout import MovedRoute as MovedRoute
from knobpack.words.layout import Route as Route
from knobpack.words.layout import Setup as Setup
from knobpack.words.layout import VoiceLayer as VoiceLayer
from knobpack.words.request import Request as Request
from knobpack.words.rules import Alone as Alone
from knobpack.words.rules import Apart as Apart
from knobpack.words.rules import Barred as Barred
from knobpack.words.rules import Fixed as Fixed
from knobpack.words.rules import Rule as Rule
from knobpack.words.rules import Together as Together
from knobpack.words.snapshot import KnobPosition as KnobPosition
from knobpack.words.snapshot import Snapshot as Snapshot
from knobpack.words.surface import Knob as Knob
from knobpack.words.surface import Surface as Surface
from knobpack.words.travel import Travel as Travel
from knobpack.words.voice import Destination as Destination
from knobpack.words.voice import Group as Group
from knobpack.words.voice import Voice as Voice
from knobpack.words.weights import Weights as Weights
