"""Layers: where each voice of the result stands."""

from __future__ import annotations

from knobpack.allocation.records import NewLayer
from knobpack.words import Request


def new_layers(request: Request) -> tuple[NewLayer, ...]:
    """Give every voice a layer: the base's stay, then the previous, then the lowest free ones.

    Voices without a layer take the free ones in the order of the request. Where the surface has
    too few layers the numbers go beyond them: the demand is then reported as impossible.
    """
    taken = dict(request.base_layers)
    wished = request.previous.layers if request.previous else ()
    known = {voice.name for voice in request.voices}
    highest = request.surface.layers
    for place in wished:
        free = (
            place.voice in known and place.voice not in taken and place.layer not in taken.values()
        )
        if free and (highest is None or place.layer <= highest):
            taken[place.voice] = place.layer
    used = set(taken.values())
    layer = 1
    for voice in request.voices:
        if voice.name not in taken:
            while layer in used:
                layer += 1
            taken[voice.name] = layer
            used.add(layer)
    return tuple(
        NewLayer(voice.name, voice.source, voice.layer, taken[voice.name])
        for voice in request.voices
    )
