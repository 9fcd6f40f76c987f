"""Request: everything an allocation depends on, checked as a whole."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import attrs

from knobpack.errors import InputError
from knobpack.questions import AskedElsewhere, AskedOfRequest
from knobpack.text.shown import Told
from knobpack.words import converters, fields
from knobpack.words.bundle import (
    Bundle,
    InUse,
    carried_bundles,
    merged_sets,
    never_worth_joining,
    sequence,
)
from knobpack.words.layout import Layout
from knobpack.words.members import members_of
from knobpack.words.names import many
from knobpack.words.played import default_snapshots
from knobpack.words.request_checks import check_request
from knobpack.words.rule_effects import RuleEffect
from knobpack.words.rules import RULES, Rule, member_lists
from knobpack.words.snapshot import Snapshot
from knobpack.words.stances import stances
from knobpack.words.surface import Surface
from knobpack.words.travel import Travel
from knobpack.words.voice import Destination, Group, Member, Voice
from knobpack.words.weights import Weights


@attrs.frozen
class Request(Told, AskedOfRequest, AskedElsewhere):
    """The voices to combine, the surface to combine them on, and what is asked of the result.

    Args:
        surface: the panel to allocate on.
        voices: all the voices of the result, the base's own among them.
        groups: named sets of voices or destinations.
        snapshots: None: one in which everything moves, and one for each group alone and for
            each voice alone that the groups do not take in whole; none of them parts a bundle.
        rules: what the caller lays down.
        keep: the base's own routes, which stay where they are, with the travels of their knobs
            and the layers of its voices. Travels of knobs that keep no route are not kept. Where
            the surface sets travels on routes, they stand in the routes.
        previous: a layout to stay close to. What it says of destinations that are gone is
            passed over.
        weights: what each thing a layout does badly costs.
        in_use: whether ``previous`` is in use and this is an edit of it: what changes then counts
            before how well it is shared, and what is there already counts for nothing. A bundle is
            what one knob drove, less what the edit names; of what is new, what came on one knob.
        edited: what the edit of a layout in use names: voices, groups or destinations. Their
            losses and breaks count, though they were there already.

    Raises:
        InputError: a field holds a value it cannot hold, a name is given twice, something is
            named that is not there, a travel lies outside the resolution of the surface, or is
            set where the surface sets none.
    """

    surface: Surface = attrs.field(validator=fields.one(Surface))
    voices: tuple[Voice, ...] = attrs.field(
        default=(), converter=converters.voices, validator=fields.several(Voice)
    )
    groups: tuple[Group, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.groups, validator=fields.several(Group)
    )
    snapshots: tuple[Snapshot, ...] | None = attrs.field(
        kw_only=True,
        default=None,
        converter=converters.maybe_snapshots,
        validator=fields.several(Snapshot, optional=True),
    )
    rules: tuple[Rule, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.rules, validator=fields.several(*RULES)
    )
    keep: Layout = attrs.field(kw_only=True, default=Layout(), validator=fields.one(Layout))
    previous: Layout | None = attrs.field(
        kw_only=True, default=None, validator=fields.one(Layout, optional=True)
    )
    weights: Weights = attrs.field(kw_only=True, default=Weights(), validator=fields.one(Weights))
    in_use: bool = attrs.field(kw_only=True, default=False, validator=fields.flag())
    edited: tuple[str, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.member_names,
        validator=fields.names(slash=True),
    )

    def __attrs_post_init__(self) -> None:
        voices = [voice.name for voice in self.voices]
        fields.check_distinct("Request.voices[].name", voices)
        fields.check_distinct("Request.groups[].name", (word.name for word in self.groups), voices)
        called = (word.name for word in self.snapshots or ())
        fields.check_distinct("Request.snapshots[].name", called)
        if len(self.by_full_name) > fields.MOST_ITEMS:
            right = f"give at most {fields.MOST_ITEMS} destinations in all"
            raise InputError("Request.voices", len(self.by_full_name), right)
        check_request(self)

    @property
    def sentences(self) -> tuple[str, ...]:
        """How much is asked, then voice by voice, snapshot by snapshot and rule by rule."""
        voices = (
            f"{voice.name}: {', '.join(each.name for each in voice.destinations) or 'nothing'}."
            for voice in self.voices
        )
        snapshots = (
            f"'{each.name}' moves {', '.join(each.moves) or 'nothing'}." for each in self.played
        )
        rules = (f"Rule: {rule}." for rule in self.rules)
        asked, voices_asked = len(self.by_full_name), len(self.voices)
        counts = f"{many(asked, 'destination')} of {many(voices_asked, 'voice')}"
        return (
            f"{counts} for {many(len(self.surface.knobs), 'knob')}.",
            *voices,
            *snapshots,
            *rules,
        )

    @cached_property
    def by_full_name(self) -> dict[str, Destination]:
        """Every destination under its full name, voice by voice."""
        return {full: inner for each in self.voices for full, inner in each.by_full_name.items()}

    @cached_property
    def voice_of(self) -> dict[str, Voice]:
        """The voice of each destination, under the destination's full name."""
        return {full: voice for voice in self.voices for full in voice.by_full_name}

    @cached_property
    def members(self) -> dict[str, tuple[str, ...]]:
        """What each voice, group or destination name stands for: full names, in order."""
        return members_of(self.voices, self.groups, self._order)

    def named(self, names: Member | Iterable[Member]) -> tuple[str, ...]:
        """The full names of all destinations that ``names`` stand for, each once, in order.

        Args:
            names: voices, groups or destinations of the request, or their names.

        Returns:
            The full names, in the order of the request.

        Raises:
            InputError: the request has no such name.
        """
        return self._named("Request.named.names", names)

    def _named(self, where: str, given: Member | Iterable[Member]) -> tuple[str, ...]:
        names = fields.as_names(where, given, converters.member_names)
        if known := self._in_rules.get(names):
            return known
        for name in names:
            if name not in self.members:
                right = "name a voice, a group or a voice/destination of the request"
                fields.check_named(where, name, self.members, right)
        inside = {full for name in names for full in self.members[name]}
        found = tuple(sorted(inside, key=self._order.__getitem__))
        if names in self._in_rules:
            self._in_rules[names] = found
        return found

    @cached_property
    def _order(self) -> dict[str, int]:
        return {full: position for position, full in enumerate(self.by_full_name)}

    def wanted(self, destination: str) -> Travel:
        """The travel that a destination wants.

        Args:
            destination: a full name.

        Returns:
            The travel; the full one where it wants none of its own.

        Raises:
            InputError: the request has no such destination.
        """
        return self._wanted[check_asked("Request.wanted.destination", destination, self)]

    def driven(self, destination: str) -> Travel | None:
        """The travel that a route to a destination is to have, where each route has its own.

        Args:
            destination: a full name.

        Returns:
            The travel: that of the route that is kept, or is there in a layout in use; else the
            one that is wanted. None where the surface sets the travel on the knob.

        Raises:
            InputError: the request has no such destination.
        """
        name = check_asked("Request.driven.destination", destination, self)
        if not self.surface.per_route:
            return None
        return self._there_on_routes.get(name) or self._wanted[name]

    @cached_property
    def _there_on_routes(self) -> dict[str, Travel]:
        there = self.previous.routes if self.in_use and self.previous else ()
        routes = (*there, *self.keep.routes)
        return {each.destination: each.travel for each in routes if each.travel}

    @cached_property
    def _wanted(self) -> dict[str, Travel]:
        full = Travel.full(self.surface.bits)
        return {name: inner.travel or full for name, inner in self.by_full_name.items()}

    @cached_property
    def effects(self) -> tuple[RuleEffect, ...]:
        """What each rule does, in their order."""
        panel = self.surface.knob_names
        return tuple(rule.effect(self.named, panel) for rule in self.rules)

    @cached_property
    def required(self) -> tuple[RuleEffect, ...]:
        """What the rules do that are required."""
        return tuple(each for each in self.effects if not each.weight)

    @cached_property
    def preferred(self) -> tuple[RuleEffect, ...]:
        """What the rules do that are preferred, each at its weight."""
        return tuple(each for each in self.effects if each.weight)

    @cached_property
    def played(self) -> tuple[Snapshot, ...]:
        """The snapshots asked for, or the default ones where none were given."""
        if self.snapshots is not None:
            return self.snapshots
        bound = [bundle.names for bundle in self.bundles]
        bound += [each.joined for each in self.required if each.joined]
        groups = {group.name: self.members[group.name] for group in self.groups}
        voices = {voice.name: self.members[voice.name] for voice in self.voices}
        return default_snapshots(voices, groups, bound, self.moved)

    @cached_property
    def _carried(self) -> tuple[tuple[Bundle, ...], ...]:
        return carried_bundles(self.voices)

    @property
    def carried(self) -> tuple[Bundle, ...]:
        """What each knob of the sources drove, single destinations as well, source by source.

        Of a layout in use: what each of its knobs drove; then what is new, as it came.
        """
        came = tuple(each for own in self._carried for each in own)
        return came if self.use is None else self.use.carried(came)

    @cached_property
    def bundles(self) -> tuple[Bundle, ...]:
        """The bundles: two or more destinations that one knob carried in their source.

        Of a layout in use: what one knob drove, less what the edit names.
        """
        if self.use is not None:
            return self.use.bundles(each for own in self._carried for each in own)
        return tuple(each for each in self.carried if len(each.names) > 1)

    @cached_property
    def bundle_of(self) -> dict[str, Bundle]:
        """The bundle of each destination that is in one."""
        return {name: bundle for bundle in self.bundles for name in bundle.names}

    @cached_property
    def loads(self) -> tuple[tuple[str, ...], ...]:
        """The destinations that have a knob in common, two or more; all others are by themselves.

        They are those of a bundle, and those that the base keeps on one knob: what is joined there
        already is no loss. What a preferred ``together`` rule names is one load too: it is wanted
        on one knob, and the rule has a price of its own.
        """
        kept: dict[str, list[str]] = {}
        for route in self.keep.routes:
            kept.setdefault(route.knob, []).append(route.destination)
        wished = (each.joined for each in self.preferred if each.joined)
        bundles = (bundle.names for bundle in self.bundles)
        return merged_sets((*bundles, *map(tuple, kept.values()), *wished))

    @cached_property
    def stances(self) -> tuple[frozenset[str], ...]:
        """What stands alike in the snapshots that hold it (:mod:`knobpack.words.stances`)."""
        if self.surface.per_route:
            return ()
        before = self.previous.routes if self.previous else ()
        knob_of = {each.destination: each.knob for each in (*self.keep.routes, *before)}
        return stances(self.by_full_name, knob_of, [(s.stored, self.moved(s)) for s in self.played])

    @cached_property
    def use(self) -> InUse | None:
        """What the layout in use has already; None where none is in use."""
        if not self.in_use or self.previous is None:
            return None
        return InUse.of(self.previous, self.by_full_name, self.named(self.edited))

    @cached_property
    def sequence(self) -> tuple[tuple[str, str], ...]:
        """Each two destinations of which the second is to lie directly after the first.

        They stand for two knobs that were neighbours in the order of a source.
        """
        return sequence(self._carried)

    @cached_property
    def expendable(self) -> frozenset[str]:
        """The hidden destinations that nothing demands and that came with nothing better.

        They are never worth joining to anything: none of them, and none of their bundle, must be
        placed, is kept, or is named by a required ``fixed`` or ``together``. In an edit of a layout
        in use there are none: what shares a knob goes on doing so.
        """
        if self.in_use:
            return frozenset()
        demanded = {route.destination for route in self.keep.routes}
        for each in self.required:
            demanded.update(each.demanded)
        return never_worth_joining(self.by_full_name, self.bundles, demanded)

    def moved(self, snapshot: Snapshot) -> frozenset[str]:
        """What moves with the master in a snapshot.

        Args:
            snapshot: a snapshot that names what is in the request.

        Returns:
            The full names of the destinations.

        Raises:
            InputError: it is no Snapshot, or the request has nothing that it names.
        """
        fields.check_kind("Request.moved.snapshot", snapshot, Snapshot)
        if snapshot.moves not in self._moving:
            named = self._named("Request.moved.snapshot", snapshot.moves)
            movable = (full for full in named if self.by_full_name[full].movable)
            self._moving[snapshot.moves] = frozenset(movable)
        return self._moving[snapshot.moves]

    @cached_property
    def _moving(self) -> dict[tuple[str, ...], frozenset[str]]:
        """What :meth:`moved` found, by what was named."""
        return {}

    @cached_property
    def _in_rules(self) -> dict[tuple[str, ...], tuple[str, ...] | None]:
        """What :meth:`named` found of the names in each rule; None: it was not asked yet."""
        return {names: None for rule in self.rules for names in member_lists(rule).values()}

    @cached_property
    def base_layers(self) -> dict[str, int]:
        """The layers that are taken: of voices that ``keep`` names, or keeps a route of."""
        found = {place.voice: place.layer for place in self.keep.layers}
        for route in self.keep.routes:
            voice = self.voice_of[route.destination]
            if voice.layer is not None:
                found.setdefault(voice.name, voice.layer)
        return found


def check_asked(where: str, name: object, request: Request) -> str:
    """Refuse what is no destination of a request.

    Returns:
        Its full name.
    """
    if isinstance(name, str) and name in request.by_full_name:
        return name
    right = "name a voice/destination of the request"
    inside = isinstance(name, str) and name.partition("/")[0] in request.members
    if inside and (request.in_use or request.keep != Layout()):
        right = f"what no knob drives is not in it (edit with OwnKnob gives it one); {right}"
    return fields.check_named(where, name, request.by_full_name, right)
