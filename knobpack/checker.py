"""The plain checker: whether a layout is valid, and what it costs, from the words alone.

Nothing here is shared with the solver, on purpose. It reads each sentence of the definitions as it
stands, one after the other, and is slow and simple where the solver is fast.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import attrs

from knobpack.definition.contradictions import contradictions
from knobpack.definition.layout_prices import (
    new_breaks,
    prices_of,
)
from knobpack.definition.phrases import TIER_WORDS
from knobpack.definition.prices import (
    TIERS,
    Break,
    BundlePrice,
    Change,
    KnobPrice,
    MovedBundle,
    Omission,
    PlacePrice,
    Prices,
    Reset,
    SpreadPrice,
)
from knobpack.definition.rule_prices import offences
from knobpack.definition.travel_prices import chosen_travels
from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.text.shown import Fielded, Told, html_list, html_table
from knobpack.words import (
    KnobTravel,
    Layout,
    Request,
    Travel,
)
from knobpack.words import demand as demands
from knobpack.words.demand import Demand
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed, place_told
from knobpack.words.surface import NOT_ON_KNOB, NOT_ON_ROUTE

__all__ = [
    "TIERS",
    "Breach",
    "Break",
    "BundlePrice",
    "Change",
    "Check",
    "KnobPrice",
    "MovedBundle",
    "Omission",
    "PlacePrice",
    "Prices",
    "Reset",
    "SpreadPrice",
    "check",
]


@attrs.frozen
class Breach(Fielded):
    """A demand that a layout does not meet, and what breaks it.

    Args:
        demand: what is not met.
        found: what the layout does against it, in words.
    """

    demand: Demand
    found: str

    def __str__(self) -> str:
        return f"{self.demand}, but {self.found}"


@attrs.frozen
class Check(Told):
    """What the plain checker found.

    Args:
        breaches: the demands that are not met; none if the layout is valid.
        prices: what the layout costs.
        travels: the travel of every used knob, in positions: the one given, or the cheapest where
            none was. None where the surface sets travels on routes.
        contradicted: what no layout does right, since what is asked of it leaves it no knob: see
            :func:`knobpack.definition.contradictions.contradictions`.
    """

    breaches: tuple[Breach, ...]
    prices: Prices
    travels: tuple[KnobTravel, ...]
    contradicted: tuple[tuple[str, ...], ...] = ()

    @property
    def valid(self) -> bool:
        """Whether every demand is met, and nothing that is asked is contradicted."""
        return not self.breaches and not self.contradicted

    @property
    def sentences(self) -> tuple[str, ...]:
        """Which demands are not met, then what the layout costs."""
        met = ("Every demand is met.",) if self.valid else ()
        points = ", ".join(f"{tier} {value:,}" for tier, value in self._points)
        return (
            *met,
            *(f"{str(breach)[0].upper()}{str(breach)[1:]}." for breach in self.breaches),
            *(f"No knob could take {listed(unit)}." for unit in self.contradicted),
            f"Points, fewer are better: {points}.",
        )

    @property
    def _points(self) -> tuple[tuple[str, int], ...]:
        prices = self.prices
        return tuple(zip(map(TIER_WORDS.__getitem__, prices.order), prices.totals, strict=True))

    @property
    def _parts(self) -> Sequence[str]:
        rows = tuple((tier, f"{value:,}") for tier, value in self._points)
        return (
            html_list(self.sentences[:-1]),
            html_table("Points, fewer are better", ("tier", "points"), rows),
        )


def check(request: Request, layout: Layout) -> Check:
    """Check and price a layout, however it was made.

    Args:
        request: what was asked.
        layout: what is offered. Where it gives no travel for a used knob, the cheapest of those
            wanted on it is taken; where it gives no layers, none are checked.

    Returns:
        The breaches, the prices tier by tier, and the travel of every used knob.

    Raises:
        InputError: ``request`` is no Request or ``layout`` no Layout, or the layout names a
            destination, voice or knob that is not in the request, or a travel outside the
            resolution or where the surface sets none.

    Example:
        >>> from knobpack import Destination, Layout, Request, Surface, Voice
        >>> from knobpack.checker import check
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> request = Request(Surface.row(2), (pad, bass))
        >>> by_hand = Layout.of({"K1": ["Glass pad/cutoff", "Round bass/drive"]})
        >>> found = check(request, by_hand)
        >>> found.valid
        False
        >>> print(found.breaches[0].found)
        K1 carries Glass pad/cutoff, to be moved, and Round bass/drive, to be held
    """
    check_kind("check.request", request, Request)
    check_kind("check.layout", layout, Layout)
    _check_names(request, layout)
    knob_of, on, travels = _laid_out(request, layout)
    prices = prices_of(request, knob_of, on, travels)
    settings = tuple(KnobTravel(knob, travels[knob]) for knob in on)
    shown = () if request.surface.per_route else settings
    return Check(breaches(request, layout), prices, shown, contradictions(request))


def breaches(request: Request, layout: Layout) -> tuple[Breach, ...]:
    """The demands that a layout does not meet: what :func:`check` says of them, but no prices.

    Args:
        request: what was asked.
        layout: the layout; all it names is in the request.
    """
    knob_of, on, travels = _laid_out(request, layout)
    return (
        *_breached_limits(request, layout, on),
        *_breached_keeps(request, layout, knob_of, travels),
        *_breached_snapshots(request, on),
        *_breached_rules(request, knob_of, on),
    )


def priced(request: Request, layout: Layout) -> Prices:
    """The prices of a layout that is known to be valid: those that :func:`check` gives.

    Args:
        request: what was asked.
        layout: the layout.
    """
    return prices_of(request, *_laid_out(request, layout))


def _laid_out(
    request: Request, layout: Layout
) -> tuple[dict[str, str], dict[str, list[str]], dict[str, Travel]]:
    """The knob of each destination placed, what each used knob drives, and over which travel."""
    knob_of = {route.destination: route.knob for route in layout.routes}
    on = grouped((knob_of[name], name) for name in request.by_full_name if name in knob_of)
    on = {knob: on[knob] for knob in request.surface.knob_names if knob in on}
    return knob_of, on, chosen_travels(request, layout, on)


def follows(request: Request, layout: Layout, snapshot: str) -> tuple[str, ...]:
    """The knobs that follow the master in a snapshot, in panel order.

    A knob follows where more of its destinations are to move than to be held.
    """
    wanted = next(each for each in request.played if each.name == snapshot)
    moved = request.moved(wanted)
    more: Counter[str] = Counter()
    for route in layout.routes:
        more[route.knob] += 1 if route.destination in moved else -1
    return tuple(knob for knob in request.surface.knob_names if more[knob] > 0)


def _check_names(request: Request, layout: Layout) -> None:
    voices = {voice.name for voice in request.voices}
    for route in layout.routes:
        if route.destination not in request.by_full_name:
            raise InputError(
                "Layout.routes", route.destination, "name a voice/destination asked for"
            )
    for knob in [*(r.knob for r in layout.routes), *(t.knob for t in layout.travels)]:
        if knob not in request.surface.knob_names:
            raise InputError("Layout", knob, "name a knob of the surface")
    for place in layout.layers:
        if place.voice not in voices:
            raise InputError("Layout.layers", place.voice, "name a voice of the request")
    _check_travels(request, layout)


def _check_travels(request: Request, layout: Layout) -> None:
    per_route = request.surface.per_route
    for setting in layout.travels:
        where = f"Layout.travels of {setting.knob!r}"
        if per_route:
            raise InputError(where, setting.travel, NOT_ON_KNOB)
        _check_travel(request, where, setting.travel)
    for route in layout.routes:
        where = f"Layout.routes of {route.destination!r}"
        if route.travel is not None and not per_route:
            raise InputError(where, route.travel, NOT_ON_ROUTE)
        if route.travel is not None:
            _check_travel(request, where, route.travel)


def _check_travel(request: Request, where: str, travel: Travel) -> None:
    top = request.surface.top
    if max(travel.start, travel.end) > top:
        right = f"positions run from 0 to {top} at {request.surface.bits} bits"
        raise InputError(where, travel, right)


# What is demanded -------------------------------------------------------------------------------


def _breached_limits(
    request: Request, layout: Layout, on: dict[str, list[str]]
) -> Iterator[Breach]:
    surface = request.surface
    kept = {(route.destination, route.knob) for route in request.keep.routes}
    for name, destination in request.by_full_name.items():
        if destination.must_place and not any(name in names for names in on.values()):
            yield Breach(Demand(demands.PLACE, name), "it is left out")
    for knob in surface.reserved:
        added = [name for name in on.get(knob, ()) if (name, knob) not in kept]
        if added:
            yield Breach(Demand(demands.RESERVED, knob), f"it carries {', '.join(added)}")
    if surface.destinations_per_knob is not None:
        for knob, names in on.items():
            if len(names) > surface.destinations_per_knob:
                demand = Demand(demands.PER_KNOB, surface.destinations_per_knob)
                yield Breach(demand, f"{knob_told(knob)} carries {len(names)}")
    if surface.routes is not None and len(layout.routes) > surface.routes:
        yield Breach(Demand(demands.ROUTES, surface.routes), f"there are {len(layout.routes)}")
    if surface.snapshots is not None and len(request.played) > surface.snapshots:
        demand = Demand(demands.SNAPSHOTS, surface.snapshots)
        yield Breach(demand, f"{len(request.played)} are asked for")
    yield from _breached_layers(request, layout)


def _breached_layers(request: Request, layout: Layout) -> Iterator[Breach]:
    if not layout.layers:
        return
    layer_of = {place.voice: place.layer for place in layout.layers}
    taken: dict[int, str] = {}
    for voice in request.voices:
        demand = Demand(demands.LAYER, voice.name)
        layer = layer_of.get(voice.name)
        if layer is None:
            yield Breach(demand, "it has none")
        elif layer in taken:
            yield Breach(demand, f"{taken[layer]!r} stands at layer {layer} already")
        elif request.surface.layers is not None and layer > request.surface.layers:
            yield Breach(
                Demand(demands.LAYERS, request.surface.layers), f"{voice.name!r} is at {layer}"
            )
        elif layer != request.base_layers.get(voice.name, layer):
            kept = request.base_layers[voice.name]
            yield Breach(demand, f"it is kept at layer {kept} and stands at {layer}")
        else:
            taken[layer] = voice.name


def _breached_keeps(
    request: Request, layout: Layout, knob_of: dict[str, str], travels: dict[str, Travel]
) -> Iterator[Breach]:
    kept_travels = {setting.knob: setting.travel for setting in request.keep.travels}
    goes = {route.destination: route.travel for route in layout.routes}
    for route in request.keep.routes:
        knob = knob_of.get(route.destination)
        if knob != route.knob:
            yield Breach(Demand(demands.KEEP, route), f"it is {place_told(knob)}")
        elif knob in kept_travels and travels[knob] != kept_travels[knob]:
            found = f"the travel of {knob_told(knob)} is {travels[knob]}, not {kept_travels[knob]}"
            yield Breach(Demand(demands.KEEP, route), found)
        elif route.travel and goes[route.destination] not in (None, route.travel):
            found = f"it goes over {goes[route.destination]}, not {route.travel}"
            yield Breach(Demand(demands.KEEP, route), found)


def _breached_snapshots(request: Request, on: dict[str, list[str]]) -> Iterator[Breach]:
    for snapshot in request.played:
        if snapshot.break_weight is not None:
            continue
        moved = request.moved(snapshot)
        for knob, names in on.items():
            moving = [name for name in names if name in moved]
            held = [name for name in names if name not in moved]
            torn = new_breaks(request, moving, held)
            if torn:
                against = new_breaks(request, held, moving)
                found = f"{', '.join(torn)}, to be moved, and {', '.join(against)}, to be held"
                yield Breach(
                    Demand(demands.SEPARATE, snapshot.name), f"{knob_told(knob)} carries {found}"
                )


def _breached_rules(
    request: Request, knob_of: dict[str, str], on: dict[str, list[str]]
) -> Iterator[Breach]:
    for rule in request.rules:
        if rule.weight is None:
            for found in offences(request, rule, knob_of, on):
                yield Breach(Demand(demands.RULE, rule), found)
