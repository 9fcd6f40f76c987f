"""A source taken away again, and all that its coming changed put back."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import TypeVar

import attrs

from knobpack.setups.as_read import read
from knobpack.setups.wished_travels import with_travels
from knobpack.words import Arrival, KnobLabel, KnobPosition, MovedRoute, Route, Setup, Snapshot
from knobpack.words.fields import check_kind, check_name, check_named
from knobpack.words.names import voice_part
from knobpack.words.rules import rule_without
from knobpack.words.without import groups_left, snapshots_left

_OnKnob = TypeVar("_OnKnob", KnobLabel, KnobPosition)


def without_source(setup: Setup, source: str | Setup) -> Setup:
    """Take a source away again: what came with it goes, and what gave way to it comes back.

    Its voices go with their groups, routes and places in snapshots; the snapshots that were added
    with it go, and those that took it in are as they were; so are the travels, stored positions and
    labels of the knobs that it had, and the name. So of what came last exactly the setup is left
    that was there before. Where other sources came after it, what they still use stays.

    Args:
        setup: a setup that sources were brought to; of one that does not remember what came, the
            voices that say they came from there go.
        source: it, or the name that its voices have as their ``source``.

    Returns:
        A new setup. :class:`knobpack.Away` is the edit that does so, with its answer and sheet.

    Raises:
        InputError: ``setup`` is no Setup, or nothing in it came from there.

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack import combine
        >>> from knobpack.combination import without_source
        >>> piano, pad = (Voice(name, (Destination("level"),), 1) for name in ("Piano", "Pad"))
        >>> base, harbour = (
        ...     Setup(name, Surface.row(2), (voice,), routes=(Route(f"{voice.name}/level", "K1"),))
        ...     for name, voice in (("Evening set", piano), ("Harbour set", pad))
        ... )
        >>> without_source(combine(base, harbour).setup, "Harbour set") == base
        True
    """
    check_kind("without_source.setup", setup, Setup)
    source = source.name if isinstance(source, Setup) else source
    check_name("without_source.source", source)
    came = [each.source for each in setup.arrivals]
    known = dict.fromkeys((*came, *(v.source for v in setup.voices if v.source is not None)))
    check_named("without_source.source", source, known, "name a source that came to it")
    at = came.index(source) if source in came else len(came)
    before, after = setup.arrivals[:at], setup.arrivals[at + 1 :]
    arrival = setup.arrivals[at] if source in came else Arrival(source, setup.name)
    rest = without(setup, {voice.name for voice in setup.voices if voice.source == source})
    routes = rest.routes if after else _routes_back(rest.routes, arrival.routes)
    emptied = {route.knob for route in setup.routes} - {route.knob for route in routes}
    touched = set(emptied)
    if not after:
        touched |= {each.knob for each in arrival.travels}
        touched |= {knob for each in arrival.routes for knob in (each.route.knob, each.now) if knob}
    # A knob that it shared may have stood for what it put there.
    shared = touched | {route.knob for route in setup.routes if route not in routes}
    # What had a travel there is remembered: where nothing is, none was set.
    anew = set() if after else {each.route.knob for each in arrival.routes}
    # Of several that came at once the first remembers for all; its own memory counts first.
    records = (*after, *before[::-1], arrival)
    old = {each.knob: each for one in records for each in one.travels}
    were = {each.name: each for one in records for each in one.were}
    labels = next((each.labels for each in records[::-1] if each.labels), ())
    kept, handed = _snapshots(rest.snapshots, arrival, (*before, *after), handing=bool(after))
    found = attrs.evolve(
        rest,
        name=setup.name if after else arrival.base,
        routes=routes,
        travels=tuple(
            old.get(each.knob, each) if each.knob in touched else each
            for each in rest.travels
            if each.knob in old or each.knob not in emptied | anew
        ),
        labels=_put_back(rest.labels, labels, touched, touched if labels else emptied | anew),
        snapshots=tuple(_as_it_was(each, were.get(each.name), shared, emptied) for each in kept),
        arrivals=(*before, *_heirs(after, arrival, handed, emptied)),
    )
    return found if after else _unwished(found, arrival.wishes)


def without(setup: Setup, gone: Collection[str], undriven: Collection[str] = ()) -> Setup:
    """A setup without some voices and all that names them, and some destinations driven by nothing.

    Snapshots stay, though some may move nothing any more.

    Args:
        setup: the setup.
        gone: names of voices of it.
        undriven: full names of destinations, which stay in their voices.
    """
    groups, left = groups_left(setup.groups, lambda name: voice_part(name) in gone)
    names = {each.name for each in setup.groups}.difference(each.name for each in groups)
    names |= {*gone, *undriven}
    names |= {full for v in setup.voices if v.name in gone for full in v.by_full_name}
    rules = (rule_without(rule, names) for rule in setup.agreed)
    return attrs.evolve(
        setup,
        agreed=tuple(rule for rule in rules if rule is not None),
        voices=tuple(voice for voice in setup.voices if voice.name not in gone),
        groups=groups,
        routes=tuple(
            each
            for each in setup.routes
            if left((each.destination,)) and each.destination not in undriven
        ),
        snapshots=snapshots_left(setup.snapshots, left),
    )


def _unwished(setup: Setup, names: Iterable[str]) -> Setup:
    """A setup in which what has again the travel that it wished for has no wish any more."""
    reading = read(setup)
    goes = {route.destination: reading.led(route) for route in reading.routes}
    inner = reading.destinations
    had = {n: None for n in names if n in inner and goes.get(n, inner[n].travel) == inner[n].travel}
    return with_travels(setup, had) if had else setup


def _routes_back(routes: Sequence[Route], moved: Sequence[MovedRoute]) -> tuple[Route, ...]:
    """Routes with those that gave way where they were; what was moved again since stays there."""
    driven = {(route.destination, route.knob) for route in routes}
    coming = [m for m in moved if m.now is None or (m.route.destination, m.now) in driven]
    going = {(m.route.destination, m.now) for m in coming}
    found = [each for each in routes if (each.destination, each.knob) not in going]
    for each in coming:
        found.insert(each.place - 1, each.route)
    return tuple(found)


def _snapshots(
    snapshots: Sequence[Snapshot], arrival: Arrival, others: Sequence[Arrival], *, handing: bool
) -> tuple[list[Snapshot], tuple[str, ...]]:
    """The snapshots that stay; those of them that came with it and now belong to who came later."""
    shared = {name for other in others for name in other.snapshots}
    kept, handed = [], []
    for each in snapshots:
        if each.name in arrival.snapshots and each.name not in shared:
            if not handing or not each.moves:
                continue
            handed.append(each.name)
        kept.append(each)
    return kept, tuple(handed)


def _put_back(
    now: Sequence[_OnKnob], was: Sequence[_OnKnob], touched: Collection[str], gone: Collection[str]
) -> tuple[_OnKnob, ...]:
    """What is said of knobs, as it was for those that were touched; what was said keeps its order.

    What is said of knobs that are gone from it, and was not said, goes.
    """
    said = {each.knob: each for each in now}
    found: list[_OnKnob] = [
        each if each.knob in touched else said[each.knob]
        for each in was
        if each.knob in touched or each.knob in said
    ]
    known = {each.knob for each in was}
    found += [each for each in now if each.knob not in known and each.knob not in gone]
    return tuple(found)


def _as_it_was(
    snapshot: Snapshot, was: Snapshot | None, touched: Collection[str], emptied: Collection[str]
) -> Snapshot:
    old = () if was is None else was.positions
    gone = emptied if was is None else touched
    idle = () if was is None else was.idle
    return attrs.evolve(
        snapshot,
        positions=_put_back(snapshot.positions, old, touched, gone),
        idle=(
            *(knob for knob in idle if knob in touched or knob in snapshot.idle),
            *(knob for knob in snapshot.idle if knob not in idle),
        ),
    )


def _heirs(
    after: Sequence[Arrival], arrival: Arrival, snapshots: Iterable[str], emptied: Collection[str]
) -> tuple[Arrival, ...]:
    """Those that came later; the first of them remembers what the one that leaves did."""
    if not after:
        return ()
    heir = after[0]
    mine = {each.knob for each in heir.travels}
    newer = {each.name: each for each in heir.were}
    return (
        attrs.evolve(
            heir,
            base=arrival.base,
            snapshots=(*heir.snapshots, *snapshots),
            routes=(*heir.routes, *arrival.routes),
            travels=(
                *heir.travels,
                *(e for e in arrival.travels if e.knob not in mine and e.knob not in emptied),
            ),
            labels=arrival.labels or heir.labels,
            wishes=tuple(dict.fromkeys((*arrival.wishes, *heir.wishes))),
            were=tuple((newer | {each.name: each for each in arrival.were}).values()),
            at_once=arrival.at_once and heir.at_once,
        ),
        *after[1:],
    )
