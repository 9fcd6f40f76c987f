"""Random layouts of a request, good and bad, to hold two ways of pricing against each other."""

from __future__ import annotations

import random

from knobpack.words import KnobTravel, Layout, Request, Route, Travel, VoiceLayer


def random_layout(draw: random.Random, request: Request) -> Layout:
    """A layout of ``request``: most heed what is kept and fixed, or few would be valid."""
    knobs = request.surface.knob_names
    kept = {route.destination: route.knob for route in request.keep.routes}
    heed = draw.random() < 0.8
    few = draw.sample(knobs, draw.randint(1, len(knobs))) if knobs else []
    left_out = draw.choice((0, 0, 0.2, 0.6, 1))
    routes = []
    for name in request.by_full_name:
        if heed and name in kept:
            routes.append(Route(name, kept[name]))
        elif few and draw.random() >= left_out:
            routes.append(Route(name, draw.choice(few)))
    return Layout(tuple(routes), _travels(draw, request, heed), _layers(draw, request))


def _travels(draw: random.Random, request: Request, heed: bool) -> tuple[KnobTravel, ...]:
    if draw.random() < 0.5:
        return ()
    kept = {setting.knob: setting.travel for setting in request.keep.travels}
    top = request.surface.top
    travels = []
    for knob in request.surface.knob_names:
        if heed and knob in kept:
            travels.append(KnobTravel(knob, kept[knob]))
        elif draw.random() < 0.6:
            wanted = [request.wanted(name) for name in request.by_full_name]
            anywhere = Travel(draw.randint(0, top), draw.randint(0, top))
            travels.append(KnobTravel(knob, draw.choice([anywhere, *wanted])))
    return tuple(travels)


def _layers(draw: random.Random, request: Request) -> tuple[VoiceLayer, ...]:
    voices = [voice.name for voice in request.voices]
    if draw.random() < 0.6:
        return ()
    layers = list(range(1, len(voices) + 1 + draw.randint(0, 1)))
    if draw.random() < 0.5:
        draw.shuffle(layers)
    if draw.random() < 0.1:
        layers[0] = layers[-1]
    if draw.random() < 0.1:
        voices.pop()
    return tuple(VoiceLayer(voice, layer) for voice, layer in zip(voices, layers, strict=False))
