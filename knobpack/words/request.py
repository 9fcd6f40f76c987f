"""Request: everything an allocation depends on, checked as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import attrs

from knobpack.errors import InputError
from knobpack.words import fields
from knobpack.words.layout import Layout
from knobpack.words.rules import RULES, Apart, Barred, Fixed, Rule
from knobpack.words.snapshot import Snapshot
from knobpack.words.surface import Surface
from knobpack.words.travel import Travel
from knobpack.words.voice import Destination, Group, Voice
from knobpack.words.weights import Weights


@attrs.frozen
class Request:
    """The voices to combine, the surface to combine them on, and what is asked of the result.

    Args:
        surface: the panel to allocate on.
        voices: all the voices of the result, the host's own among them.
        groups: named sets of voices or destinations.
        snapshots: None: one in which everything moves, and one for each group alone and for
            each voice alone that no group takes in whole.
        rules: what the caller lays down.
        keep: the host's own routes, which stay where they are, with the travels of their knobs
            and the layers of its voices. Travels of knobs that keep no route are not kept.
        previous: a layout to stay close to. What it says of destinations that are gone is
            passed over.
        weights: what each thing a layout does badly costs.

    Raises:
        InputError: a field holds a value it cannot hold, a name is given twice, something is
            named that is not there, or a travel lies outside the resolution of the surface.
    """

    surface: Surface = fields.one(Surface)
    voices: tuple[Voice, ...] = fields.many(Voice)
    groups: tuple[Group, ...] = fields.many(Group)
    snapshots: tuple[Snapshot, ...] | None = fields.many(Snapshot, optional=True)
    rules: tuple[Rule, ...] = fields.many(*RULES)
    keep: Layout = fields.one(Layout, default=Layout())
    previous: Layout | None = fields.one(Layout, optional=True)
    weights: Weights = fields.one(Weights, default=Weights())

    def __attrs_post_init__(self) -> None:
        named = (*self.voices, *self.groups)
        fields.check_distinct("Request.voices and groups", (word.name for word in named))
        fields.check_distinct("Request.snapshots", (word.name for word in self.snapshots or ()))
        if len(self.destinations) > fields.MOST_ITEMS:
            right = f"give at most {fields.MOST_ITEMS} destinations in all"
            raise InputError("Request.voices", len(self.destinations), right)
        self._check_travels()
        self._check_members()
        self._check_snapshots()
        self._check_rules()
        self._check_keep()

    @cached_property
    def destinations(self) -> dict[str, Destination]:
        """Every destination under its full name, voice by voice."""
        return {
            voice.full_name(inner): inner for voice in self.voices for inner in voice.destinations
        }

    @cached_property
    def voice_of(self) -> dict[str, Voice]:
        """The voice of each destination, under the destination's full name."""
        return {voice.full_name(inner): voice for voice in self.voices for inner in voice.destinations}

    @cached_property
    def members(self) -> dict[str, tuple[str, ...]]:
        """What each voice, group or destination name stands for: full names, in order."""
        found = {name: (name,) for name in self.destinations}
        for voice in self.voices:
            found[voice.name] = tuple(voice.full_name(inner) for inner in voice.destinations)
        waiting = list(self.groups)
        while waiting:
            ready = [group for group in waiting if all(name in found for name in group.members)]
            if not ready:
                self._refuse_members(waiting, found)
            for group in ready:
                inside = {name for member in group.members for name in found[member]}
                found[group.name] = tuple(name for name in self.destinations if name in inside)
            waiting = [group for group in waiting if group not in ready]
        return found

    def named(self, names: Iterable[str]) -> tuple[str, ...]:
        """The full names of all destinations that ``names`` stand for, each once, in order."""
        inside = {full for name in names for full in self.members[name]}
        return tuple(full for full in self.destinations if full in inside)

    def wanted(self, destination: str) -> Travel:
        """The travel that a destination wants, under its full name."""
        return self.destinations[destination].travel or Travel.full(self.surface.bits)

    @cached_property
    def played(self) -> tuple[Snapshot, ...]:
        """The snapshots asked for, or the default ones where none were given."""
        if self.snapshots is not None:
            return self.snapshots
        everything = tuple(voice.name for voice in self.voices)
        candidates = [Snapshot("everything", everything)]
        candidates += [Snapshot(f"only {group.name}", (group.name,)) for group in self.groups]
        grouped = {full for group in self.groups for full in self.members[group.name]}
        for voice in self.voices:
            if not grouped.issuperset(self.members[voice.name]):
                candidates.append(Snapshot(f"only {voice.name}", (voice.name,)))
        moved = {snapshot: self.moved(snapshot) for snapshot in candidates}
        first = {moves: snapshot for snapshot, moves in reversed(moved.items())}
        return tuple(snapshot for snapshot, moves in moved.items() if first[moves] is snapshot)

    def moved(self, snapshot: Snapshot) -> frozenset[str]:
        """The full names of the destinations that move with the master in ``snapshot``."""
        named = self.named(snapshot.moves)
        return frozenset(full for full in named if self.destinations[full].movable)

    def _check_travels(self) -> None:
        for full, destination in self.destinations.items():
            _check_travel(f"travel of {full!r}", destination.travel, self.surface)
        for setting in self.keep.travels:
            _check_travel(f"Request.keep.travels of {setting.knob!r}", setting.travel, self.surface)

    def _check_members(self) -> None:
        _ = self.members

    def _refuse_members(self, groups: list[Group], found: dict[str, tuple[str, ...]]) -> None:
        called = {group.name for group in self.groups}
        for group in groups:
            for name in group.members:
                if name not in found and name not in called:
                    raise _unknown(f"Group.members of {group.name!r}", name)
        names = tuple(group.name for group in groups)
        raise InputError("Request.groups", names, "these hold one another; break the circle")

    def _check_snapshots(self) -> None:
        for snapshot in self.snapshots or ():
            where = f"Snapshot.moves of {snapshot.name!r}"
            self._check_known(where, snapshot.moves)
            for name in snapshot.moves:
                if name in self.destinations and not self.destinations[name].movable:
                    raise InputError(where, name, "it is not movable; leave it out, or let it move")

    def _check_rules(self) -> None:
        for position, rule in enumerate(self.rules):
            where = f"Request.rules[{position}] {type(rule).__name__}"
            if isinstance(rule, Apart):
                self._check_known(f"{where}.first", rule.first)
                self._check_known(f"{where}.second", rule.second)
                continue
            self._check_known(f"{where}.names", rule.names)
            if isinstance(rule, Fixed):
                self._check_knobs(f"{where}.knob", (rule.knob,))
            if isinstance(rule, Barred):
                self._check_knobs(f"{where}.knobs", rule.knobs)

    def _check_keep(self) -> None:
        layers: dict[int, str] = {}
        for route in self.keep.routes:
            if route.destination not in self.destinations:
                raise _unknown("Request.keep.routes", route.destination)
            self._check_knobs("Request.keep.routes", (route.knob,))
        self._check_knobs("Request.keep.travels", (setting.knob for setting in self.keep.travels))
        for voice, layer in self.host_layers.items():
            where = f"layer of {voice!r}"
            if layer in layers:
                raise InputError(where, layer, f"{layers[layer]!r} is kept at it; give another")
            if self.surface.layers is not None and layer > self.surface.layers:
                right = f"the surface has layers 1 to {self.surface.layers}"
                raise InputError(where, layer, right)
            layers[layer] = voice

    @cached_property
    def host_layers(self) -> dict[str, int]:
        """The layers that are taken: of voices that ``keep`` names, or keeps a route of."""
        found = {place.voice: place.layer for place in self.keep.layers}
        for voice in found:
            if voice not in {each.name for each in self.voices}:
                raise _unknown("Request.keep.layers", voice)
        for route in self.keep.routes:
            voice_of = self.voice_of[route.destination]
            if voice_of.layer is not None:
                found.setdefault(voice_of.name, voice_of.layer)
        return found

    def _check_known(self, where: str, names: Iterable[str]) -> None:
        for name in names:
            if name not in self.members:
                raise _unknown(where, name)

    def _check_knobs(self, where: str, names: Iterable[str]) -> None:
        for name in names:
            if name not in self.surface.knob_names:
                raise InputError(where, name, "name a knob of the surface")


def _unknown(where: str, name: str) -> InputError:
    return InputError(where, name, "name a voice, a group, or voice/destination of this request")


def _check_travel(where: str, travel: Travel | None, surface: Surface) -> None:
    for position in (travel.start, travel.end) if travel else ():
        if position > surface.top:
            right = f"positions run from 0 to {surface.top} at {surface.bits} bits"
            raise InputError(where, position, right)
