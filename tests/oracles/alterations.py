"""Requests made from requests, such that something is known of the two answers.

No answer is looked at here. Edits that knobpack offers itself (``knobpack.words.edits``) are used
where they do, so they are tried as well.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable
from typing import Any, TypeVar, cast

import attrs

from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Knob,
    KnobPosition,
    Layout,
    Request,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)

T = TypeVar("T")

MOST_WEIGHT = 10_000
LAYOUT_WEIGHTS = ("sequence", "voice_runs", "group_runs", "favour", "habit")

Carried = list[tuple[str, ...]]
"""What each knob of a source carried, by full name, the knobs in its order."""


def drawn(request: Request) -> list[Carried]:
    """For each source, or voice without one, what its knobs carried.

    A knob lies where the first of its destinations that knows says; those of which none does come
    after all that lie somewhere.
    """
    sources: dict[str, dict[str, list[str]]] = {}
    lies: dict[tuple[str, str], int] = {}
    for voice in request.voices:
        # No name holds a slash, so no source is called as these are.
        own = f"/{voice.name}" if voice.source is None else voice.source
        for each in voice.destinations:
            if each.source_knob is not None:
                knobs = sources.setdefault(own, {})
                knobs.setdefault(each.source_knob, []).append(f"{voice.name}/{each.name}")
                if each.source_place is not None:
                    lies.setdefault((own, each.source_knob), each.source_place)
    found = []
    for own, knobs in sources.items():
        told = sorted(
            (knob for knob in knobs if (own, knob) in lies), key=lambda knob: lies[own, knob]
        )
        told += [knob for knob in knobs if (own, knob) not in lies]
        found.append([tuple(knobs[knob]) for knob in told])
    return found


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


def scaled(request: Request, factors: tuple[int, int, int, int]) -> Request:
    """Every weight times a factor of its tier: unplaced, independence, sharing, layout.

    A miss of travel is rounded to hundredths before its rate is applied, so nothing is rounded
    anew, and the factor comes out whole.
    """
    unplaced, independence, sharing, layout = factors
    weights: dict[str, Any] = {}
    for field in attrs.fields(Weights):
        old = getattr(request.weights, field.name)
        by = layout if field.name in LAYOUT_WEIGHTS else sharing
        by = unplaced if field.name == "unplaced" else by
        weights[field.name] = (
            tuple(by * each for each in old) if isinstance(old, tuple) else by * old
        )
    return attrs.evolve(
        request,
        weights=Weights(**weights),
        rules=tuple(
            rule
            if rule.weight is None
            else attrs.evolve(
                cast("Any", rule),
                weight=rule.weight * (layout if isinstance(rule, Fixed | Barred) else sharing),
            )
            for rule in request.rules
        ),
        snapshots=tuple(
            each
            if each.break_weight is None
            else attrs.evolve(each, break_weight=each.break_weight * independence)
            for each in request.played
        ),
    )


def weights_of(request: Request) -> list[int]:
    """Every weight in a request."""
    found: list[int] = []
    for field in attrs.fields(Weights):
        value = getattr(request.weights, field.name)
        found += value if isinstance(value, tuple) else [value]
    found += [rule.weight or 0 for rule in request.rules]
    return found + [each.break_weight or 0 for each in request.played]


def with_reserved_knob(request: Request) -> Request:
    """A knob more at the end of the panel, in a row of its own, that takes no route."""
    surface = request.surface
    last = Knob("Not to be used", 1 + max((knob.row for knob in surface.knobs), default=0))
    wider = attrs.evolve(
        surface, knobs=(*surface.knobs, last), reserved=(*surface.reserved, last.name)
    )
    return attrs.evolve(request, surface=wider)


def mirrored(request: Request, left_right: bool, top_bottom: bool) -> Request:
    """The panel in a mirror, left for right, top for bottom or both; each knob as easy to reach."""
    surface = request.surface
    rows = max((knob.row for knob in surface.knobs), default=0)
    columns = max((knob.column for knob in surface.knobs), default=0)
    turned = [
        attrs.evolve(
            knob,
            row=rows + 1 - knob.row if top_bottom else knob.row,
            column=columns + 1 - knob.column if left_right else knob.column,
        )
        for knob in surface.knobs
    ]
    knobs = tuple(sorted(turned, key=lambda knob: (knob.row, knob.column)))
    other = attrs.evolve(surface, knobs=knobs, favoured=surface.reach_order)
    return attrs.evolve(request, surface=other)


def backwards(request: Request) -> Request:
    """Every source with its knobs in the opposite order."""
    place = {
        name: position
        for own in drawn(request)
        for position, names in enumerate(reversed(own), 1)
        for name in names
    }
    return attrs.evolve(
        request,
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(
                    attrs.evolve(each, source_place=place.get(voice.full_name(each)))
                    for each in voice.destinations
                ),
            )
            for voice in request.voices
        ),
    )


def without_sequence(request: Request) -> Request:
    """The request where it costs nothing that a source is laid out in another order."""
    return attrs.evolve(request, weights=attrs.evolve(request.weights, sequence=0))


def with_nothing_hidden(request: Request) -> Request:
    """The request with all that is hidden at a low priority."""

    def shown(each: Destination) -> Destination:
        return attrs.evolve(each, priority=min(4, each.priority))

    voices = (
        attrs.evolve(voice, destinations=tuple(map(shown, voice.destinations)))
        for voice in request.voices
    )
    return attrs.evolve(request, voices=tuple(voices))


def with_something_hidden(request: Request, draw: random.Random) -> Request:
    """A voice more, of one hidden destination that nothing names."""
    travel = draw.choice((None, Travel(0, 0), Travel(request.surface.top, 0)))
    extra = Destination("one more", draw.choice(("cutoff", "level", "pan")), 5, travel)
    voices = list(request.voices)
    voices.insert(draw.randint(0, len(voices)), Voice("Hidden voice", (extra,)))
    return attrs.evolve(request, voices=tuple(voices))


def with_bundles_required(request: Request) -> Request:
    """The request with a rule that demands each bundle whole, but those that may be left out."""
    bundles = [names for own in drawn(request) for names in own if len(names) > 1]
    rules = [Together(names) for names in bundles if not request.expendable.issuperset(names)]
    return attrs.evolve(request, snapshots=request.played, rules=(*request.rules, *rules))


def at_bits(request: Request, bits: int) -> Request:
    """All travels and positions taken to the ends of the range, at a resolution."""
    half, top = request.surface.top / 2, int(2**bits) - 1

    def taken(position: int) -> int:
        return top if position > half else 0

    def changed(value: Any) -> Any:
        if isinstance(value, Travel):
            return Travel(taken(value.start), taken(value.end))
        if isinstance(value, KnobPosition):
            return attrs.evolve(value, position=taken(value.position))
        if isinstance(value, tuple):
            return tuple(map(changed, value))
        if isinstance(value, Surface):
            return attrs.evolve(value, bits=bits)
        if attrs.has(type(value)):
            names = [field.name for field in attrs.fields(type(value))]
            return attrs.evolve(value, **{name: changed(getattr(value, name)) for name in names})
        return value

    return changed(request)  # type: ignore[no-any-return]


def with_nothing_held(request: Request) -> Request:
    """The same, but that it costs nothing how things stand where they are held."""
    return attrs.evolve(request, weights=attrs.evolve(request.weights, held=0))


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
            snapshots=[attrs.evolve(each, positions=()) for each in request.played],
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


def asked_twice(request: Request) -> Request:
    """What is required is asked for once more: rules as they are, firm snapshots by new names."""
    firm = [each for each in request.played if each.break_weight is None]
    again = tuple(attrs.evolve(each, name=f"{each.name} again") for each in firm)
    return attrs.evolve(
        request,
        surface=attrs.evolve(request.surface, snapshots=None),
        rules=(*request.rules, *(rule for rule in request.rules if rule.weight is None)),
        snapshots=(*request.played, *again),
    )
