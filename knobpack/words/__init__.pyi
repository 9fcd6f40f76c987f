# What knobpack.words offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.words.knob_settings import KnobLabel as KnobLabel
from knobpack.words.knob_settings import KnobSending as KnobSending
from knobpack.words.layout import KnobTravel as KnobTravel
from knobpack.words.layout import Layout as Layout
from knobpack.words.layout import Route as Route
from knobpack.words.layout import VoiceLayer as VoiceLayer
from knobpack.words.past import Arrival as Arrival
from knobpack.words.past import BrokenKnob as BrokenKnob
from knobpack.words.past import MovedRoute as MovedRoute
from knobpack.words.past import PastEdit as PastEdit
from knobpack.words.past import SetupPart as SetupPart
from knobpack.words.request import Request as Request
from knobpack.words.rules import *  # noqa: F403 - all rules, as they name themselves
from knobpack.words.rules import Rule as Rule
from knobpack.words.setup import Home as Home
from knobpack.words.setup import Setup as Setup
from knobpack.words.snapshot import KnobPosition as KnobPosition
from knobpack.words.snapshot import Snapshot as Snapshot
from knobpack.words.surface import Knob as Knob
from knobpack.words.surface import Surface as Surface
from knobpack.words.travel import Travel as Travel
from knobpack.words.voice import Destination as Destination
from knobpack.words.voice import Group as Group
from knobpack.words.voice import Span as Span
from knobpack.words.voice import Voice as Voice
from knobpack.words.weights import Weights as Weights

__all__: list[str]
