"""Edits: a request with one thing more or less, everything that names it put right.

Each function returns a new request. What is taken away goes from wherever it is named: a rule,
group or kept route that is left with nothing to name goes too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import TypeVar

import attrs

from knobpack.errors import InputError
from knobpack.words import converters, fields
from knobpack.words import demand as words
from knobpack.words.demand import Demand, demands_of, rules_and_snapshots
from knobpack.words.layout import Route
from knobpack.words.request import Request, check_asked
from knobpack.words.rules import Rule, rule_on
from knobpack.words.snapshot import Snapshot
from knobpack.words.surface import Knob, Surface
from knobpack.words.voice import Destination, Voice
from knobpack.words.without import without_names

__all__ = [
    "given_up",
    "only",
    "placed",
    "with_knobs",
    "with_rule",
    "with_snapshot",
    "with_voice",
    "without_knob",
    "without_rule",
    "without_snapshot",
    "without_voice",
]

_Named = TypeVar("_Named", Voice, Snapshot)


def with_knobs(request: Request, more: int = 1) -> Request:
    """The request on a surface with more knobs, in a row of their own, that nothing names.

    Args:
        request: what is asked.
        more: how many, 0 or more.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, ``more`` no such number, or the surface would have
            more knobs than a surface can.
    """
    fields.check_kind("with_knobs.request", request, Request)
    if isinstance(more, bool) or not isinstance(more, int) or more < 0:
        raise InputError("with_knobs.more", more, "give a whole number, 0 or more")
    return attrs.evolve(request, surface=_wider(request.surface, more))


def _wider(surface: Surface, more: int) -> Surface:
    row = 1 + max((knob.row for knob in surface.knobs), default=0)
    if max(row, len(surface.knobs) + more) > fields.MOST_ITEMS:
        right = f"a surface has at most {fields.MOST_ITEMS} knobs and rows"
        raise InputError("with_knobs.more", more, right)
    taken = set(surface.knob_names)
    names = (f"new {number}" for number in range(1, len(taken) + more + 1))
    free = [name for name in names if name not in taken][:more]
    knobs = (*surface.knobs, *(Knob(name, row, place) for place, name in enumerate(free, 1)))
    return attrs.evolve(surface, knobs=knobs)


def without_knob(request: Request, knob: str | Knob) -> Request:
    """The request on a surface without one knob: nothing is kept, fixed or stored there any more.

    Args:
        request: what is asked.
        knob: the knob, or its name.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or its surface has no such knob.
    """
    fields.check_kind("without_knob.request", request, Request)
    surface, knob = request.surface, converters.knob_name(knob)
    fields.check_named("without_knob.knob", knob, surface.knob_names, "name a knob of the surface")
    smaller = attrs.evolve(
        surface,
        knobs=tuple(each for each in surface.knobs if each.name != knob),
        favoured=tuple(name for name in surface.favoured if name != knob),
        reserved=tuple(name for name in surface.reserved if name != knob),
    )
    there = {name: name for name in smaller.knob_names}
    left = (rule_on(rule, there) for rule in request.rules)
    rules = tuple(rule for rule in left if rule is not None)
    keep = attrs.evolve(
        request.keep,
        routes=tuple(route for route in request.keep.routes if route.knob != knob),
        travels=tuple(setting for setting in request.keep.travels if setting.knob != knob),
    )
    snapshots = request.snapshots
    if snapshots is not None:
        snapshots = tuple(_without_knob(each, knob) for each in snapshots)
    return attrs.evolve(request, surface=smaller, rules=rules, keep=keep, snapshots=snapshots)


def _without_knob(snapshot: Snapshot, knob: str) -> Snapshot:
    positions = tuple(each for each in snapshot.positions if each.knob != knob)
    idle = tuple(name for name in snapshot.idle if name != knob)
    return attrs.evolve(snapshot, positions=positions, idle=idle)


def with_rule(request: Request, rule: Rule) -> Request:
    """The request with one rule more.

    Args:
        request: what is asked.
        rule: the rule; it comes last.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or ``rule`` no rule, or it names what the
            request does not have.
    """
    fields.check_kind("with_rule.request", request, Request)
    return attrs.evolve(request, rules=(*request.rules, rule))


def without_rule(request: Request, rule: Rule) -> Request:
    """The request without a rule, however often it was laid down.

    Args:
        request: what is asked.
        rule: an equal rule.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or has no such rule.
    """
    fields.check_kind("without_rule.request", request, Request)
    if rule not in request.rules:
        raise InputError("without_rule.rule", rule, "give a rule of the request")
    return attrs.evolve(request, rules=tuple(each for each in request.rules if each != rule))


def with_snapshot(request: Request, snapshot: Snapshot) -> Request:
    """The request with one snapshot more, the default ones being asked for if they were played.

    Args:
        request: what is asked.
        snapshot: the snapshot; it comes last.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or ``snapshot`` no Snapshot, its name is taken, or
            it names what the request does not have.
    """
    fields.check_kind("with_snapshot.request", request, Request)
    return attrs.evolve(request, snapshots=(*request.played, snapshot))


def without_snapshot(request: Request, name: str | Snapshot) -> Request:
    """The request without one snapshot.

    Args:
        request: what is asked.
        name: the snapshot, or its name.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or has no such snapshot.
    """
    fields.check_kind("without_snapshot.request", request, Request)
    name = converters.snapshot_name(name)
    return attrs.evolve(request, snapshots=_without(request.played, name, "snapshot"))


def with_voice(
    request: Request, voice: Voice, moves_in: str | Snapshot | Iterable[str | Snapshot] = ()
) -> Request:
    """The request with one voice more.

    Args:
        request: what is asked.
        voice: the voice.
        moves_in: the snapshots in which it moves with the master.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or ``voice`` no Voice, there is no such snapshot, or
            the voice does not fit into the request.
    """
    fields.check_kind("with_voice.request", request, Request)
    names = fields.as_names("with_voice.moves_in", moves_in, converters.snapshot_names)
    known = [snapshot.name for snapshot in request.played]
    for name in names:
        fields.check_named("moves_in", name, known, "name snapshots of the request")
    snapshots = request.snapshots
    if names:
        snapshots = tuple(
            attrs.evolve(each, moves=(*each.moves, voice.name)) if each.name in names else each
            for each in request.played
        )
    return attrs.evolve(request, voices=(*request.voices, voice), snapshots=snapshots)


def without_voice(request: Request, name: str | Voice) -> Request:
    """The request without one voice and all it brought.

    Args:
        request: what is asked.
        name: the voice, or its name.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, or has no such voice.
    """
    fields.check_kind("without_voice.request", request, Request)
    name = converters.voice_name(name)
    voices = _without(request.voices, name, "voice")
    gone = {name, *request.members[name]}
    return without_names(request, voices, gone)


def only(request: Request, destinations: Collection[str]) -> Request:
    """The request for some of its destinations alone; every voice stays, if only in name.

    Args:
        request: what is asked.
        destinations: the full names of those that stay.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, ``destinations`` no list of names, or one of them
            names nothing that is there.
    """
    fields.check_kind("only.request", request, Request)
    stay = _named("only.destinations", destinations, request)
    voices = _voices(request, lambda full, inner: (inner,) if full in stay else ())
    # The default snapshots are those of the whole request, not of what is left of it.
    whole = attrs.evolve(request, snapshots=request.played)
    return without_names(whole, voices, set(request.by_full_name) - stay)


def placed(request: Request, destinations: Collection[str] | None = None) -> Request:
    """The request with some destinations that must be placed, or all of them.

    Args:
        request: what is asked.
        destinations: full names; None: all.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, ``destinations`` no list of names, or one of them
            names nothing that is there.
    """
    fields.check_kind("placed.request", request, Request)
    named = request.by_full_name if destinations is None else destinations
    must = _named("placed.destinations", named, request)
    return attrs.evolve(request, voices=_placed(request, must, must_place=True))


def given_up(request: Request, demand: Demand) -> Request:
    """The request without one of its demands.

    Args:
        request: what is asked.
        demand: one of its demands, such as ``clash.demands[0]``, or the ``demand`` of a price: also
            a rule that is preferred, and a snapshot that may be broken.

    Returns:
        A new request.

    Raises:
        InputError: ``request`` is no Request, makes no such demand, or giving it up takes another
            surface.
    """
    fields.check_kind("given_up.request", request, Request)
    known = (*demands_of(request), *rules_and_snapshots(request))
    found = _given_up(request, demand) if demand in known else None
    if found is None:
        raise InputError("given_up.demand", demand, "give a demand of it that can be given up")
    return found


def _given_up(request: Request, demand: Demand) -> Request | None:
    freer = None
    match demand.kind, demand.subject:
        case words.PLACE, name if name in request.by_full_name:
            return attrs.evolve(request, voices=_placed(request, (name,), must_place=False))
        case words.RULE, rule if rule in request.rules:
            return without_rule(request, rule)
        case ((words.SEPARATE | words.STORE), name):
            return without_snapshot(request, name)
        case words.KEEP, Route() as route if route in request.keep.routes:
            left = tuple(each for each in request.keep.routes if each != route)
            return attrs.evolve(request, keep=attrs.evolve(request.keep, routes=left))
        case words.LAYER, name:
            return without_voice(request, name)
        case words.PER_KNOB, _:
            freer = attrs.evolve(request.surface, destinations_per_knob=None)
        case words.ROUTES, _:
            freer = attrs.evolve(request.surface, routes=None)
        case words.RESERVED, knob:
            reserved = tuple(each for each in request.surface.reserved if each != knob)
            freer = attrs.evolve(request.surface, reserved=reserved)
    return None if freer is None else attrs.evolve(request, surface=freer)


def _placed(request: Request, names: Collection[str], *, must_place: bool) -> tuple[Voice, ...]:
    """The voices with these destinations, by full name, that must be placed or need not be."""

    def change(full: str, inner: Destination) -> tuple[Destination, ...]:
        if full not in names or inner.must_place == must_place:
            return (inner,)
        return (attrs.evolve(inner, must_place=must_place),)

    return _voices(request, change)


def _voices(
    request: Request, change: Callable[[str, Destination], tuple[Destination, ...]]
) -> tuple[Voice, ...]:
    """The voices with other destinations: ``change`` says what one of a full name becomes."""
    found = []
    for voice in request.voices:
        changed = (change(voice.full_name(inner), inner) for inner in voice.destinations)
        made = tuple(each for several in changed for each in several)
        same = made == voice.destinations
        found.append(voice if same else attrs.evolve(voice, destinations=made))
    return tuple(found)


def _without(those: tuple[_Named, ...], name: str, what: str) -> tuple[_Named, ...]:
    known = [each.name for each in those]
    fields.check_named(f"without_{what}.name", name, known, f"name a {what} of the request")
    return tuple(each for each in those if each.name != name)


def _named(where: str, given: object, request: Request) -> set[str]:
    names = fields.as_names(where, given)
    for position, name in enumerate(names):
        check_asked(f"{where}[{position}]", name, request)
    return set(names)
