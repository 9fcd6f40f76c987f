"""A request cut down to some of its demands, and whether a clash is one, by brute force alone.

Nothing here looks at how the clash was found: a demand is taken out of the request's own words,
and what is left is tried layout by layout.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator

import attrs

from knobpack.clash import Clash
from knobpack.words import Barred, Request
from knobpack.words import demand as words
from knobpack.words.demand import Demand, demands_of
from tests.oracles.brute import least

COUNTED = {words.LAYERS: words.LAYER, words.SNAPSHOTS: words.STORE}
"""Limits that count, and what each counts: knobs have no part in those."""


def relaxed(request: Request, demands: Collection[Demand]) -> Request:
    """The request with these of its demands on knobs, and no other demand at all.

    A reserved knob takes no new route, and what the base has there is not new, whether it must stay
    or not. So reserved knobs become bars for everything else.
    """
    wanted = {(demand.kind, demand.subject) for demand in demands}
    surface = request.surface
    per_knob, routes = surface.destinations_per_knob, surface.routes
    return attrs.evolve(
        request,
        surface=attrs.evolve(
            surface,
            reserved=(),
            layers=None,
            snapshots=None,
            destinations_per_knob=per_knob if (words.PER_KNOB, per_knob) in wanted else None,
            routes=routes if (words.ROUTES, routes) in wanted else None,
        ),
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(
                    attrs.evolve(each, must_place=(words.PLACE, voice.full_name(each)) in wanted)
                    for each in voice.destinations
                ),
            )
            for voice in request.voices
        ),
        snapshots=tuple(
            each if (words.SEPARATE, each.name) in wanted else attrs.evolve(each, break_weight=0)
            for each in request.played
        ),
        rules=(
            *(r for r in request.rules if r.weight is not None or (words.RULE, r) in wanted),
            *_bars(request, [k for k in surface.reserved if (words.RESERVED, k) in wanted]),
        ),
        keep=attrs.evolve(
            request.keep,
            routes=tuple(r for r in request.keep.routes if (words.KEEP, r) in wanted),
        ),
    )


def _bars(request: Request, reserved: Collection[str]) -> Iterator[Barred]:
    kept = {(route.destination, route.knob) for route in request.keep.routes}
    for knob in reserved:
        new = tuple(name for name in request.destinations if (name, knob) not in kept)
        if new:
            yield Barred(new, (knob,))


def clash_faults(request: Request, clash: Clash) -> Iterator[str]:
    """What is wrong with a clash: that it can be met, is not minimal, or a way out leads nowhere.

    Whether the ways out are the cheapest is not looked at; ``clashes.faults`` does that.
    """
    every = demands_of(request)
    if not set(clash.demands) <= set(every):
        yield "the clash names a demand that is not made"
    if possible(request, clash.demands):
        yield "the clash can be met"
    if not clash.minimal:
        yield "the clash is not said to be minimal"
    for demand in clash.demands:
        if not possible(request, [each for each in clash.demands if each != demand]):
            yield f"it clashes without this too: {demand}"
    if not clash.ways_out:
        yield "there is no way out"
    for way in clash.ways_out:
        if not possible(request, [each for each in every if each not in way.demands]):
            yield f"this is no way out: {way}"


def possible(request: Request, demands: Collection[Demand]) -> bool:
    """Whether some layout meets these demands of the request."""
    left, surface = relaxed(request, demands), request.surface
    # Where no knob is open to anything, nothing is contradicted.
    closed = set(surface.knob_names) <= set(surface.reserved)
    return _counts_hold(demands) and least(left, short=closed) is not None


def _counts_hold(demands: Collection[Demand]) -> bool:
    kinds: list[str] = [demand.kind for demand in demands]
    return all(
        kinds.count(COUNTED[demand.kind]) <= demand.subject
        for demand in demands
        if demand.kind in COUNTED
    )
