"""Checked: an allocation of a layout, once the plain checker has passed it."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.allocation import Allocation, Following, NewLayer, Tier
from knobpack.allocation.records import new_layers, tiers_from
from knobpack.checker import Check, check, follows
from knobpack.errors import InputError, Stopped
from knobpack.words import Layout, Request, VoiceLayer
from knobpack.words.fields import check_kind

LEAST = 0
"""What every tier costs at least: nothing in it is below zero."""


def allocation_of(request: Request, layout: Layout) -> Allocation:
    """The allocation of a layout that was made elsewhere; see :meth:`Allocation.of`."""
    check_kind("Allocation.of.request", request, Request)
    check_kind("Allocation.of.layout", layout, Layout)
    whole = completed(request, layout)
    found = check(request, whole)
    insist("Allocation.of.layout", layout, found)
    values = found.prices.totals
    tiers = tiers_from(found.prices.order, values, [LEAST] * len(values))
    return assembled(request, whole, found, tiers)


def completed(request: Request, layout: Layout) -> Layout:
    """A layout in panel order, with the travels of its routes and the layers that it leaves out.

    What it names wrongly is left for the checker to refuse.
    """
    at = {name: position for position, name in enumerate(request.surface.knob_names)}
    order = {name: position for position, name in enumerate(request.by_full_name)}
    routes = sorted(
        layout.routes, key=lambda each: (at.get(each.knob, 0), order.get(each.destination, 0))
    )
    if request.surface.per_route:
        routes = [
            attrs.evolve(each, travel=each.travel or request.driven(each.destination))
            if each.destination in order
            else each
            for each in routes
        ]
    layers = layout.layers or tuple(
        VoiceLayer(place.voice, place.new) for place in new_layers(request)
    )
    return Layout(routes, layout.travels, layers)


def still_asked(request: Request, known: Allocation) -> Layout:
    """What of another layout a request asks for too, on the knobs that it has.

    Nothing, where positions or travels are not what they were. No layers: voices may be gone.
    """
    knobs, was = request.surface.knob_names, known.request.surface
    alike = (was.bits, was.per_route) == (request.surface.bits, request.surface.per_route)
    routes = [
        route
        for route in known.routes
        if alike and route.destination in request.by_full_name and route.knob in knobs
    ]
    on = {route.knob for route in routes}
    return Layout(routes, [each for each in known.travels if each.knob in on])


def assembled(
    request: Request,
    layout: Layout,
    found: Check,
    tiers: Iterable[Tier],
    stopped: Stopped | None = None,
) -> Allocation:
    """An allocation from a layout and what was found about it.

    Args:
        request: what is asked.
        layout: a layout that meets every demand, completed.
        found: what the plain checker found.
        tiers: value, bound and proof of every tier.
        stopped: what cut the search short.
    """
    placed = {route.destination for route in layout.routes}
    layer = {place.voice: place.layer for place in layout.layers}
    return Allocation(
        request=request,
        routes=layout.routes,
        travels=found.travels,
        following=tuple(
            Following(snapshot.name, follows(request, layout, snapshot.name))
            for snapshot in request.played
        ),
        unplaced=tuple(name for name in request.by_full_name if name not in placed),
        layers=tuple(
            NewLayer(voice.name, voice.source, voice.layer, layer[voice.name])
            for voice in request.voices
        ),
        tiers=tuple(tiers),
        prices=found.prices,
        stopped=stopped,
    )


def insist(where: str, layout: Layout, found: Check) -> None:
    """Refuse a layout that does not meet every demand.

    Raises:
        InputError: it breaks one, or no layout meets them.
    """
    if found.contradicted:
        names = ", ".join(found.contradicted[0])
        raise InputError(where, layout, f"no layout will do: no knob could take {names}")
    if found.breaches:
        raise InputError(where, layout, f"give one that meets every demand: {found.breaches[0]}")
