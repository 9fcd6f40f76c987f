"""Difference: the steps from one setup to another, one for each thing that differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import partial
from typing import Any

import attrs

from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.setups.as_read import Reading, read
from knobpack.sheets import steps
from knobpack.sheets.steps import Step, Value
from knobpack.words import Group, Route, Setup, Snapshot, Voice


def same_in_any_order(one: Value, other: Value) -> bool:
    """Whether two values are the same but for wishes and the order of what they list."""
    return bool(in_name_order(one) == in_name_order(other))


def in_name_order(value: Any) -> Any:
    """A value, what it lists in the order of names, but for wishes."""
    match value:
        case Voice():
            inner = (attrs.evolve(each, travel=None) for each in value.destinations)
            return attrs.evolve(value, destinations=by_name(inner))
        case Group():
            return attrs.evolve(value, members=tuple(sorted(value.members)))
        case Snapshot():
            return attrs.evolve(
                value,
                moves=tuple(sorted(value.moves)),
                silent=tuple(sorted(value.silent)),
                idle=tuple(sorted(value.idle)),
                positions=tuple(sorted(value.positions, key=lambda each: each.knob)),
            )
    return value


def by_name(words: Iterable[Any]) -> tuple[Any, ...]:
    """Some words in the order of their names."""
    return tuple(sorted(words, key=lambda word: word.name))


def parts_of(setup: Setup) -> dict[str, dict[str, Any]]:
    """What a setup holds of each sort of step, by the names that such steps are about."""
    return {
        steps.VOICE: {voice.name: voice for voice in setup.voices},
        steps.GROUP: {group.name: group for group in setup.groups},
        # Each position is set by a step of its own.
        steps.SNAPSHOT: {each.name: attrs.evolve(each, positions=()) for each in setup.snapshots},
        steps.TRAVEL: {setting.knob: setting.travel for setting in setup.travels},
        steps.LABEL: {each.knob: each.label for each in setup.labels},
        steps.SENDING: {each.knob: each for each in setup.sending},
    }


STAGE = {
    steps.TRAVEL: steps.TRAVELS,
    steps.LABEL: steps.PANEL,
    steps.SENDING: steps.PANEL,
    steps.POSITION: steps.SNAPSHOTS,
}
"""The headings that steps of single knobs stand under."""

_Make = Callable[..., Step]


def steps_between(before: Setup, after: Setup) -> tuple[Step, ...]:
    """All steps, in the order of the stages. Both setups have one surface.

    The things that can differ are: each voice, group and snapshot by its name, the travel of each
    knob, what it shows and what it sends, each route, as often as it is there, and its travel, each
    position of a snapshot that is there when all is done, and the name of the setup. What a setup
    says of a knob that is not there cannot be set, and takes no step. A step sets one of them, so
    there must be at least one for each that differs. There is exactly one: it goes straight from
    what is there to what is to be there. Last come those by which nothing is set on the instrument.
    """
    before, after = on_surface(before), on_surface(after)
    taken = {voice.name for voice in after.voices}
    there = {full for voice in before.voices for full in voice.by_full_name}
    both = _Both(before, after, parts_of(before), parts_of(after))
    away = list(_away(before, after))
    grouped = list(_groups(both))
    idle = [step for step in away if step.before not in there]
    in_way = [step for step in grouped if step.after is None and step.where in taken]
    every = (
        *(attrs.evolve(step, stage=steps.CLEAR) for step in (*idle, *in_way)),
        *_voices(both),
        *(step for step in away if step.before in there),
        *_travels(both),
        *_added(before, after),
        *_panel(both),
        *(step for step in grouped if step.after is not None or step.where not in taken),
        *_snapshots(both),
        *_name(before, after),
    )
    recorded = (attrs.evolve(step, stage=steps.RECORDED) for step in every if not step.sets)
    return (*(step for step in every if step.sets), *recorded)


def on_surface(setup: Setup) -> Setup:
    """A setup without what it says of knobs that are not there."""
    there = set(setup.surface.knob_names)
    lists = ("routes", "travels", "labels", "sending")
    kept: dict[str, Any] = {
        name: tuple(each for each in getattr(setup, name) if each.knob in there) for name in lists
    }
    kept["snapshots"] = tuple(
        attrs.evolve(each, positions=tuple(p for p in each.positions if p.knob in there))
        for each in setup.snapshots
    )
    return attrs.evolve(setup, **kept)


@attrs.frozen
class _Both:
    """Two setups of one surface, and what each holds of every sort of step, by name."""

    before: Setup
    after: Setup
    was: Mapping[str, Mapping[str, Any]]
    becomes: Mapping[str, Mapping[str, Any]]

    def named(self, what: str, stage: str) -> tuple[Mapping[str, Any], Mapping[str, Any], _Make]:
        """What there is of a sort, what there is to be, and what makes steps of it."""
        make = partial(Step, what, stage=stage, top=self.after.surface.top)
        return self.was[what], self.becomes[what], make

    def on_knobs(self, what: str) -> Iterator[Step]:
        """What is set of knobs, as it was and is to be, in panel order."""
        return _by_knob(what, self.was[what], self.becomes[what], self.after)


def _voices(both: _Both) -> Iterator[Step]:
    """Those that go first, so that layers are free; then each when what leaves its layer has."""
    old, new, make = both.named(steps.VOICE, steps.VOICES)
    at: dict[int | None, dict[str, None]] = {}
    for voice in both.before.voices:
        if voice.name not in new:
            yield make(voice.name, voice, None)
        else:
            at.setdefault(voice.layer, {})[voice.name] = None
    differing = [name for name in new if not same_in_any_order(old.get(name), new[name])]
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
    layers = (v.layer for v in setup.voices if name in v.by_full_name)
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


def _travels(both: _Both) -> Iterator[Step]:
    yield from both.on_knobs(steps.TRAVEL)
    _, _, make = both.named(steps.TRAVEL, steps.TRAVELS)
    for one, other in _changes(both.before, both.after).set_anew:
        yield make(one.knob, one.travel, other.travel, destination=one.destination)


def _panel(both: _Both) -> list[Step]:
    """What each knob shows and sends, knob by knob."""
    shown = (*both.was[steps.LABEL], *both.becomes[steps.LABEL])
    place = {knob: at for at, knob in enumerate((*both.after.surface.knob_names, *shown))}
    found = (*both.on_knobs(steps.LABEL), *both.on_knobs(steps.SENDING))
    return sorted(found, key=lambda step: place.get(step.where, len(place)))


def _groups(both: _Both) -> Iterator[Step]:
    """Each when the groups that it names are stored; those that go when none names them."""
    old, new, make = both.named(steps.GROUP, steps.GROUPS)
    differing = [name for name in new if not same_in_any_order(old.get(name), new[name])]
    inner = {name: new[name].members for name in differing}
    for name in _after_needs(differing, inner):
        yield make(name, old.get(name), new[name])
    for name, group in old.items():
        if name not in new:
            yield make(name, group, None)


def _snapshots(both: _Both) -> Iterator[Step]:
    """Those that go first, so that there is room for new ones; then each with its positions."""
    old, new, make = both.named(steps.SNAPSHOT, steps.SNAPSHOTS)
    before, after, reading = both.before, both.after, read(both.after)
    stored = {snapshot.name: snapshot.stored for snapshot in before.snapshots}
    for name, snapshot in old.items():
        if name not in new:
            yield make(name, snapshot, None)
    for snapshot in after.snapshots:
        name, was = snapshot.name, stored.get(snapshot.name, {})
        play = reading.play(snapshot)
        if not same_in_any_order(old.get(name), new[name]):
            known = old[name].moves if name in old else ()
            undriven = tuple(
                each
                for each in snapshot.moves
                if each not in known and not any(map(reading.knobs_of.get, reading.named((each,))))
            )
            yield make(name, old.get(name), new[name], knobs=play.follows, undriven=undriven)
        for step in _by_knob(steps.POSITION, was, snapshot.stored, after, snapshot=name):
            held = "" if name in old else _held(before, reading, step.where, step.after)
            by_ear = reading.by_ear(play)
            yield attrs.evolve(step, added=name not in old, held=held, knobs=by_ear)


def _held(before: Setup, after: Reading, knob: str, position: Value) -> str:
    """The most important of what a knob is to drive that all earlier snapshots put at a position.

    All that held it, that is; empty where there is no such destination.
    """
    was = read(before)
    plays = was.stored_plays
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
    """Names in their order, but each after those it needs; circles are cut where they are met."""
    inner: dict[str, Iterable[str]] = {
        name: [other for other in needs[name] if other in needs] for name in names
    }
    if not any(inner.values()):
        return list(inner)
    load("networkx")
    import networkx as nx  # only where something needs another

    return list(nx.dfs_postorder_nodes(nx.DiGraph(inner)))
