"""The knob budget of an edit: what a knob more would have spared, and a knob fewer cost.

In a setup in use each knob has what it drives, and what moves counts before how well knobs are
shared. So knobs are not alike, families cannot be added up, and every entry is a request solved
again: the whole surface, and for a family the whole surface with all else held where it is. Where
all of a family is where it was there is nothing that a knob more could spare it: to move any of it
would cost more, and where all stays all is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.explanation.again import Again
from knobpack.explanation.budget_answer import (
    Budget,
    FamilyBudget,
    FewerKnobs,
    KnobGivenUp,
    MoreKnobs,
)
from knobpack.explanation.budget_entry import (
    Entry,
    at_most,
    beside,
    first_tiers,
    least_of,
    no_worse,
    of_tiers,
    unknown,
)
from knobpack.explanation.case import Case
from knobpack.explanation.families import UPPER_IN_USE, Divided, Family, upper
from knobpack.explanation.free_knob import offers
from knobpack.prices import tiers_of
from knobpack.words import Barred, Fixed, Request, Rule
from knobpack.words.edits import with_knobs, without_knob


def in_use_budget(
    allocation: Allocation, layout: Divided, again: Again, *, each_knob: bool
) -> Budget:
    """As :func:`knobpack.questions.knob_budget`, for an allocation of an edit of a setup in use."""
    return _InUse(allocation, layout, again).budget(each_knob)


def each_given_up(allocation: Allocation, layout: Divided, again: Again) -> tuple[KnobGivenUp, ...]:
    """The whole surface without each knob that could be given up, the cheapest first."""
    now = of_tiers(allocation.tiers, tiers_of(allocation.request.in_use))
    found = []
    for knob in layout.open:
        entry = again.solve(without_knob(allocation.request, knob), len(allocation.tiers))
        found.append(KnobGivenUp(knob, None if entry is None else beside(now, entry)))
    found.sort(key=lambda each: (each.entry is None, each.entry.rank if each.entry else ()))
    return tuple(found)


@attrs.frozen(eq=False)
class _InUse:
    """One budget in the making."""

    allocation: Allocation
    layout: Divided
    again: Again

    @property
    def request(self) -> Request:
        return self.allocation.request

    @property
    def now(self) -> Entry:
        """The whole surface as it is."""
        order = tiers_of(in_use=True)
        entry = of_tiers(self.allocation.tiers[:UPPER_IN_USE], order)
        return beside(entry, entry)

    def budget(self, each_knob: bool) -> Budget:
        now = self.now
        families = tuple(self._family(family, now) for family in self.layout.families)
        each = each_given_up(self.allocation, self.layout, self.again) if each_knob else ()
        return Budget(
            families=families,
            between_families=self.layout.between,
            bundles_between_families=self.layout.bundles,
            now=now,
            more=self._more(now, families),
            fewer=self._fewer(now, families, each),
            unused=self.layout.unused,
            offers=offers(Case(self.allocation)),
            each_knob=each,
            solved_again=self.again.solved,
        )

    # One family

    def _family(self, family: Family, now: Entry) -> FamilyBudget:
        fewer = self._family_fewer(family, now)
        return FamilyBudget(
            family.name,
            family.destinations,
            family.knobs,
            None if fewer is None else beside(now, fewer),
            now,
            beside(now, self._family_more(family, now)),
        )

    def _family_more(self, family: Family, now: Entry) -> Entry:
        if now.proven and self._unmoved(family.destinations):
            return now
        if self.again.run.stopped:
            return unknown(UPPER_IN_USE, now.order)
        wide = with_knobs(self.request)
        added = [name for name in wide.surface.knob_names if name not in self._panel]
        solved = self.again.solve(self._held(wide, family, (*family.knobs, *added)), UPPER_IN_USE)
        return at_most(solved, now.values)

    def _family_fewer(self, family: Family, now: Entry) -> Entry | None:
        found: list[Entry | None] = []
        for knob in family.spare:
            if self.again.run.stopped:
                found.append(unknown(UPPER_IN_USE, now.order))
                break
            left = [name for name in family.knobs if name != knob]
            held = self._held(self.request, family, left)
            found.append(self.again.solve(held, UPPER_IN_USE))
            if no_worse(found[-1], now):
                break
        return least_of(found, now)

    def _unmoved(self, destinations: Iterable[str]) -> bool:
        """Whether all of these are where they were, and nothing is broken."""
        previous = self.request.previous
        was = {} if previous is None else {r.destination: r.knob for r in previous.routes}
        now = {route.destination: route.knob for route in self.allocation.routes}
        stays = all(name in now and was.get(name) == now[name] for name in destinations)
        return stays and not self.allocation.prices.breaks

    def _held(self, request: Request, family: Family, knobs: Sequence[str]) -> Request:
        """The request with a family on these knobs, and all else held where it is."""
        own, panel = set(family.destinations), request.surface.knob_names
        held = [route for route in self.allocation.routes if route.destination not in own]
        placed = {route.destination for route in held}
        out = tuple(n for n in request.destinations if n not in own and n not in placed)
        closed = tuple(knob for knob in panel if knob not in knobs)
        rules: list[Rule] = [Fixed((route.destination,), route.knob) for route in held]
        rules += [Barred(out, panel)] if out and panel else []
        rules += [Barred(family.destinations, closed)] if closed else []
        return upper(attrs.evolve(request, rules=(*request.rules, *rules)))

    # The whole surface

    def _more(self, now: Entry, families: Sequence[FamilyBudget]) -> MoreKnobs:
        joined = [family.more.values for family in families]
        if now.proven and self._unmoved(self.request.destinations):
            found = now
        else:
            solved = self.again.solve(upper(with_knobs(self.request)), UPPER_IN_USE)
            found = at_most(solved, *joined, now.values)
        found = beside(now, found)
        saves = any(found.change or ())
        takers = tuple(at for at, each in enumerate(joined) if saves and each == found.values)
        return MoreKnobs(
            found.values, found.bounds, found.proven, found.change, found.order, takers
        )

    def _fewer(
        self, now: Entry, families: Sequence[FamilyBudget], each: Sequence[KnobGivenUp]
    ) -> FewerKnobs | None:
        joined = [None if family.fewer is None else family.fewer.values for family in families]
        found = None
        if self.layout.unused or (now.proven and now.values in joined):
            found = now
        elif each:
            found = least_of([first_tiers(given.entry, UPPER_IN_USE) for given in each], now)
        else:
            found = self._without_one(joined)
        if found is None:
            return None
        found = beside(now, found)
        givers = tuple(at for at, values in enumerate(joined) if values and values == found.values)
        return FewerKnobs(
            found.values, found.bounds, found.proven, found.change, found.order, givers
        )

    def _without_one(self, joined: Sequence[tuple[int, ...] | None]) -> Entry | None:
        """The surface without one knob, whichever it is best without."""
        if not self.layout.spare:
            return None
        request = upper(self.request)
        found = self.again.solve(request, UPPER_IN_USE, self.layout.spare)
        return None if found is None else at_most(found, *joined)

    @property
    def _panel(self) -> frozenset[str]:
        return frozenset(self.request.surface.knob_names)
