"""Where destinations are and over which travels they go, as a layout of a panel."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from knobpack.setup_as_read import Reading
from knobpack.words import KnobTravel, Layout, Route, Surface, Travel, VoiceLayer


def layout_of(
    surface: Surface,
    places: Mapping[str, str],
    goes: Mapping[str, Travel],
    rank: Mapping[str, tuple[int, int]],
    layers: Iterable[VoiceLayer],
) -> Layout:
    """A layout in which each destination goes over its travel, as the panel sets travels.

    Args:
        surface: the panel.
        places: the knob of each destination.
        goes: the travel of each, as far as it is known. Where a knob has one travel for all that it
            drives, that of the most important stands.
        rank: how important each is, the lower the more.
        layers: where the voices stand.
    """
    if surface.per_route:
        routes = (Route(name, knob, goes.get(name)) for name, knob in places.items())
        return Layout(tuple(routes), (), tuple(layers))
    travels: dict[str, Travel] = {}
    for name in sorted(places, key=lambda each: rank.get(each, (6, 0))):
        if name in goes:
            travels.setdefault(places[name], goes[name])
    return Layout(
        tuple(Route(name, knob) for name, knob in places.items()),
        tuple(KnobTravel(knob, travel) for knob, travel in travels.items()),
        tuple(layers),
    )


def knob_of(reading: Reading) -> dict[str, str]:
    """The knob of each destination that is driven; of several the first on the panel."""
    return {name: knobs[0] for name, knobs in reading.knobs_of.items() if knobs}


def goes_of(reading: Reading) -> dict[str, Travel]:
    """The travel that each destination really goes over, on that knob."""
    at = knob_of(reading)
    return {r.destination: reading.led(r) for r in reading.routes if at[r.destination] == r.knob}


def rank_of(reading: Reading) -> dict[str, tuple[int, int]]:
    """How important each destination is, the lower the more; then in the order of the setup."""
    inner = reading.destinations
    return {name: (each.priority, at) for at, (name, each) in enumerate(inner.items())}
