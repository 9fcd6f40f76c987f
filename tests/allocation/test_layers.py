"""Layers: the base's stay, then the previous ones, then the lowest that are free."""

from __future__ import annotations

import random
from itertools import count

from knobpack.allocation.records import new_layers
from knobpack.words import Destination, Layout, Request, Route, Surface, Voice, VoiceLayer


def request_of(draw: random.Random) -> Request:
    """Voices some of which are the base's, and a previous layout that may be at odds with it."""
    names = [f"V{number}" for number in range(draw.randint(1, 7))]
    most = draw.choice((None, len(names), len(names) + 2))
    layers = draw.sample(range(1, len(names) + 1), len(names))
    voices = tuple(
        Voice(name, (Destination("x"),), layer if draw.random() < 0.6 else None, "Old")
        for name, layer in zip(names, layers, strict=True)
    )
    kept = [VoiceLayer(voice.name, layer) for voice, layer in zip(voices, layers, strict=True)]
    routes = [Route(f"{voice.name}/x", "K1") for voice in voices]
    previous = [
        VoiceLayer(name, draw.randint(1, len(names) + 3))
        for name in [*names, "Gone"]
        if draw.random() < 0.6
    ]
    return Request(
        Surface.row(1, layers=most),
        voices,
        keep=Layout(
            tuple(route for route in routes if draw.random() < 0.2),
            (),
            tuple(place for place in kept if draw.random() < 0.2),
        ),
        previous=Layout((), (), tuple(previous)) if draw.random() < 0.7 else None,
    )


def test_the_order_of_claims_on_random_requests() -> None:
    bases = stayed = lowest = 0
    for seed in range(400):
        request = request_of(random.Random(seed))  # noqa: S311 (no secret)
        places = new_layers(request)
        assert [place.voice for place in places] == [voice.name for voice in request.voices]
        assert [place.old for place in places] == [voice.layer for voice in request.voices]
        assert {place.source for place in places} == {"Old"}
        layer = {place.voice: place.new for place in places}
        assert len(set(layer.values())) == len(layer), seed
        # First the base's own: those that keep says, and of voices that keep a route.
        base = {place.voice: place.layer for place in request.keep.layers}
        for voice in request.voices:
            if voice.layer and any(r.destination == f"{voice.name}/x" for r in request.keep.routes):
                base.setdefault(voice.name, voice.layer)
        assert base.items() <= layer.items(), seed
        # Then the previous, in their order, where the layer is there and free.
        claimed = dict(base)
        highest = request.surface.layers or 10**9
        for place in request.previous.layers if request.previous else ():
            free = place.layer not in claimed.values() and place.layer <= highest
            if place.voice in layer and place.voice not in claimed and free:
                claimed[place.voice] = place.layer
        assert claimed.items() <= layer.items(), seed
        # Then the lowest of the rest, in the order of the voices.
        rest = [name for name in layer if name not in claimed]
        free_ones = (number for number in count(1) if number not in claimed.values())
        assert [layer[name] for name in rest] == [next(free_ones) for _ in rest], seed
        bases, stayed = bases + len(base), stayed + len(claimed) - len(base)
        lowest += len(rest)
    assert min(bases, stayed, lowest) > 200


def test_by_hand() -> None:
    voices = tuple(
        Voice(name, (), layer) for name, layer in zip("ABCD", (3, 1, 1, None), strict=True)
    )
    request = Request(
        Surface.row(1, layers=4),
        voices,
        keep=Layout((), (), (VoiceLayer("B", 2),)),
        previous=Layout((), (), (VoiceLayer("A", 2), VoiceLayer("D", 4), VoiceLayer("C", 4))),
    )
    # B is kept at 2, so A cannot have it again; D was at 4 before C asks for it.
    assert [(each.voice, each.old, each.new) for each in new_layers(request)] == [
        ("A", 3, 1),
        ("B", 1, 2),
        ("C", 1, 3),
        ("D", None, 4),
    ]


def test_too_few_layers_are_exceeded() -> None:
    request = Request(Surface.row(1, layers=1), (Voice("A"), Voice("B")))
    assert [each.new for each in new_layers(request)] == [1, 2]
