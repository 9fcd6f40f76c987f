"""A setup as read: what it says, however faulty it is. All who read a setup share this meaning.

- A route counts if it leads from a knob of the surface to a destination that is there, and it
  counts once, however often it is given.
- A knob whose travel is not set has the full one. Beyond the highest position there is nothing: a
  knob stays at that position instead. So a travel whose ends differ may still go nowhere.
- Where the surface sets travels on routes, each knob goes all the way, and what a route leads to
  goes over the travel of the route in proportion. What is set elsewhere than the surface sets it is
  passed over.
- Of what a snapshot or group names, what is not there is passed over. Groups that hold one another
  hold the same.
- What is not movable is to be held, whatever a snapshot names.
- A knob follows the master where more of what it carries is to move than to be held, as
  :func:`knobpack.checker.follows` says. One that carries nothing never follows. What is to be held
  moves all the same on a knob that follows.
- Where no snapshot is stored there is one, ``everything``, that moves all voices.
- A knob that does not follow in a snapshot stands where the snapshot puts it, be it at the highest
  position instead of one beyond. Where the snapshot says nothing of it, it is not known where it
  stands. What is said of a knob that follows, or that is not there, is passed over.
- A stepped destination receives something new only where its step changes (M2-115-U 5).

What is made of a fault is for each reader to say: the audit tells it, the simulation passes it over
and tells it too, a combination leaves it with the base and does not bring it along, and a patch
sheet tells it first and sets it as it stands, a route as often as it is given and a travel as it is
set, but for what is said of a knob that is not there.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from functools import cached_property

import attrs

from knobpack.definition.phrases import PER_ROUTE, travel_text
from knobpack.grouped import grouped
from knobpack.positions import step_at
from knobpack.setups.setup_names import SetupNames
from knobpack.words import (
    Destination,
    KnobTravel,
    Layout,
    Route,
    Setup,
    Snapshot,
    Travel,
    VoiceLayer,
)
from knobpack.words.fields import check_kind
from knobpack.words.knob_settings import ENDLESS
from knobpack.words.names import voice_part
from knobpack.words.snapshot import EVERYTHING

OUT_OF_USE, RESERVED = "out of use", "reserved"
"""Why no route may come to a knob."""


@attrs.frozen
class Play:
    """What the master does in one snapshot.

    Args:
        snapshot: the snapshot.
        moved: the full names of the destinations that are to move.
        follows: the knobs that follow the master, in panel order.
        works: those of them that move something.
    """

    snapshot: Snapshot
    moved: frozenset[str]
    follows: tuple[str, ...]
    works: tuple[str, ...]


@attrs.frozen
class TornKnob:
    """A knob of whose destinations a snapshot moves some and holds others.

    Args:
        play: what the master does in that snapshot.
        knob: the knob.
        moved: what of it is to move, in the order of its routes.
        held: what of it is to be held.
        firm: whether the snapshot may not be broken.
    """

    play: Play
    knob: str
    moved: tuple[str, ...]
    held: tuple[str, ...]
    firm: bool

    @property
    def wronged(self) -> tuple[str, ...]:
        """What of it does the wrong thing."""
        return self.held if self.knob in self.play.follows else self.moved


@attrs.frozen(eq=False)
class Reading(SetupNames):
    """A setup as it is read; each part is worked out when it is first asked for."""

    @cached_property
    def rank(self) -> dict[str, tuple[int, int]]:
        """How important each destination is, the lower the more; then in the order of the setup."""
        inner = self.destinations
        return {name: (each.priority, at) for at, (name, each) in enumerate(inner.items())}

    @cached_property
    def routes(self) -> tuple[Route, ...]:
        """The routes that count, in the order in which they are given."""
        panel, there = set(self.setup.surface.knob_names), self.destinations
        own = self.setup.surface.per_route
        counting: dict[tuple[str, str], Route] = {}
        for each in self.setup.routes:
            if each.knob in panel and each.destination in there:
                route = each if own else attrs.evolve(each, travel=None)
                counting.setdefault((each.knob, each.destination), route)
        return tuple(counting.values())

    @cached_property
    def carries(self) -> dict[str, tuple[str, ...]]:
        """What each knob of the surface carries, in panel order: full names, as routed."""
        carried = grouped((route.knob, route.destination) for route in self.routes)
        return {knob: tuple(carried.get(knob, ())) for knob in self.setup.surface.knob_names}

    @cached_property
    def broken(self) -> frozenset[str]:
        """The knobs that are out of use."""
        return frozenset(each.knob for each in self.setup.broken)

    @cached_property
    def endless(self) -> frozenset[str]:
        """The knobs that are endless, and send changes alone."""
        return frozenset(each.knob for each in self.setup.sending if each.turning == ENDLESS)

    def closed(self, knob: str) -> str | None:
        """Why no route may come to a knob, in words; None: one may.

        A reserved knob may drive what it drove before; one that is out of use moves nothing.
        """
        if knob in self.broken:
            return OUT_OF_USE
        return RESERVED if knob in self.setup.surface.reserved else None

    @cached_property
    def knobs_of(self) -> dict[str, tuple[str, ...]]:
        """The knobs that carry each destination, in panel order; none where it is not reached."""
        driving = grouped((name, knob) for knob, names in self.carries.items() for name in names)
        return {name: tuple(driving.get(name, ())) for name in self.destinations}

    @cached_property
    def travels(self) -> dict[str, Travel]:
        """The travel of each knob of the surface as it is set, be it beyond the highest position.

        The full one where none is set.
        """
        travels = dict.fromkeys(self.setup.surface.knob_names, Travel.full(self.setup.surface.bits))
        if self.setup.surface.per_route:
            return travels
        given = {each.knob: each.travel for each in self.setup.travels if each.knob in travels}
        return travels | given

    def travel_told(self, knob: str) -> str:
        """The travel of a knob in positions and in words, or that each route has its own."""
        if self.setup.surface.per_route:
            return f"travel {PER_ROUTE}"
        return travel_text(self.travels[knob], self.setup.surface.top)

    @cached_property
    def goes(self) -> dict[str, Travel]:
        """The travel that each knob of the surface really goes, within the positions there are."""
        return {knob: self.within(travel) for knob, travel in self.travels.items()}

    def over(self, route: Route) -> Travel:
        """The travel of what a route leads to, as it is set: on its knob, or on the route.

        The full one where none is set; it may lie beyond the highest position.
        """
        own = route.travel if self.setup.surface.per_route else None
        return own or self.travels[route.knob]

    def passed_over(self, route: Route) -> Travel | None:
        """The travel that is wanted where none is set, so that the full one is gone over instead.

        None where a travel is set, the full one is wanted, or the one that is wanted cannot be had.
        """
        surface = self.setup.surface
        unset = route.travel is None if surface.per_route else route.knob not in self._set
        wanted = self.destinations[route.destination].travel if unset else None
        if wanted is None or wanted.empty or wanted == self.travels[route.knob]:
            return None
        return wanted if lies_within(wanted, surface.top) else None

    @cached_property
    def _set(self) -> frozenset[str]:
        return frozenset(each.knob for each in self.setup.travels)

    def led(self, route: Route) -> Travel:
        """The travel that what a route leads to really goes, within the positions there are."""
        return self.within(self.over(route))

    def layout(self, routes: Iterable[Route], layers: tuple[VoiceLayer, ...] = ()) -> Layout:
        """Some routes with the travels that they really go over, as a request holds them.

        Each destination is driven once.
        """
        if self.setup.surface.per_route:
            own = tuple(attrs.evolve(route, travel=self.led(route)) for route in routes)
            return Layout(own, (), layers)
        bare = tuple(attrs.evolve(route, travel=None) for route in routes)
        used = dict.fromkeys(route.knob for route in bare)
        return Layout(bare, tuple(KnobTravel(knob, self.goes[knob]) for knob in used), layers)

    def within(self, travel: Travel) -> Travel:
        """What is really gone of a travel, within the positions there are."""
        top = self.setup.surface.top
        return Travel(min(travel.start, top), min(travel.end, top))

    @cached_property
    def drives(self) -> dict[str, tuple[str, ...]]:
        """Of what each knob carries, what receives anything new over the travel that it goes."""
        bits = self.setup.surface.bits
        stirred = grouped(
            (route.knob, route.destination)
            for route in self.routes
            if stirs(self.led(route), self.destinations[route.destination], bits)
        )
        return {knob: tuple(stirred.get(knob, ())) for knob in self.carries}

    @cached_property
    def channels(self) -> dict[str, tuple[int, ...]]:
        """The MIDI channels that each knob of the surface sends on, ascending, as far as known.

        The one that is given for it, or those of the voices that it carries.
        """
        own = {each.knob: each.channel for each in self.setup.sending}
        of = {voice.name: voice.channel for voice in self.setup.voices}
        found = {}
        for knob, names in self.carries.items():
            given = [own.get(knob)] if own.get(knob) else [of[voice_part(n)] for n in names]
            found[knob] = tuple(sorted({each for each in given if each is not None}))
        return found

    @property
    def assumed(self) -> bool:
        """Whether no snapshot is stored, and ``everything`` is assumed."""
        return not self.setup.snapshots

    @cached_property
    def snapshots(self) -> tuple[Snapshot, ...]:
        """The snapshots that are stored, or the one that is assumed."""
        everything = Snapshot(EVERYTHING, tuple(voice.name for voice in self.setup.voices))
        return self.setup.snapshots or (everything,)

    @cached_property
    def plays(self) -> tuple[Play, ...]:
        """What the master does in every snapshot."""
        return tuple(self.play(snapshot) for snapshot in self.snapshots)

    @property
    def stored_plays(self) -> tuple[Play, ...]:
        """The same in those that are stored: in none, where one is assumed."""
        return () if self.assumed else self.plays

    @cached_property
    def widest(self) -> Play | None:
        """The one snapshot that moves all that the others move, and more; None: there is none."""
        every = {knob for play in self.plays for knob in play.works}
        found = [play for play in self.plays if len(play.works) == len(every)]
        return found[0] if every and len(found) == 1 and not self.assumed else None

    @property
    def torn(self) -> Iterator[TornKnob]:
        """Each knob that a snapshot tears, snapshot by snapshot."""
        for play in self.plays:
            firm = play.snapshot.break_weight is None and not self.assumed
            for knob, names in self.carries.items():
                moved = tuple(name for name in names if name in play.moved)
                if 0 < len(moved) < len(names):
                    held = tuple(name for name in names if name not in play.moved)
                    yield TornKnob(play, knob, moved, held, firm)

    @cached_property
    def idle(self) -> dict[str, str]:
        """The knobs of the surface that routes lead from and that do nothing, each with why."""
        routed = {route.knob for route in self.setup.routes}
        return {
            knob: self._why_idle(knob)
            for knob, driven in self.drives.items()
            if knob in routed and not driven
        }

    def _why_idle(self, knob: str) -> str:
        if not self.carries[knob]:
            return "leads to nothing that is there"
        if self.goes[knob].empty:
            return "has a travel that starts where it ends"
        return "stays within one step of what it leads to"

    def play(self, snapshot: Snapshot) -> Play:
        """What the master does in a snapshot."""
        moved = self.moved(snapshot)
        moving = Counter(knob for name in moved for knob in self.knobs_of[name])
        follows = tuple(k for k, names in self.carries.items() if 2 * moving[k] > len(names))
        works = tuple(knob for knob in follows if self.drives[knob])
        return Play(snapshot, moved, follows, works)

    def stands(self, play: Play) -> dict[str, int]:
        """Where the knobs stand that do not follow in a snapshot, as far as it is known.

        In panel order, 0 to the highest position.
        """
        top, stored, follows = self.setup.surface.top, play.snapshot.stored, set(play.follows)
        still = (knob for knob in self.carries if knob in stored and knob not in follows)
        return {knob: min(stored[knob], top) for knob in still}

    def puts(self, play: Play) -> dict[str, int]:
        """Those of them that carry something: what a snapshot sets besides what it moves."""
        return {knob: at for knob, at in self.stands(play).items() if self.carries[knob]}

    def by_ear(self, play: Play) -> tuple[str, ...]:
        """The knobs that carry something and do not follow in a snapshot, their positions unknown.

        In panel order.
        """
        known = {*play.follows, *self.stands(play)}
        return tuple(knob for knob, names in self.carries.items() if names and knob not in known)


def read(setup: Setup, where: str = "setup") -> Reading:
    """Read a setup.

    Raises:
        InputError: it is no Setup; ``where`` says where it was given.
    """
    check_kind(where, setup, Setup)
    return Reading(setup)


def lies_within(travel: Travel, top: int) -> bool:
    """Whether a travel lies within the positions 0 to ``top``."""
    return max(travel.start, travel.end) <= top


def stirs(travel: Travel, destination: Destination, bits: int) -> bool:
    """Whether a destination receives anything new over a travel, as its two ends tell.

    Neither the knob nor the step turns back on the way.
    """
    steps = destination.steps
    if steps is None or steps >= 1 << bits:  # each position is a step of its own
        return not travel.empty
    return step_at(travel.start, steps, bits) != step_at(travel.end, steps, bits)
