"""Which physical knob drives what, when layered voices are combined: proven best, and checked."""

from importlib import import_module
from typing import Any

__version__ = "0.1.0"

# Each name is loaded when it is first asked for, so that to import knobpack costs next to nothing.
# __init__.pyi says the same to type checkers; a test holds the two together.
_OFFERED = {
    "allocator": "DEFAULT_EFFORT Progress allocate allocate_request fewest_knobs",
    "allocation": "Allocation Following NewLayer Tier",
    "checker": "Breach Check check",
    "clash.find": "Clash ImpossibleDemands WayOut",
    "errors": "InputError KnobpackError NoLayoutFound",
    "prices": "TIERS Prices",
    "words": (
        "Alone Apart Barred Destination Fixed Group Knob KnobTravel Layout Request Route "
        "Rule Setup Snapshot Surface Together Travel Voice VoiceLayer Weights"
    ),
}
_HOME = {name: module for module, names in _OFFERED.items() for name in names.split()}

__all__ = list(_HOME)


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'knobpack' has no attribute {name!r}")
    found = getattr(import_module(f"knobpack.{_HOME[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})
