# What knobpack.words offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.words.knob_settings import KnobLabel, KnobSending
from knobpack.words.layout import KnobTravel, Layout, Route, VoiceLayer
from knobpack.words.past import Arrival, BrokenKnob, MovedRoute, PastEdit, SetupPart
from knobpack.words.request import Request
from knobpack.words.rules import Alone, Apart, Barred, Fixed, Rule, Together
from knobpack.words.setup import Home, Setup
from knobpack.words.snapshot import KnobPosition, Snapshot
from knobpack.words.span import Span
from knobpack.words.surface import Knob, Surface
from knobpack.words.travel import Travel
from knobpack.words.voice import Destination, Group, Voice
from knobpack.words.weights import Weights

__all__ = [
    "Alone",
    "Apart",
    "Arrival",
    "Barred",
    "BrokenKnob",
    "Destination",
    "Fixed",
    "Group",
    "Home",
    "Knob",
    "KnobLabel",
    "KnobPosition",
    "KnobSending",
    "KnobTravel",
    "Layout",
    "MovedRoute",
    "PastEdit",
    "Request",
    "Route",
    "Rule",
    "Setup",
    "SetupPart",
    "Snapshot",
    "Span",
    "Surface",
    "Together",
    "Travel",
    "Voice",
    "VoiceLayer",
    "Weights",
]
