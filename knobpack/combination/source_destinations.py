"""What of a source is to be driven again, and what of it did nothing there."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import attrs

from knobpack.combination.held_routes import told
from knobpack.combination.report import NotAsItWas
from knobpack.positions.scaling import scaled_travel
from knobpack.setup_as_read import Reading, lies_within, stirs
from knobpack.words import Destination, Route, Setup, Travel, Voice


@attrs.frozen
class Sought:
    """A destination that is to be driven: by which knob it was, over which travel of that surface.

    Args:
        voice: its voice in the source.
        destination: itself.
        knob: the knob that drove it; None: none that works.
        travel: the travel of that knob, in the positions of that surface.
    """

    voice: Voice
    destination: Destination
    knob: str | None = None
    travel: Travel | None = None

    @property
    def old_name(self) -> str:
        """Its full name in the source."""
        return self.voice.full_name(self.destination)


def driven_by_knobs(
    reading: Reading, picked: Collection[str], bits: int, label: str
) -> tuple[dict[str, Sought], list[NotAsItWas]]:
    """What each knob drives over a travel that is not empty; the routes that cannot be kept.

    Routes that a slip leads nowhere are not among either.
    """
    owners = {
        voice.full_name(inner): (voice, inner)
        for voice in reading.setup.voices
        for inner in voice.destinations
    }
    driven: dict[str, Sought] = {}
    left: list[NotAsItWas] = []
    for route in reading.setup.routes:
        owner = owners.get(route.destination)
        if owner is None or route.knob not in reading.travels or owner[0].name not in picked:
            continue  # a slip; or it stays behind with its voice, and is told with it
        why = _still(reading, route, reading.over(route), bits)
        if not why and route.destination in driven:
            why = f"is a second one: {driven[route.destination].knob} drives it already"
        if why:
            left.append(NotAsItWas(label, "route", told(route), why))
        else:
            driven[route.destination] = Sought(*owner, route.knob, reading.over(route))
    return driven, left


def _still(reading: Reading, route: Route, travel: Travel, bits: int) -> str:
    """Why a travel moves nothing, or would not on the new surface; empty if it does."""
    surface = reading.setup.surface
    if travel.empty:
        whose = "its travel" if surface.per_route else "the travel of its knob"
        return f"does nothing: {whose} starts where it ends"
    if not lies_within(travel, surface.top):
        return f"has a travel beyond {surface.top}, the highest position"
    if _rescaled(travel, reading.setup, bits).empty:
        return f"goes over {travel}, too short at {bits} bits: it would start where it ends"
    if route.destination not in reading.drives[route.knob]:
        return f"does nothing: {travel} stays within one step of what it leads to"
    return ""


def as_brought(inner: Destination, wish: Sought | None, setup: Setup, bits: int) -> Destination:
    """A destination as it is brought: its travel is that it was driven over, rescaled."""
    travel = inner.travel if wish is None else wish.travel
    if travel is not None:
        strays = wish is None and _strays(inner, setup, bits)
        travel = None if strays else _rescaled(travel, setup, bits)
    knob = None if wish is None else wish.knob
    place = None if knob is None else setup.surface.knob_names.index(knob) + 1
    return attrs.evolve(inner, travel=travel, source_knob=knob, source_place=place)


def travels_lost(
    setup: Setup, driven: Mapping[str, Sought], picked: Collection[str], bits: int, label: str
) -> list[NotAsItWas]:
    """The travels wanted by what nothing drives that no knob could go over to any effect."""
    return [
        NotAsItWas(label, "travel", f"{inner.travel} wanted by {voice.full_name(inner)}", why)
        for voice in setup.voices
        for inner in voice.destinations
        if voice.name in picked
        and voice.full_name(inner) not in driven
        and (why := _strays(inner, setup, bits))
    ]


def _strays(inner: Destination, setup: Setup, bits: int) -> str:
    """Why the travel that is wanted cannot be had, or does nothing; empty if it can."""
    top = setup.surface.top
    if inner.travel is None:
        return ""
    if not lies_within(inner.travel, top):
        return f"lies beyond {top}, the highest position"
    if stirs(_rescaled(inner.travel, setup, bits), inner, bits):
        return ""
    return f"does nothing: it is too short at {bits} bits"


def _rescaled(travel: Travel, setup: Setup, bits: int) -> Travel:
    return scaled_travel(travel, setup.surface.bits, bits)
