"""Difference: the steps from one setup to another, one for each thing that differs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from functools import cached_property
from itertools import product
from typing import Any

import attrs

from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.setups.as_read import Reading, read
from knobpack.sheets import steps
from knobpack.sheets.steps import Step, Value
from knobpack.words import Group, Route, Setup, Snapshot, Voice
from knobpack.words.loudness import is_level


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


def steps_between(before: Setup, after: Setup) -> tuple[Step, ...]:
    """All steps, in the order of the stages. Both setups have one surface.

    The things that can differ are: each voice, group and snapshot by its name, the travel of each
    knob, what it shows and what it sends, each route, as often as it is there, and its travel, each
    position of a snapshot that is there when all is done, and the name of the setup. What a setup
    says of a knob that is not there cannot be set, and takes no step. A step sets one of them, so
    there must be at least one for each that differs. There is exactly one: it goes straight from
    what is there to what is to be there. Last come those by which nothing is set on the instrument.
    """
    every = _Both(on_surface(before), on_surface(after)).steps
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


@attrs.frozen(eq=False)
class _Both:
    """Two setups of one surface, which say nothing of knobs that it has not."""

    before: Setup
    after: Setup

    @cached_property
    def was(self) -> Mapping[str, Mapping[str, Any]]:
        """What there is of every sort of step, by name."""
        return parts_of(self.before)

    @cached_property
    def becomes(self) -> Mapping[str, Mapping[str, Any]]:
        """What there is to be."""
        return parts_of(self.after)

    @property
    def steps(self) -> tuple[Step, ...]:
        """All steps, in order."""
        gone, come, _ = self._routes
        name, called = self.before.name, self.after.name
        there = {full for voice in self.before.voices for full in voice.by_full_name}
        away, groups = [*self._routed(gone, steps.AWAY)], [*self._groups()]
        idle = [step for step in away if step.before not in there]
        taken = self.becomes[steps.VOICE]
        in_way = [step for step in groups if step.after is None and step.where in taken]
        return (
            *(attrs.evolve(step, stage=steps.CLEAR) for step in (*idle, *in_way)),
            *self._voices(),
            *(step for step in away if step.before in there),
            *self._travels(),
            *self._routed(come, steps.ROUTES),
            *self._on_knobs(steps.PANEL, steps.LABEL, steps.SENDING),
            *(step for step in groups if step.after is not None or step.where not in taken),
            *self._snapshots(),
            *([self._step(steps.NAME, steps.STORE, name, name, called)] if name != called else []),
        )

    def _step(
        self, what: str, stage: str, where: str, was: Value, becomes: Value, **more: Any
    ) -> Step:
        return Step(what, where, was, becomes, stage, self.after.surface.top, **more)

    def _voices(self) -> Iterator[Step]:
        """Those that go, so that layers are free; then each when what leaves its layer has."""
        old, new = self.was[steps.VOICE], self.becomes[steps.VOICE]
        at: dict[int | None, dict[str, None]] = {}
        for voice in self.before.voices:
            if voice.name not in new:
                yield self._step(steps.VOICE, steps.VOICES, voice.name, voice, None)
            else:
                at.setdefault(voice.layer, {})[voice.name] = None
        differing = [name for name in new if not same_in_any_order(old.get(name), new[name])]
        leaving = {name for name in differing if name in old and old[name].layer != new[name].layer}
        waits = {
            name: [other for other in at.get(new[name].layer, ()) if other in leaving]
            for name in differing
            if new[name].layer is not None
        }
        for name in _after_needs(differing, waits):
            was, voice = old.get(name), new[name]
            if was is not None:
                del at[was.layer][name]
            there = at.setdefault(voice.layer, {})
            comes = voice.layer is not None and (was is None or was.layer != voice.layer)
            beside = tuple(there) if comes else ()
            yield self._step(steps.VOICE, steps.VOICES, name, was, voice, beside=beside)
            there[name] = None

    @cached_property
    def _routes(self) -> tuple[Counter[Route], Counter[Route], list[tuple[Route, Route]]]:
        """The routes that go, how often each; those that come; those that get another travel."""
        was, now = Counter(self.before.routes), Counter(self.after.routes)
        gone, come = was - now, now - was
        going = grouped(((route.knob, route.destination), route) for route in gone.elements())
        pairs = [
            (same.pop(0), route)
            for route in come.elements()
            if (same := going.get((route.knob, route.destination)))
        ]
        for one, other in pairs:
            gone[one] -= 1
            come[other] -= 1
        return +gone, +come, pairs

    def _routed(self, changed: Counter[Route], stage: str) -> Iterator[Step]:
        """Routes that go or come, in the order of their knobs on the panel."""
        setup = self.before if stage == steps.AWAY else self.after
        layer = {full: voice.layer for voice in setup.voices for full in voice.by_full_name}
        there = Counter(self.before.routes)
        for route in sorted(changed, key=lambda each: self.panel.index(each.knob)):
            name = route.destination
            more: dict[str, Any] = {"layer": layer.get(name), "travel": route.travel}
            for count in range(changed[route]):
                gone = stage == steps.AWAY
                ends = (name, None) if gone else (None, name)
                same = there[route] + (-count if gone else count)
                yield self._step(steps.ROUTE, stage, route.knob, *ends, same=same, **more)

    @property
    def panel(self) -> tuple[str, ...]:
        """The knobs."""
        return self.after.surface.knob_names

    def _on_knobs(self, stage: str, *sorts: str) -> Iterator[Step]:
        """What is set of knobs, as it was and is to be, in panel order."""
        for knob, what in product(self.panel, sorts):
            was, becomes = self.was[what].get(knob), self.becomes[what].get(knob)
            if was != becomes:
                yield self._step(what, stage, knob, was, becomes)

    def _travels(self) -> Iterator[Step]:
        yield from self._on_knobs(steps.TRAVELS, steps.TRAVEL)
        for one, other in self._routes[2]:
            ends, more = (one.travel, other.travel), {"destination": one.destination}
            yield self._step(steps.TRAVEL, steps.TRAVELS, one.knob, *ends, **more)

    def _groups(self) -> Iterator[Step]:
        """Each when the groups that it names are stored; those that go when none names them."""
        old, new = self.was[steps.GROUP], self.becomes[steps.GROUP]
        differing = [name for name in new if not same_in_any_order(old.get(name), new[name])]
        inner = {name: new[name].members for name in differing}
        for name in (*_after_needs(differing, inner), *(name for name in old if name not in new)):
            yield self._step(steps.GROUP, steps.GROUPS, name, old.get(name), new.get(name))

    def _snapshots(self) -> Iterator[Step]:
        """Those that go first, so that there is room for new ones; then each with its positions."""
        old, new = self.was[steps.SNAPSHOT], self.becomes[steps.SNAPSHOT]
        reading, stage = read(self.after), steps.SNAPSHOTS
        stored = {snapshot.name: snapshot.stored for snapshot in self.before.snapshots}
        for name in (name for name in old if name not in new):
            yield self._step(steps.SNAPSHOT, stage, name, old[name], None)
        for snapshot in self.after.snapshots:
            name, play = snapshot.name, reading.play(snapshot)
            if not same_in_any_order(old.get(name), new[name]):
                known = old[name].moves if name in old else ()
                undriven = tuple(
                    each
                    for each in snapshot.moves
                    if each not in known
                    and not any(map(reading.knobs_of.get, reading.named((each,))))
                )
                more: dict[str, Any] = {"knobs": play.follows, "undriven": undriven}
                yield self._step(steps.SNAPSHOT, stage, name, old.get(name), new[name], **more)
            was, now, by_ear = stored.get(name, {}), snapshot.stored, reading.by_ear(play)
            for knob in (knob for knob in self.panel if was.get(knob) != now.get(knob)):
                at, added = now.get(knob), name not in old
                held, low = _held(self.before, reading, knob, at) if added else ("", False)
                more = {"snapshot": name, "added": added, "held": held, "lowest": low}
                more["knobs"] = by_ear
                yield self._step(steps.POSITION, stage, knob, was.get(knob), at, **more)


def _held(before: Setup, after: Reading, knob: str, position: Value) -> tuple[str, bool]:
    """The most important of what a knob is to drive that all earlier snapshots put at a position.

    All that held it, that is; or the level that none put lower, and whether it is that. Empty
    where there is no such destination.
    """
    was = read(before)
    plays = was.stored_plays
    names = [name for name in after.carries.get(knob, ()) if was.knobs_of.get(name)]
    for name in sorted(names, key=lambda each: was.destinations[each].priority):
        old = was.knobs_of[name][0]
        places = {was.stands(play).get(old) for play in plays if old not in play.follows}
        if places == {position}:
            return name, False
        known = [at for at in places if at is not None]
        level = is_level(was.destinations[name].kind) and len(known) == len(places)
        if level and min(known, default=None) == position:
            return name, True
    return "", False


def _after_needs(names: Iterable[str], needs: Mapping[str, Iterable[str]]) -> list[str]:
    """Names in their order, but each after those it needs; circles are cut where they are met."""
    there = dict.fromkeys(names)
    inner: dict[str, Iterable[str]] = {
        name: [other for other in needs.get(name, ()) if other in there] for name in there
    }
    if not any(inner.values()):
        return list(inner)
    load("networkx")
    import networkx as nx  # only where something needs another

    return list(nx.dfs_postorder_nodes(nx.DiGraph(inner)))
