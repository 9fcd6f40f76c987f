"""The words: frozen values, each checked where it is built; each loaded when it is asked for."""

from importlib import import_module

# __init__.pyi says the same to type checkers; a test holds the two together.
_OFFERED = {
    "knob_settings": "KnobLabel KnobSending",
    "layout": "KnobTravel Layout Route VoiceLayer",
    "past": "Arrival BrokenKnob MovedRoute PastEdit SetupPart",
    "request": "Request",
    "rules": "Alone Apart Barred Fixed Rule Together",
    "setup": "Home Setup",
    "snapshot": "KnobPosition Snapshot",
    "span": "Span",
    "surface": "Knob Surface",
    "travel": "Travel",
    "voice": "Destination Group Voice",
    "weights": "Weights",
}
_HOME = {name: module for module, names in _OFFERED.items() for name in names.split()}

__all__ = sorted(_HOME)  # noqa: PLE0605 - ruff reads lists that are written out


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'knobpack.words' has no attribute {name!r}")
    found = getattr(import_module(f"knobpack.words.{_HOME[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return [*__all__, *(name for name in globals() if name.startswith("__"))]
