"""The words: frozen values, each checked where it is built; each loaded when it is asked for."""

from knobpack.heavy_imports import on_demand

# __init__.pyi says the same to type checkers; a test holds the two together.
_OFFERED = {
    "knob_settings": "KnobLabel KnobSending",
    "layout": "KnobTravel Layout Route VoiceLayer",
    "past": "Arrival BrokenKnob MovedRoute PastEdit SetupPart",
    "request": "Request",
    "rules": "Rule *",
    "setup": "Home Setup",
    "snapshot": "KnobPosition Snapshot",
    "span": "Span",
    "surface": "Knob Surface",
    "travel": "Travel",
    "voice": "Destination Group Voice",
    "weights": "Weights",
}

__getattr__, __dir__ = on_demand(__name__, _OFFERED)
