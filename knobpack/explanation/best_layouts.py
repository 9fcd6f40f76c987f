"""Best layouts: whether a layout is the only best one, and what all best ones have in common."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING, ClassVar, Final

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.phrases import first_of
from knobpack.errors import Stopped
from knobpack.explanation.company import Differing, differences, units_of
from knobpack.explanation.ways import MOST, AsGoodLayout, Way, all_ways, elsewhere, way_of
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.text.shown import Fielded
from knobpack.words import fields
from knobpack.words.names import knob_told, listed

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch

UNPROVEN: Final = "not proven"
"""Why other ways were not looked for: the layout itself is not proven best."""

MOST_WAYS = 10_000
"""Ways that can be asked for, at most."""

MOST_LINES = 6
"""Differences that sentences name, at most."""


@attrs.frozen
class Place(Fielded):
    """Where one set of destinations is, and whether it could be elsewhere.

    Args:
        destinations: their full names.
        knob: the knob that they are on.
        only: whether all of them are on this knob in every best layout; None: that is not proven.
    """

    destinations: tuple[str, ...]
    knob: str
    only: bool | None


@attrs.frozen
class BestLayouts(Answer):
    """The ways to share the knobs that are equally good, and what they have in common.

    Two layouts are one way where the same destinations share and the same are left out, on
    whatever knobs. A way is best if some layout of it costs the same as the best in all tiers.

    Args:
        ways: the best ways found, the allocation's own first.
        stopped: what ended the search before all were known: ``more than asked for``, ``effort``,
            ``not proven`` (the layout itself is not, so nothing was looked for); None: these are
            proven to be all.
        always: the largest groups of two destinations or more that are together in every way.
        never_shared: the destinations that are alone on their knob in every way.
        sometimes: the destinations that share with others in one way than in another, or are
            left out in one and not in another.
        always_unplaced: the destinations that are left out in every way.
        places: whether the sets of the allocation that are in every way could be elsewhere, in
            panel order; empty if that was not asked for, or the layout is not proven best.
    """

    question: ClassVar[str] = "best layouts"

    ways: tuple[Way, ...]
    stopped: Stopped | None
    always: tuple[tuple[str, ...], ...]
    never_shared: tuple[str, ...]
    sometimes: tuple[str, ...]
    always_unplaced: tuple[str, ...]
    places: tuple[Place, ...] = ()

    @property
    def count(self) -> int:
        """How many best ways are known."""
        return len(self.ways)

    @property
    def only(self) -> bool:
        """Whether it is proven that there is no other best way."""
        return self.proven and self.count == 1

    @property
    def differences(self) -> tuple[Differing, ...]:
        """Whom destinations are with in one way and not in another, the most telling first."""
        return differences(self.ways)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The answer in plain sentences, what matters most first."""
        found = [self._headline()]
        if self.count > 1:
            those = "all of them" if self.proven else "all that were found"
            if self.always:
                groups = "; ".join(listed(names) for names in self.always)
                found.append(f"In {those} these are together: {groups}.")
            if self.never_shared:
                found.append(f"Alone on a knob in {those}: {listed(self.never_shared)}.")
            if self.always_unplaced:
                found.append(f"Left out in {those}: {listed(self.always_unplaced)}.")
            told = [f"{each}." for each in self.differences]
            found += first_of(told, "more difference", " of this sort", MOST_LINES)
        return (*found, *self._places())

    def _headline(self) -> str:
        ways = f"{self.count:,} equally good ways to share the knobs"
        several = self.count > 1
        why = f"the search was stopped ({self.stopped})"
        alone = told = "This is the only best way to share the knobs: every other way costs more."
        if self.stopped == UNPROVEN:
            alone = told = "This layout is not proven best, so ties with it cannot be named."
        elif self.proven:
            told = f"There are {ways}; it is a tie."
        elif self.stopped == MOST:
            alone = "This is not the only best way to share the knobs; it is a tie."
            told = f"There are more than {ways}; it is a tie."
        else:
            alone = f"No other way to share the knobs was found that is as good; not proven: {why}."
            told = f"There are at least {ways}; it is a tie. Not proven to be all: {why}."
        return told if several else alone

    def _places(self) -> list[str]:
        told = {
            True: "On this knob in every best layout: {}.",
            False: "Could be elsewhere at no cost: {}.",
            None: "Not proven whether these could be elsewhere at no cost: {}.",
        }
        if self.only and self.places and all(place.only for place in self.places):
            return ["No set could be elsewhere at no cost: this is the only best layout."]
        found = []
        for only, sentence in told.items():
            here = [place for place in self.places if place.only is only]
            shown = [f"{knob_told(place.knob)} ({listed(place.destinations)})" for place in here]
            found += [sentence.format(listed(shown))] if here else []
        return found


