"""Setups whose knobs drive what a test says. All names are invented."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from knobpack.midi import ControllerNumbers, KnobNumber, Sent
from knobpack.words import Destination, KnobSending, Route, Setup, Surface, Voice


def setup(
    knobs: Mapping[str, Sequence[tuple[str, int]]], *, panel: int = 0, bits: int = 7
) -> Setup:
    """A setup of one row of knobs ``K1``, ``K2``, ….

    Args:
        knobs: for each knob that drives something, the voices that it drives one destination of,
            each with the priority of that destination.
        panel: how many knobs there are, if more than are named.
        bits: the resolution of the surface.
    """
    inner: dict[str, list[Destination]] = {}
    routes = []
    for knob, driven in knobs.items():
        for voice, priority in driven:
            destinations = inner.setdefault(voice, [])
            destinations.append(Destination(f"in {len(destinations) + 1}", priority=priority))
            routes.append(Route(f"{voice}/{destinations[-1].name}", knob))
    most = max([panel, *(int(knob[1:]) for knob in knobs)])
    voices = tuple(Voice(name, tuple(inner[name])) for name in sorted(inner))
    return Setup("Evening", Surface.row(most, bits=bits), voices, routes=tuple(routes))


def plain(count: int, *, bits: int = 7) -> Setup:
    """A setup of so many knobs that each drive one destination of one voice."""
    return setup({f"K{number}": [("Pad", 3)] for number in range(1, count + 1)}, bits=bits)


def sending(made: Setup, *sent: KnobSending) -> Setup:
    """The same setup, of which it is known what some knobs really send."""
    return attrs.evolve(made, sending=sent)


def on_channels(made: Setup, **channels: int) -> Setup:
    """The same setup, of which it is known where some voices receive."""
    voices = tuple(attrs.evolve(each, channel=channels.get(each.name)) for each in made.voices)
    return attrs.evolve(made, voices=voices)


def earlier(sent: Mapping[str, Sent]) -> ControllerNumbers:
    """An earlier answer that says so."""
    knobs = tuple(KnobNumber(knob, (1,), each) for knob, each in sent.items())
    return ControllerNumbers("Earlier", knobs, (), (), ())
