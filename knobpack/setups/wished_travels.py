"""Wished travels: what goes over another travel than it had wishes for that one from then on."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from knobpack.setups.as_read import Reading, read
from knobpack.setups.missed_travels import MissedTravel
from knobpack.words import Setup, Travel


def with_wishes(had: Mapping[str, Travel], after: Setup) -> Setup:
    """A setup in which what goes over another travel than it had wishes for that one from now on.

    So it gets it back when it can. What has a wish already keeps that.

    Args:
        had: over what each destination went, in positions of the surface; what goes nowhere now is
            passed over, and what did nothing.
        after: the setup as it became.
    """
    reading = read(after)
    goes = {route.destination: reading.led(route) for route in reading.routes}
    changed = {
        name: travel
        for name, travel in had.items()
        if name in goes
        and not travel.empty
        and travel != goes[name]
        and reading.destinations[name].travel is None
    }
    return with_travels(after, changed) if changed else after


def wishes_over(reading: Reading, knob: str, travel: Travel) -> dict[str, Travel]:
    """What wishes for another travel than it did once a knob goes over one.

    What is alarming by it has what it had as a wish, so that every later caution names it; anything
    else that has the knob to itself wishes for the new one, where it had a wish.

    Args:
        reading: the setup before.
        knob: the knob.
        travel: what it goes over from then on.

    Returns:
        The wishes by full names.
    """
    names, had, top = reading.carries[knob], reading.goes[knob], reading.setup.surface.top
    found = {}
    for name in names:
        inner = reading.destinations[name]
        missed = MissedTravel(name, knob, inner.travel or had, travel, top, inner.kind)
        if missed.alarming:
            found[name] = missed.wanted
        elif len(names) == 1 and inner.travel is not None:
            found[name] = travel
    return found


def with_travels(setup: Setup, wishes: Mapping[str, Travel | None]) -> Setup:
    """A setup, some destinations of which wish for other travels; None: for none of their own."""
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, travel=wishes.get(voice.full_name(inner), inner.travel))
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)
