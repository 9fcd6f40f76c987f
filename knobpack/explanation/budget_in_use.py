"""The knob budget of an edit: what a knob more would have spared, and a knob fewer cost.

In a setup in use each knob has what it drives, and what moves counts before how well knobs are
shared. So knobs are not alike, families cannot be added up, and every entry is a request solved
again: the whole surface, and for a family the whole surface with all else held where it is. Where
all of a family is where it was there is nothing that a knob more could spare it: to move any of it
would cost more, and where all stays all is known.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial

import attrs

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
    first_tiers,
    least_of,
    no_worse,
)
from knobpack.explanation.budget_frame import BudgetFrame, Values
from knobpack.explanation.families import UPPER_IN_USE, Family, upper
from knobpack.words import Barred, Fixed, Request, Rule


@attrs.frozen(eq=False)
class InUseBudgeting(BudgetFrame):
    """One budget in the making, of the allocation of an edit of a setup in use."""

    def made(self, each_knob: bool) -> Budget:
        """The budget; ``each_knob`` says whether to solve without each knob as well."""
        families = tuple(map(self._family, self.layout.families))
        each = self.each_given_up() if each_knob else ()
        return self.budget(families, each, self._more(families), self._fewer(families, each))

    # One family

    def _family(self, family: Family) -> FamilyBudget:
        now = self.now
        fewer = self._family_fewer(family, now)
        return self.of_family(family, now, self._family_more(family, now), fewer)

    def _family_more(self, family: Family, now: Entry) -> Entry:
        if now.proven and self._unmoved(family.destinations):
            return now
        solved = self.again.solve(
            lambda: self._held(self.wide, family, (*family.knobs, *self.added)), UPPER_IN_USE
        )
        return at_most(solved, now.values)

    def _family_fewer(self, family: Family, now: Entry) -> Entry | None:
        found: list[Entry | None] = []
        for knob in family.spare:
            left = [name for name in family.knobs if name != knob]
            held = partial(self._held, self.request, family, left)
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
        out = tuple(n for n in request.by_full_name if n not in own and n not in placed)
        closed = tuple(knob for knob in panel if knob not in knobs)
        rules: list[Rule] = [Fixed((route.destination,), route.knob) for route in held]
        rules += [Barred(out, panel)] if out and panel else []
        rules += [Barred(family.destinations, closed)] if closed else []
        return upper(attrs.evolve(request, rules=(*request.rules, *rules)))

    # The whole surface

    def _more(self, families: Sequence[FamilyBudget]) -> MoreKnobs:
        joined = [family.more.values for family in families]
        if self.now.proven and self._unmoved(self.request.by_full_name):
            return self.more(self.now, joined)
        solved = self.again.solve(lambda: upper(self.wide), UPPER_IN_USE)
        return self.more(at_most(solved, *joined, self.now.values), joined)

    def _fewer(
        self, families: Sequence[FamilyBudget], each: Sequence[KnobGivenUp]
    ) -> FewerKnobs | None:
        now = self.now
        joined = [None if family.fewer is None else family.fewer.values for family in families]
        if self.layout.unused or (now.proven and now.values in joined):
            return self.fewer(now, joined)
        if each:
            entries = [first_tiers(given.entry, UPPER_IN_USE) for given in each]
            return self.fewer(least_of(entries, now), joined)
        return self.fewer(self._without_one(joined), joined)

    def _without_one(self, joined: Values) -> Entry | None:
        """The surface without one knob, whichever it is best without."""
        if not self.layout.spare:
            return None
        asked = partial(upper, self.request)
        found = self.again.solve(asked, UPPER_IN_USE, self.layout.spare)
        return None if found is None else at_most(found, *joined)
