"""Panel text: what each knob of a setup drives, as a player reads it in a terminal."""

from __future__ import annotations

from knobpack.present.columns import PAGE, listing
from knobpack.wording import PER_ROUTE, travel_text
from knobpack.words import Setup


def panel_text(setup: Setup, page: int = PAGE) -> str:
    """What each knob drives, and over which travel: lines of at most so many columns."""
    return "\n".join(panel_lines(setup, page)) + "\n"


def panel_lines(setup: Setup, page: int = PAGE) -> list[str]:
    """The lines of :func:`panel_text`."""
    travels = {setting.knob: setting.travel for setting in setup.travels}
    rows = []
    for knob in setup.surface.knob_names:
        driven = [route.destination for route in setup.routes if route.knob == knob]
        travel = travels.get(knob)
        unset = f"travel {PER_ROUTE}" if setup.surface.per_route else "no travel set"
        over = travel_text(travel, setup.surface.top) if travel else unset
        over = over if driven else ""
        rows.append((knob, ", ".join(driven) or "-", over))
    return ["THE KNOBS NOW", *listing(rows, page=page)]
