"""Difference: the steps from one setup to another, one for each thing that differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import partial
from typing import Any

import attrs

from knobpack.grouped import grouped
from knobpack.setup_as_read import Reading, read
from knobpack.sheets import steps
from knobpack.sheets.replay import alike, bare
from knobpack.sheets.steps import Step, Value
from knobpack.words import Route, Setup

STAGE = {
    steps.TRAVEL: steps.TRAVELS,
    steps.LABEL: steps.PANEL,
    steps.SENDING: steps.PANEL,
    steps.POSITION: steps.SNAPSHOTS,
}
"""The headings that steps of single knobs stand under."""


def steps_between(before: Setup, after: Setup) -> tuple[Step, ...]:
    """All steps, in the order of the stages. Both setups have one surface.

    The things that can differ are: each voice, group and snapshot by its name, the travel of each
    knob, what it shows and what it sends, each route, as often as it is there, and its travel, each
    position of a snapshot that is there when all is done, and the name of the setup. A step sets
    one of them, so there must be at least one for each that differs. There is exactly one: it goes
    straight from what is there to what is to be there.
    """
    taken = {voice.name for voice in after.voices}
    there = {voice.full_name(inner) for voice in before.voices for inner in voice.destinations}
    away = list(_away(before, after))
    grouped = list(_groups(before, after))
    idle = [step for step in away if step.before not in there]
    in_way = [step for step in grouped if step.after is None and step.where in taken]
    return (
        *(attrs.evolve(step, stage=steps.CLEAR) for step in (*idle, *in_way)),
        *_voices(before, after),
        *(step for step in away if step.before in there),
        *_travels(before, after),
        *_added(before, after),
        *_panel(before, after),
        *(step for step in grouped if step.after is not None or step.where not in taken),
        *_snapshots(before, after),
        *_name(before, after),
    )


def _voices(before: Setup, after: Setup) -> Iterator[Step]:
    """Those that go first, so that layers are free; then each when what leaves its layer has."""
    make = partial(Step, steps.VOICE, stage=steps.VOICES, top=after.surface.top)
    old = {voice.name: voice for voice in before.voices}
    new = {voice.name: voice for voice in after.voices}
    at: dict[int | None, dict[str, None]] = {}
    for voice in before.voices:
        if voice.name not in new:
            yield make(voice.name, voice, None)
        else:
            at.setdefault(voice.layer, {})[voice.name] = None
    differing = [name for name in new if not alike(old.get(name), new[name])]
    leaving = {name for name in differing if name in old and old[name].layer != new[name].layer}
    waits = {
        name: [
            other
            for other in at.get(new[name].layer, ())
            if other in leaving and new[name].layer is not None
        ]
        for name in differing
    }
    for name in _after_needs(differing, waits):
        was, voice = old.get(name), new[name]
        if was is not None:
            del at[was.layer][name]
        there = at.setdefault(voice.layer, {})
        comes = voice.layer is not None and (was is None or was.layer != voice.layer)
        yield make(name, was, voice, beside=tuple(there) if comes else ())
        there[name] = None


def _away(before: Setup, after: Setup) -> Iterator[Step]:
    there, gone = Counter(before.routes), _changes(before, after).gone
    for route in _by_panel(before, gone):
        for count in range(gone[route]):
            step = _route(before, route, steps.AWAY, there[route] - count)
            yield attrs.evolve(step, before=route.destination)


def _added(before: Setup, after: Setup) -> Iterator[Step]:
    there, come = Counter(before.routes), _changes(before, after).come
    for route in _by_panel(after, come):
        for count in range(come[route]):
            step = _route(after, route, steps.ROUTES, there[route] + count)
            yield attrs.evolve(step, after=route.destination)


def _route(setup: Setup, route: Route, stage: str, same: int) -> Step:
    """What is told of a route, whether it comes or goes."""
    name = route.destination
    layers = (v.layer for v in setup.voices if name in map(v.full_name, v.destinations))
    layer, top = next(layers, None), setup.surface.top
    return Step(steps.ROUTE, route.knob, None, None, stage, top, layer, same, travel=route.travel)


@attrs.frozen
class _Changes:
    """The routes that go, how often each; those that come; those that get another travel."""

    gone: Counter[Route]
    come: Counter[Route]
    set_anew: tuple[tuple[Route, Route], ...]


def _changes(before: Setup, after: Setup) -> _Changes:
    gone = Counter(before.routes) - Counter(after.routes)
    come = Counter(after.routes) - Counter(before.routes)
    going = grouped(((route.knob, route.destination), route) for route in gone.elements())
    pairs = []
    for route in list(come.elements()):
        same = going.get((route.knob, route.destination))
        if same:
            pairs.append((same.pop(0), route))
    for one, other in pairs:
        gone[one] -= 1
        come[other] -= 1
    return _Changes(+gone, +come, tuple(pairs))


def _by_knob(
    what: str, old: Mapping[str, Value], new: Mapping[str, Value], after: Setup, **more: Any
) -> Iterator[Step]:
    """What is set of knobs, as it was and is to be, in panel order."""
    for knob in dict.fromkeys((*after.surface.knob_names, *old, *new)):
        was, becomes = old.get(knob), new.get(knob)
        if was != becomes:
            yield Step(what, knob, was, becomes, STAGE[what], after.surface.top, **more)


def _travels(before: Setup, after: Setup) -> Iterator[Step]:
    old, new = ({each.knob: each.travel for each in it.travels} for it in (before, after))
    yield from _by_knob(steps.TRAVEL, old, new, after)
    make = partial(Step, steps.TRAVEL, stage=steps.TRAVELS, top=after.surface.top)
    for one, other in _changes(before, after).set_anew:
        yield make(one.knob, one.travel, other.travel, destination=one.destination)


def _panel(before: Setup, after: Setup) -> list[Step]:
    """What each knob shows and sends, knob by knob."""
    shows = [{each.knob: each.label for each in setup.labels} for setup in (before, after)]
    sends = [{each.knob: each for each in setup.sending} for setup in (before, after)]
    place = {knob: at for at, knob in enumerate((*after.surface.knob_names, *shows[0], *shows[1]))}
    found = list(_by_knob(steps.LABEL, shows[0], shows[1], after))
    found += _by_knob(steps.SENDING, sends[0], sends[1], after)
    return sorted(found, key=lambda step: place.get(step.where, len(place)))


def _groups(before: Setup, after: Setup) -> Iterator[Step]:
    """Each when the groups that it names are stored; those that go when none names them."""
    make = partial(Step, steps.GROUP, stage=steps.GROUPS, top=after.surface.top)
    old = {group.name: group for group in before.groups}
    new = {group.name: group for group in after.groups}
    differing = [name for name in new if not alike(old.get(name), new[name])]
    inner = {name: new[name].members for name in differing}
    for name in _after_needs(differing, inner):
        yield make(name, old.get(name), new[name])
    for name, group in old.items():
        if name not in new:
            yield make(name, group, None)


def _snapshots(before: Setup, after: Setup) -> Iterator[Step]:
    """Those that go first, so that there is room for new ones; then each with its positions."""
    make = partial(Step, steps.SNAPSHOT, stage=steps.SNAPSHOTS, top=after.surface.top)
    reading = read(after)
    old = {snapshot.name: snapshot for snapshot in before.snapshots}
    new = {snapshot.name: snapshot for snapshot in after.snapshots}
    for name, snapshot in old.items():
        if name not in new:
            yield make(name, bare(snapshot), None)
    for name, snapshot in new.items():
        was = bare(old[name]) if name in old else None
        if not alike(was, bare(snapshot)):
            yield make(name, was, bare(snapshot), knobs=reading.play(snapshot).follows)
        if name in old:
            stored = old[name].stored
            yield from _by_knob(steps.POSITION, stored, snapshot.stored, after, snapshot=name)
        else:
            for step in _by_knob(steps.POSITION, {}, snapshot.stored, after, snapshot=name):
                held = _held(before, reading, step.where, step.after)
                yield attrs.evolve(step, added=True, held=held)


def _held(before: Setup, after: Reading, knob: str, position: Value) -> str:
    """What a knob is to drive and every snapshot that was there and held it put where it is to be.

    Nothing where there is no such destination: the most important that was there comes first.
    """
    was = read(before)
    plays = () if was.assumed else was.plays
    names = [name for name in after.carries.get(knob, ()) if was.knobs_of.get(name)]
    for name in sorted(names, key=lambda each: was.destinations[each].priority):
        old = was.knobs_of[name][0]
        places = {was.stands(play).get(old) for play in plays if old not in play.follows}
        if places == {position}:
            return name
    return ""


def _name(before: Setup, after: Setup) -> Iterator[Step]:
    if before.name != after.name:
        top = after.surface.top
        yield Step(steps.NAME, before.name, before.name, after.name, steps.STORE, top)


def _by_panel(setup: Setup, routes: Iterable[Route]) -> list[Route]:
    """Routes in the order of their knobs on the panel, those of no knob last."""
    place = {knob: number for number, knob in enumerate(setup.surface.knob_names)}
    return sorted(routes, key=lambda route: place.get(route.knob, len(place)))


def _after_needs(names: Iterable[str], needs: Mapping[str, Iterable[str]]) -> list[str]:
    """Names in their order, but each after those it needs; circles are cut where they are met.

    Without recursion, as a chain may be as long as there are names.
    """
    found: dict[str, None] = {}
    met: set[str] = set()
    for first in names:
        if first in met:
            continue
        met.add(first)
        path = [(first, iter(needs[first]))]
        while path:
            name, waiting = path[-1]
            for other in waiting:
                if other in needs and other not in met:
                    met.add(other)
                    path.append((other, iter(needs[other])))
                    break
            else:
                found[name] = None
                path.pop()
    return list(found)
