"""Travels: what is said of the travel of a knob in a picture."""

from __future__ import annotations

from knobpack.phrases import PER_ROUTE, travel_text
from knobpack.setup_as_read import Reading


def travel_of(reading: Reading, knob: str) -> str:
    """The travel of a knob in positions and words, or that each route has its own."""
    if reading.setup.surface.per_route:
        return f"travel {PER_ROUTE}"
    return travel_text(reading.travels[knob], reading.setup.surface.top)
