"""The plain checker: whether a layout is valid, and what it costs, from the words alone.

Nothing here is shared with the solver, on purpose. It reads each sentence of the definitions as it
stands, one after the other, and is slow and simple where the solver is fast.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import attrs

from knobpack.errors import InputError
from knobpack.prices import (
    Break,
    Change,
    KnobPrice,
    Omission,
    PlacePrice,
    Prices,
    SpreadPrice,
)
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Fixed,
    KnobTravel,
    Layout,
    Request,
    Rule,
    Together,
    Travel,
)
from knobpack.words import demand as demands
from knobpack.words.demand import Demand


@attrs.frozen
class Breach:
    """A demand that a layout does not meet, and what breaks it."""

    demand: Demand
    found: str

    def __str__(self) -> str:
        return f"{self.demand}, but {self.found}"


@attrs.frozen
class Check:
    """What the plain checker found.

    Args:
        breaches: the demands that are not met; none if the layout is valid.
        prices: what the layout costs.
        travels: the travel of every used knob: the one given, or the cheapest where none was.
    """

    breaches: tuple[Breach, ...]
    prices: Prices
    travels: tuple[KnobTravel, ...]

    @property
    def valid(self) -> bool:
        """Whether every demand is met."""
        return not self.breaches


def check(request: Request, layout: Layout) -> Check:
    """Check and price a layout, however it was made.

    Args:
        request: what was asked.
        layout: what is offered. Where it gives no travel for a used knob, the cheapest of those
            wanted on it is taken; where it gives no layers, none are checked.

    Returns:
        The breaches, the prices tier by tier, and the travel of every used knob.

    Raises:
        InputError: the layout names a destination, voice or knob that is not in the request, or
            a travel outside the resolution.
    """
    _check_names(request, layout)
    knob_of = {route.destination: route.knob for route in layout.routes}
    on: dict[str, list[str]] = {}
    for name in request.destinations:
        if name in knob_of:
            on.setdefault(knob_of[name], []).append(name)
    on = {knob: on[knob] for knob in request.surface.knob_names if knob in on}
    travels = _travels(request, layout, on)
    breaches = (
        *_breached_limits(request, layout, on),
        *_breached_keeps(request, knob_of, travels),
        *_breached_snapshots(request, on),
        *_breached_rules(request, knob_of, on),
    )
    prices = Prices(
        omissions=tuple(_omissions(request, knob_of)),
        breaks=tuple(_breaks(request, on)),
        knobs=tuple(_knob_price(request, knob, names, travels[knob]) for knob, names in on.items()),
        spreads=tuple(_spreads(request, knob_of)),
        changes=tuple(_changes(request, knob_of)),
        places=tuple(_places(request, knob_of)),
    )
    return Check(breaches, prices, tuple(KnobTravel(knob, travels[knob]) for knob in on))


def follows(request: Request, layout: Layout, snapshot: str) -> tuple[str, ...]:
    """The knobs that follow the master in a snapshot, in panel order.

    A knob follows where more of its destinations are to move than to be held.
    """
    wanted = next(each for each in request.played if each.name == snapshot)
    moved = request.moved(wanted)
    balance: dict[str, int] = {}
    for route in layout.routes:
        step = 1 if route.destination in moved else -1
        balance[route.knob] = balance.get(route.knob, 0) + step
    return tuple(knob for knob in request.surface.knob_names if balance.get(knob, 0) > 0)


def _check_names(request: Request, layout: Layout) -> None:
    voices = {voice.name for voice in request.voices}
    for route in layout.routes:
        if route.destination not in request.destinations:
            raise InputError(
                "Layout.routes", route.destination, "name a voice/destination asked for"
            )
    for knob in [*(r.knob for r in layout.routes), *(t.knob for t in layout.travels)]:
        if knob not in request.surface.knob_names:
            raise InputError("Layout", knob, "name a knob of the surface")
    for place in layout.layers:
        if place.voice not in voices:
            raise InputError("Layout.layers", place.voice, "name a voice of the request")
    top = request.surface.top
    for setting in layout.travels:
        if max(setting.travel.start, setting.travel.end) > top:
            right = f"positions run from 0 to {top} at {request.surface.bits} bits"
            raise InputError(f"Layout.travels of {setting.knob!r}", setting.travel, right)


# What is demanded -------------------------------------------------------------------------------


def _breached_limits(
    request: Request, layout: Layout, on: dict[str, list[str]]
) -> Iterator[Breach]:
    surface = request.surface
    kept = {(route.destination, route.knob) for route in request.keep.routes}
    for name, destination in request.destinations.items():
        if destination.must_place and not any(name in names for names in on.values()):
            yield Breach(Demand(demands.PLACE, name), "it is left out")
    for knob in surface.reserved:
        added = [name for name in on.get(knob, ()) if (name, knob) not in kept]
        if added:
            yield Breach(Demand(demands.RESERVED, knob), f"it carries {_listed(added)}")
    if surface.destinations_per_knob is not None:
        for knob, names in on.items():
            if len(names) > surface.destinations_per_knob:
                demand = Demand(demands.PER_KNOB, surface.destinations_per_knob)
                yield Breach(demand, f"{knob} carries {len(names)}")
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
        elif layer != request.host_layers.get(voice.name, layer):
            kept = request.host_layers[voice.name]
            yield Breach(demand, f"it is kept at layer {kept} and stands at {layer}")
        else:
            taken[layer] = voice.name


def _breached_keeps(
    request: Request, knob_of: dict[str, str], travels: dict[str, Travel]
) -> Iterator[Breach]:
    kept_travels = {setting.knob: setting.travel for setting in request.keep.travels}
    for route in request.keep.routes:
        knob = knob_of.get(route.destination)
        if knob != route.knob:
            yield Breach(Demand(demands.KEEP, route), f"it is {_whereabouts(knob)}")
        elif knob in kept_travels and travels[knob] != kept_travels[knob]:
            found = f"the travel of {knob} is {travels[knob]}, not {kept_travels[knob]}"
            yield Breach(Demand(demands.KEEP, route), found)


def _breached_snapshots(request: Request, on: dict[str, list[str]]) -> Iterator[Breach]:
    for snapshot in request.played:
        if snapshot.break_weight is not None:
            continue
        moved = request.moved(snapshot)
        for knob, names in on.items():
            moving = [name for name in names if name in moved]
            held = [name for name in names if name not in moved]
            if moving and held:
                found = f"{_listed(moving)}, to be moved, and {_listed(held)}, to be held"
                yield Breach(Demand(demands.SEPARATE, snapshot.name), f"{knob} carries {found}")


def _breached_rules(
    request: Request, knob_of: dict[str, str], on: dict[str, list[str]]
) -> Iterator[Breach]:
    for rule in request.rules:
        if rule.weight is None:
            for found in _offences(request, rule, knob_of, on):
                yield Breach(Demand(demands.RULE, rule), found)


def _offences(
    request: Request, rule: Rule, knob_of: dict[str, str], on: dict[str, list[str]]
) -> Iterator[str]:
    """What a layout does against a rule, in words."""
    match rule:
        case Together(names=names):
            spread = {knob_of.get(name) for name in request.named(names)}
            if len(spread) > 1:
                yield f"they are {_listed(sorted(_whereabouts(knob) for knob in spread))}"
        case Apart(first=first, second=second):
            for one, other in _sharing_pairs(request, first, second, on):
                yield f"{one} and {other} are both on {knob_of[one]}"
        case Alone(names=names):
            for knob, outsiders in _intruded(request, names, on):
                yield f"{knob} carries {_listed(outsiders)} as well"
        case Fixed(names=names, knob=knob):
            off = [name for name in request.named(names) if knob_of.get(name) != knob]
            yield from (f"{name} is {_whereabouts(knob_of.get(name))}" for name in off)
        case Barred(names=names, knobs=knobs):
            barred = [name for name in request.named(names) if knob_of.get(name) in knobs]
            yield from (f"{name} is on {knob_of[name]}" for name in barred)


def _sharing_pairs(
    request: Request, first: tuple[str, ...], second: tuple[str, ...], on: dict[str, list[str]]
) -> list[tuple[str, str]]:
    """The pairs on one knob, one of ``first`` and one of ``second``, each pair once."""
    a, b = set(request.named(first)), set(request.named(second))
    return [
        (one, other)
        for names in on.values()
        for one, other in combinations(names, 2)
        if (one in a and other in b) or (one in b and other in a)
    ]


def _intruded(
    request: Request, names: tuple[str, ...], on: dict[str, list[str]]
) -> list[tuple[str, list[str]]]:
    """The knobs that carry both one of ``names`` and another, with the others."""
    inside = set(request.named(names))
    found = []
    for knob, carried in on.items():
        outsiders = [name for name in carried if name not in inside]
        if outsiders and len(outsiders) < len(carried):
            found.append((knob, outsiders))
    return found


# What it costs ----------------------------------------------------------------------------------


def _omissions(request: Request, knob_of: dict[str, str]) -> Iterator[Omission]:
    for name, destination in request.destinations.items():
        if name not in knob_of:
            yield Omission(name, request.weights.unplaced[destination.priority - 1])


def _breaks(request: Request, on: dict[str, list[str]]) -> Iterator[Break]:
    for snapshot in request.played:
        moved = request.moved(snapshot)
        for knob, names in on.items():
            moving = tuple(name for name in names if name in moved)
            held = tuple(name for name in names if name not in moved)
            if moving and held and snapshot.break_weight is not None:
                follows = len(moving) > len(held)
                wronged = held if follows else moving
                price = snapshot.break_weight * len(wronged)
                yield Break(snapshot.name, knob, follows, wronged, price)


def _travels(request: Request, layout: Layout, on: dict[str, list[str]]) -> dict[str, Travel]:
    given = {setting.knob: setting.travel for setting in layout.travels}
    kept = {setting.knob: setting.travel for setting in request.keep.travels}
    keeps = {route.knob for route in request.keep.routes}
    chosen = {}
    for knob, names in on.items():
        if knob in given:
            chosen[knob] = given[knob]
        elif knob in kept and knob in keeps:
            chosen[knob] = kept[knob]
        else:
            wanted = [request.wanted(name) for name in names]
            chosen[knob] = min(wanted, key=lambda travel: _travel_price(request, names, travel))
    return chosen


def _travel_price(request: Request, names: list[str], travel: Travel) -> int:
    price = 0
    for name in names:
        wanted = request.wanted(name)
        missed = abs(wanted.start - travel.start) + abs(wanted.end - travel.end)
        # Hundredths of full travel, to the nearest; a half is rounded up.
        hundredths = (200 * missed + request.surface.top) // (2 * request.surface.top)
        price += hundredths * request.weights.travel[request.destinations[name].priority - 1]
    return price


def _knob_price(request: Request, knob: str, names: list[str], travel: Travel) -> KnobPrice:
    weights = request.weights
    kinds = {request.destinations[name].kind for name in names}
    voices = {request.voice_of[name].name for name in names}
    apart = alone = 0
    for rule in request.rules:
        if isinstance(rule, Apart) and rule.weight is not None:
            pairs = _sharing_pairs(request, rule.first, rule.second, {knob: names})
            apart += rule.weight * len(pairs)
        if isinstance(rule, Alone) and rule.weight is not None:
            alone += rule.weight * len(_intruded(request, rule.names, {knob: names}))
    return KnobPrice(
        knob,
        mix_kinds=weights.mix_kinds * (len(kinds) - 1),
        mix_voices=weights.mix_voices * (len(voices) - 1),
        crowd=weights.crowd * (len(names) - 1),
        travel=_travel_price(request, names, travel),
        apart=apart,
        alone=alone,
    )


def _spreads(request: Request, knob_of: dict[str, str]) -> Iterator[SpreadPrice]:
    bundles: dict[tuple[str | None, str], list[str]] = {}
    for name, destination in request.destinations.items():
        if destination.source_knob is not None:
            source = request.voice_of[name].source
            bundles.setdefault((source, destination.source_knob), []).append(name)
    spread = [
        ("split", f"bundle of {knob} in {source or 'the host'}", names, request.weights.split)
        for (source, knob), names in bundles.items()
    ]
    spread += [
        ("together", str(rule), list(request.named(rule.names)), rule.weight)
        for rule in request.rules
        if isinstance(rule, Together) and rule.weight is not None
    ]
    for term, what, names, weight in spread:
        used = {knob_of[name] for name in names if name in knob_of}
        if len(used) > 1:
            knobs = tuple(knob for knob in request.surface.knob_names if knob in used)
            yield SpreadPrice(term, what, knobs, weight * (len(used) - 1))


def _changes(request: Request, knob_of: dict[str, str]) -> Iterator[Change]:
    for route in request.previous.routes if request.previous else ():
        if route.destination in request.destinations:
            now = knob_of.get(route.destination)
            if now != route.knob:
                yield Change(route.destination, route.knob, now)


def _places(request: Request, knob_of: dict[str, str]) -> Iterator[PlacePrice]:
    for place in _every_place(request, knob_of):
        if place.price:
            yield place


def _every_place(request: Request, knob_of: dict[str, str]) -> Iterator[PlacePrice]:
    weights, surface = request.weights, request.surface
    for term, each, words in (
        ("voice_runs", weights.voice_runs, request.voices),
        ("group_runs", weights.group_runs, request.groups),
    ):
        for word in words:
            runs = _runs(request, {knob_of.get(name) for name in request.named([word.name])})
            yield PlacePrice(term, word.name, each * max(0, runs - 1))
    steps = {knob: step for step, knob in enumerate(surface.reach_order)}
    usual = {kind for knob in surface.knobs for kind in knob.usual}
    for name, knob_name in knob_of.items():
        destination = request.destinations[name]
        price = weights.favour * steps[knob_name] * (5 - destination.priority)
        yield PlacePrice("favour", name, price)
        knob = surface.knobs[surface.knob_names.index(knob_name)]
        strange = destination.kind in usual and destination.kind not in knob.usual
        yield PlacePrice("habit", name, weights.habit if strange else 0)
    for rule in request.rules:
        if rule.weight is None or not isinstance(rule, Fixed | Barred):
            continue
        on = [knob_of[name] for name in request.named(rule.names) if name in knob_of]
        if isinstance(rule, Fixed):
            wrong = sum(1 for knob_name in on if knob_name != rule.knob)
            yield PlacePrice("fixed", str(rule), rule.weight * wrong)
        else:
            wrong = sum(1 for knob_name in on if knob_name in rule.knobs)
            yield PlacePrice("barred", str(rule), rule.weight * wrong)


def _runs(request: Request, used: set[str | None]) -> int:
    """How many runs of knobs side by side ``used`` falls into."""
    runs = 0
    before = None
    for knob in request.surface.knobs:
        if knob.name in used and not (before and before.name in used and before.beside(knob)):
            runs += 1
        before = knob
    return runs


def _whereabouts(knob: str | None) -> str:
    return f"on {knob}" if knob else "left out"


def _listed(names: list[str]) -> str:
    return ", ".join(names)
