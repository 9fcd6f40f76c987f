"""Panel text: what each knob of a setup drives, as a player reads it in a terminal."""

from __future__ import annotations

from knobpack.columns import PAGE, listing
from knobpack.phrases import PER_ROUTE, travel_text
from knobpack.setup_as_read import read
from knobpack.words import Setup
from knobpack.words.names import knob_told


def panel_text(setup: Setup, page: int = PAGE) -> str:
    """What each knob drives, and over which travel: lines of at most so many columns."""
    return "\n".join(panel_lines(setup, page)) + "\n"


def panel_lines(setup: Setup, page: int = PAGE) -> list[str]:
    """The lines of :func:`panel_text`."""
    reading = read(setup)
    rows = []
    for knob, travel in reading.travels.items():
        driven = [route.destination for route in setup.routes if route.knob == knob]
        over = travel_text(travel, setup.surface.top)
        over = f"travel {PER_ROUTE}" if setup.surface.per_route else over
        none = reading.closed(knob) or "-"
        rows.append((knob_told(knob), ", ".join(driven) or none, over if driven else ""))
    return ["THE KNOBS NOW", *listing(rows, page=page)]