def best_layouts(
    allocation: Allocation,
    *,
    most: int = 100,
    places: bool = False,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> BestLayouts:
    """Find the other ways to share the knobs that are as good.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        most: how many ways to give, 1 to 10,000.
        places: whether to find out too which sets could be on another knob; that is one more
            search for each set, or for each destination where not all ways are known.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The ways. Those given are best in any case; ``proven`` says whether there are no more.

    Raises:
        InputError: ``allocation`` is no Allocation, ``most`` or ``effort`` no such number, or
            ``places`` not true or false, or ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import best_layouts
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> print(best_layouts(allocation))
        This is the only best way to share the knobs: every other way costs more.
    """
    fields.check_kind("best_layouts.allocation", allocation, Allocation)
    fields.check_whole("best_layouts.most", most, 1, MOST_WAYS)
    fields.check_kind("best_layouts.places", places, bool)
    run = begun("best_layouts", effort, limits)
    request = allocation.request
    if not allocation.proven:
        knob_of = {route.destination: route.knob for route in allocation.routes}
        return _answer((way_of(request, knob_of),), UNPROVEN, request.by_full_name)
    watch = run.watch()
    ways, stopped = all_ways(allocation, most, watch)
    found = _answer(ways, stopped, request.by_full_name)
    if not places:
        return found
    return attrs.evolve(found, places=_places(allocation, ways, stopped is None, watch))


def _answer(ways: tuple[Way, ...], stopped: Stopped | None, names: Collection[str]) -> BestLayouts:
    units = units_of(ways, names)
    placed = [unit for unit in units if None not in unit.sets]
    differing = {name for unit in units if unit.differs for name in unit.destinations}
    return BestLayouts(
        ways=ways,
        stopped=stopped,
        always=tuple(unit.destinations for unit in placed if len(unit.destinations) > 1),
        never_shared=tuple(
            unit.destinations[0] for unit in placed if set(unit.sets) == {unit.destinations[:1]}
        ),
        sometimes=tuple(name for name in names if name in differing),
        always_unplaced=tuple(
            name for unit in units if set(unit.sets) == {None} for name in unit.destinations
        ),
    )


def _places(
    allocation: Allocation, ways: tuple[Way, ...], complete: bool, watch: Watch
) -> tuple[Place, ...]:
    knob_of = {route.destination: route.knob for route in allocation.routes}
    values = tuple(tier.value for tier in allocation.tiers)
    # Where all ways are known, the names of a set are on one knob in every best layout.
    sets = [names for names in ways[0].sets if all(names in way.sets for way in ways)]
    asked = {names: names[:1] if complete else names for names in sets}
    on = {name: knob_of[name] for names in asked.values() for name in names}
    off = elsewhere(allocation.request, values, on, watch)
    found = [
        Place(names, knob_of[names[0]], _only([off[name] for name in some]))
        for names, some in asked.items()
    ]
    panel = allocation.request.surface.knob_names
    return tuple(sorted(found, key=lambda place: panel.index(place.knob)))


def _only(elsewhere: Sequence[AsGoodLayout]) -> bool | None:
    if any(asked.knob_of is not None for asked in elsewhere):
        return False
    return True if all(asked.settled for asked in elsewhere) else None
