"""Which features a request has, by name: to show that tests have met each of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from knobpack.words import Apart, Barred, Destination, Request, Travel, Voice
from knobpack.words.rules import RULES
from tests.oracles import masks
from tests.oracles.reading import read

ALL_FEATURES = frozenset(
    [
        *(
            f"{rule.__name__} {firmness}{on}"
            for rule in RULES
            for firmness in ("required", "preferred")
            for on in ("", " on a voice", " on a group", " on a destination")
        ),
        *(f"priority {priority}" for priority in range(1, 6)),
        "bundle of what is essential and what is not",
        "essential in several loads",
        "two rules",
        "Apart of what overlaps",
        "Barred from several knobs",
        "no knob",
        "one knob",
        "one row",
        "grid",
        "gap in a row",
        "14 bits",
        "destinations per knob",
        "routes",
        "layers",
        "too few layers",
        "stored snapshots",
        "too few stored snapshots",
        "reserved",
        "favoured",
        "usual kinds",
        "kept route",
        "kept route, kept travel",
        "kept route, free travel",
        "kept route on a reserved knob",
        "two kept routes on one knob",
        "kept travel without a route",
        "kept layer",
        "bundle",
        "bundle across voices",
        "bundle of a voice without a source",
        "bundle of what is hidden",
        "bundle of what moves and what never does",
        "place in a source",
        "two knobs of a source",
        "must be placed",
        "not movable",
        "stepped",
        "voice without destinations",
        "reversed travel",
        "half travel",
        "empty travel",
        "group",
        "nested group",
        "default snapshots",
        "no snapshots",
        "given snapshots",
        "overlapping snapshots",
        "snapshot that may be broken",
        "snapshot that may be broken for nothing",
        "firm and breakable snapshots",
        "snapshot that moves nothing",
        "several ways to stand where it is held",
        "previous layout",
        "previous layout, two routes on one knob",
        "previous layout with a travel",
        "previous layout names a gone destination",
        "previous layout names a gone knob",
        "weights",
        "zero weight",
        "contradicted by itself",
        "contradicted with what it is bound to",
    ]
)
"""Every feature that :func:`features` can name."""


def features(request: Request) -> frozenset[str]:
    """The names of the features that a request has, out of :data:`ALL_FEATURES`."""
    return frozenset(
        name
        for part in (_of_surface, _of_voices, _of_snapshots, _of_rules, _of_keep, _of_the_rest)
        for name, has in part(request)
        if has
    )


def _of_surface(request: Request) -> Iterator[tuple[str, bool]]:
    surface = request.surface
    knobs = surface.knobs
    rows = {knob.row for knob in knobs}
    pairs = pairwise(knobs)
    yield "no knob", not knobs
    yield "one knob", len(knobs) == 1
    yield "one row", len(rows) == 1 and len(knobs) > 1
    yield "grid", len(rows) > 1
    yield "gap in a row", any(a.row == b.row and b.column - a.column > 1 for a, b in pairs)
    yield "14 bits", surface.bits == 14
    yield "destinations per knob", surface.destinations_per_knob is not None
    yield "routes", surface.routes is not None
    yield "layers", surface.layers is not None
    yield "too few layers", surface.layers is not None and len(request.voices) > surface.layers
    stored = surface.snapshots
    yield "stored snapshots", stored is not None
    yield "too few stored snapshots", stored is not None and len(request.played) > stored
    yield "reserved", bool(surface.reserved)
    yield "favoured", bool(surface.favoured)
    yield "usual kinds", any(knob.usual for knob in knobs)


def _of_voices(request: Request) -> Iterator[tuple[str, bool]]:
    inner = list(request.by_full_name.values())
    for priority in range(1, 6):
        yield f"priority {priority}", any(each.priority == priority for each in inner)
    yield from _of_sources(request)
    yield "must be placed", any(each.must_place for each in inner)
    yield "not movable", any(not each.movable for each in inner)
    yield "stepped", any(each.steps is not None for each in inner)
    yield "voice without destinations", any(not voice.destinations for voice in request.voices)
    half = Travel(0, request.surface.top // 2)
    travels = [each.travel for each in inner if each.travel is not None]
    yield "reversed travel", any(travel.reversed for travel in travels)
    yield "half travel", half in travels
    yield "empty travel", any(travel.empty for travel in travels)
    names = {group.name for group in request.groups}
    yield "group", bool(names)
    yield "nested group", any(names.intersection(group.members) for group in request.groups)


def _of_sources(request: Request) -> Iterator[tuple[str, bool]]:
    carried: dict[tuple[str | None, str | None, str], list[tuple[Voice, Destination]]] = {}
    for voice in request.voices:
        own = None if voice.source is not None else voice.name
        for each in voice.destinations:
            if each.source_knob is not None:
                knob = (voice.source, own, each.source_knob)
                carried.setdefault(knob, []).append((voice, each))
    bound = [held for held in carried.values() if len(held) > 1]
    yield "bundle", bool(bound)
    yield (
        "bundle across voices",
        any(held[0][0] is not voice for held in bound for voice, _ in held),
    )
    yield "bundle of a voice without a source", any(held[0][0].source is None for held in bound)
    essential = [{each.priority == 1 for _, each in held} for held in bound]
    yield "bundle of what is essential and what is not", {True, False} in essential
    reading = read(request)
    dear = sum(1 << at for at, each in enumerate(reading.destinations) if each.priority == 1)
    several = sum(1 for load in reading.loads if load & dear) > 1
    yield "essential in several loads", several
    hidden = [all(each.priority == 5 for _, each in held) for held in bound]
    yield "bundle of what is hidden", any(hidden)
    movable = [{each.movable for _, each in held} for held in bound]
    yield "bundle of what moves and what never does", {True, False} in movable
    places = [each.source_place for held in carried.values() for _, each in held]
    yield "place in a source", any(place is not None for place in places)
    sources = [knob[:2] for knob in carried]
    yield "two knobs of a source", len(set(sources)) < len(sources)


def _of_snapshots(request: Request) -> Iterator[tuple[str, bool]]:
    given = request.snapshots or ()
    moved = [request.moved(snapshot) for snapshot in given]
    overlapping = any(
        a & b and a - b and b - a for position, a in enumerate(moved) for b in moved[position + 1 :]
    )
    weights = {snapshot.break_weight for snapshot in given}
    yield "default snapshots", request.snapshots is None
    yield "no snapshots", request.snapshots == ()
    yield "given snapshots", bool(given)
    yield "overlapping snapshots", overlapping
    yield "snapshot that may be broken", bool(weights - {None})
    yield "snapshot that may be broken for nothing", 0 in weights
    yield "firm and breakable snapshots", None in weights and len(weights) > 1
    yield "snapshot that moves nothing", frozenset() in moved
    yield "several ways to stand where it is held", len(request.stances) > 1


def _of_rules(request: Request) -> Iterator[tuple[str, bool]]:
    groups = {group.name for group in request.groups}
    yield "two rules", len(request.rules) > 1
    for rule in request.rules:
        called = f"{type(rule).__name__} {'required' if rule.weight is None else 'preferred'}"
        yield called, True
        for name in _names(rule):
            yield f"{called} on a group", name in groups
            yield f"{called} on a destination", "/" in name
            yield f"{called} on a voice", "/" not in name and name not in groups
        if isinstance(rule, Apart):
            both = set(request.named(rule.first)) & set(request.named(rule.second))
            yield "Apart of what overlaps", bool(both)
        if isinstance(rule, Barred):
            yield "Barred from several knobs", len(rule.knobs) > 1


def _names(rule: Any) -> tuple[str, ...]:
    return (*rule.first, *rule.second) if isinstance(rule, Apart) else rule.names


def _of_keep(request: Request) -> Iterator[tuple[str, bool]]:
    keep = request.keep
    on = [route.knob for route in keep.routes]
    set_to = {setting.knob for setting in keep.travels}
    yield "kept route", bool(on)
    yield "kept route, kept travel", bool(set_to.intersection(on))
    yield "kept route, free travel", bool(set(on) - set_to)
    yield "kept route on a reserved knob", bool(set(on).intersection(request.surface.reserved))
    yield "two kept routes on one knob", len(set(on)) < len(on)
    yield "kept travel without a route", bool(set_to.difference(on))
    yield "kept layer", bool(keep.layers)


def _of_the_rest(request: Request) -> Iterator[tuple[str, bool]]:
    previous = request.previous.routes if request.previous else ()
    knobs = request.surface.knob_names
    weights = request.weights
    single = [weights.mix_kinds, weights.mix_voices, weights.join, weights.heap]
    single += [weights.essential, weights.company, weights.held, weights.crowd]
    yield "previous layout", bool(previous)
    on = [route.knob for route in previous]
    yield "previous layout, two routes on one knob", len(set(on)) < len(on)
    had = {each.knob for each in request.previous.travels} if request.previous else set()
    yield "previous layout with a travel", bool(had.intersection(on))
    gone = any(route.destination not in request.by_full_name for route in previous)
    yield "previous layout names a gone destination", gone
    yield "previous layout names a gone knob", any(r.knob not in knobs for r in previous)
    yield "weights", weights != type(weights)()
    yield "zero weight", 0 in (*single, weights.sequence, *weights.unplaced, *weights.travel)
    yield from _of_contradictions(request)


def _of_contradictions(request: Request) -> Iterator[tuple[str, bool]]:
    """Of what no knob could take, whatever else is left out."""
    units = masks.contradicted(read(request))
    yield "contradicted by itself", any(unit.bit_count() == 1 for unit in units)
    yield "contradicted with what it is bound to", any(unit.bit_count() > 1 for unit in units)
