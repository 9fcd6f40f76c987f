"""Requests made from requests, such that something is known of the two answers.

No answer is looked at here. Edits that knobpack offers itself (``knobpack.words.edits``) are used
where they do, so they are tried as well.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import attrs

from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Knob,
    Layout,
    Request,
    Snapshot,
    Surface,
    Together,
    Travel,
    Weights,
)

T = TypeVar("T")


def with_names(value: Any, call: Callable[[str], str]) -> Any:
    """The same words, every name in them another: all text in a request is names."""
    if isinstance(value, str):
        return "/".join(call(part) for part in value.split("/"))
    if isinstance(value, tuple):
        return tuple(with_names(each, call) for each in value)
    if attrs.has(type(value)):
        fields = attrs.fields(type(value))
        changed = {
            each.name: with_names(getattr(value, each.name), call)
            for each in fields
            if each.name != "travel_on"  # one of two words, and no name
        }
        return attrs.evolve(value, **changed)
    return value


def new_names(draw: random.Random) -> Callable[[str], str]:
    """A new name for each name, of any length and in no order, and never the same for two."""
    known: dict[str, str] = {}

    def call(name: str) -> str:
        if name not in known:
            letters = draw.choices("abcxyz", k=draw.randint(1, 9))
            known[name] = f"{''.join(letters)} {len(known)}"
        return known[name]

    return call


def reordered(request: Request, draw: random.Random) -> Request:
    """Everything that has no order of its own, in another order. Knobs keep theirs."""

    def shuffled(words: Iterable[T]) -> tuple[T, ...]:
        left = list(words)
        draw.shuffle(left)
        return tuple(left)

    def inside(rule: Any) -> Any:
        if isinstance(rule, Apart):
            sides = shuffled((rule.first, rule.second))
            return attrs.evolve(rule, first=shuffled(sides[0]), second=shuffled(sides[1]))
        return attrs.evolve(rule, names=shuffled(rule.names))

    return attrs.evolve(
        request,
        surface=attrs.evolve(request.surface, reserved=shuffled(request.surface.reserved)),
        voices=tuple(
            attrs.evolve(voice, destinations=shuffled(voice.destinations))
            for voice in shuffled(request.voices)
        ),
        groups=tuple(
            attrs.evolve(group, members=shuffled(group.members))
            for group in shuffled(request.groups)
        ),
        snapshots=None
        if request.snapshots is None
        else tuple(
            attrs.evolve(snapshot, moves=shuffled(snapshot.moves))
            for snapshot in shuffled(request.snapshots)
        ),
        rules=shuffled(map(inside, request.rules)),
        keep=_shuffled_layout(request.keep, shuffled),
        previous=None if request.previous is None else _shuffled_layout(request.previous, shuffled),
    )


def _shuffled_layout(layout: Layout, shuffled: Callable[[tuple[Any, ...]], Any]) -> Layout:
    return Layout(shuffled(layout.routes), shuffled(layout.travels), shuffled(layout.layers))


def with_reserved_knob(request: Request) -> Request:
    """A knob more at the end of the panel, in a row of its own, that takes no route."""
    surface = request.surface
    last = Knob("Not to be used", 1 + max((knob.row for knob in surface.knobs), default=0))
    wider = attrs.evolve(
        surface, knobs=(*surface.knobs, last), reserved=(*surface.reserved, last.name)
    )
    return attrs.evolve(request, surface=wider)


def without_sequence(request: Request) -> Request:
    """The request where it costs nothing that a source is laid out in another order."""
    return attrs.evolve(request, weights=attrs.evolve(request.weights, sequence=0))


def with_destination(request: Request, draw: random.Random) -> Request:
    """A destination more in some voice, which may be left out."""
    owner = draw.choice(request.voices)
    extra = Destination(
        "one more",
        draw.choice(("cutoff", "level", "pan")),
        draw.randint(1, 5),
        source_knob=draw.choice((None, "S1")),
        movable=draw.random() < 0.9,
    )
    at = draw.randint(0, len(owner.destinations))
    inner = (*owner.destinations[:at], extra, *owner.destinations[at:])
    voice = attrs.evolve(owner, destinations=inner)
    voices = tuple(voice if each is owner else each for each in request.voices)
    return attrs.evolve(request, voices=voices)


def plain_half(request: Request, name: str, weights: Weights) -> Request:
    """A request that asks nothing of single knobs, all its names marked as those of one half."""
    half: Request = with_names(
        attrs.evolve(
            request,
            surface=attrs.evolve(
                request.surface, bits=7, reserved=(), favoured=(), routes=None, layers=None
            ),
            voices=tuple(
                attrs.evolve(
                    voice,
                    source=voice.source or "Old",
                    destinations=tuple(
                        attrs.evolve(each, movable=True, travel=_seven(each.travel, request))
                        for each in voice.destinations
                    ),
                )
                for voice in request.voices
            ),
            snapshots=request.played,
            rules=tuple(r for r in request.rules if isinstance(r, Together | Apart | Alone)),
            keep=Layout(),
            previous=None,
        ),
        lambda part: f"{name} {part}",
    )
    return attrs.evolve(half, surface=Surface.row(0), weights=weights)


def _seven(travel: Travel | None, request: Request) -> Travel | None:
    if travel is None:
        return None
    lost = request.surface.bits - 7
    return Travel(travel.start >> lost, travel.end >> lost)


def on_row(request: Request, knobs: int, per_knob: int | None) -> Request:
    """The request on a plain row of knobs."""
    return attrs.evolve(request, surface=Surface.row(knobs, destinations_per_knob=per_knob))


def on_routes(request: Request) -> Request:
    """The request on a surface that sets travels on routes; a kept travel goes to its routes."""
    kept = {each.knob: each.travel for each in request.keep.travels}
    routes = tuple(attrs.evolve(each, travel=kept.get(each.knob)) for each in request.keep.routes)
    return attrs.evolve(
        request,
        surface=attrs.evolve(request.surface, travel_on="route"),
        keep=attrs.evolve(request.keep, routes=routes, travels=()),
    )


def both(one: Request, other: Request) -> Request:
    """Two requests as one; a snapshot in which one moves alone keeps their knobs apart."""
    alone = Snapshot("the one alone", tuple(voice.name for voice in one.voices))
    return attrs.evolve(
        one,
        voices=(*one.voices, *other.voices),
        groups=(*one.groups, *other.groups),
        snapshots=(*one.played, *other.played, alone),
        rules=(*one.rules, *other.rules),
    )
