"""The knob budget: what each family would cost with a knob fewer and one more, and the whole too.

Most of it the search knows already: it found what each family costs with each number of knobs
before it divided them. Only what it does not know is solved again, family by family.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property, partial
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.prices import tiers_of
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
    certain,
    first_tiers,
    least_of,
    no_worse,
)
from knobpack.explanation.budget_frame import BudgetFrame, Values
from knobpack.explanation.budget_in_use import InUseBudgeting
from knobpack.explanation.case import Case
from knobpack.explanation.families import (
    UPPER,
    UPPER_IN_USE,
    Family,
    divided,
    request_of,
    shares,
    upper,
)
from knobpack.explanation.frontiers import frontiers_of
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.words import Request
from knobpack.words.edits import without_knob
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.value_functions.scale import Scale

HALF = 0.5
"""The part of the effort and time for what the value functions say."""

Costs = dict[int, tuple[int, int, int, int] | None]
"""Numbers of knobs that nothing is kept or fixed on, and what they cost, where that is known."""


def knob_budget(
    allocation: Allocation,
    *,
    effort: float = DEFAULT_EFFORT,
    each_knob: bool = False,
    limits: Limits | None = None,
) -> Budget:
    """Tell what other numbers of knobs would cost: for each family, and for the whole surface.

    Of an edit of a setup in use it is told what they would have spared: what is lost, what moves,
    what is joined or parted. Nothing is known of that beforehand, so each is solved.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        each_knob: whether to solve the request again without each knob as well.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The budget: it holds each cost, and whether that is proven.

    Raises:
        InputError: ``allocation`` is no Allocation, ``effort`` no number from 0 to 10**9 or
            ``each_knob`` not true or false, or the surface can have no knob more, or ``limits`` no
            Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import knob_budget
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> print(knob_budget(allocation).sentences[0])
        One more knob would save 2,400 points in 'sharing knobs'; it would go to Glass pad.
    """
    check_kind("knob_budget.allocation", allocation, Allocation)
    check_kind("knob_budget.each_knob", each_knob, bool)
    run = begun("knob_budget", effort, limits)
    return budget_of(Case(allocation), run, each_knob=each_knob)


def budget_of(case: Case, run: Run, *, each_knob: bool = False) -> Budget:
    """As :func:`knob_budget`, for a case."""
    layout, again = divided(case), Again(run, tiers_of(case.request.in_use))
    if case.request.in_use:
        return InUseBudgeting(case, layout, again, UPPER_IN_USE).made(each_knob)
    return _Budgeting(case, layout, again, UPPER).made(each_knob)


@attrs.frozen(eq=False)
class _Budgeting(BudgetFrame):
    """One budget in the making."""

    shares: dict[tuple[str, ...], tuple[int, ...]] = attrs.field(factory=dict, init=False)

    def made(self, each_knob: bool) -> Budget:
        known = None
        if not self.again.run.cut_off:
            with self.again.run.share(HALF) as own:
                known = frontiers_of(self.allocation, own.watch(), self.layout.problem)
        costs = {each.destinations: dict(each.costs) for each in known.families} if known else {}
        families = tuple(
            self._family(family, costs.get(family.destinations, {}))
            for family in self.layout.families
        )
        each = self.each_given_up() if each_knob else ()
        whole: Costs = dict(known.whole.costs) if known else {}
        more = self._more(families, whole)
        return self.budget(families, each, more, self._fewer(families, whole, each))

    # One family

    def _family(self, family: Family, costs: Costs) -> FamilyBudget:
        now = self._family_now(family, costs)
        more = self._family_more(family, costs, now)
        return self.of_family(family, now, more, self._family_fewer(family, costs, now))

    def _family_now(self, family: Family, costs: Costs) -> Entry:
        known = costs.get(family.free)
        regained = any(part.elsewhere and not part.held for part in family.parts)
        # With less, it would make the whole layout better, which is proven best.
        least = self.now.proven and not regained
        share = known if known is not None and least else self._priced[family.destinations]
        self.shares[family.destinations] = share
        if known is not None:
            return certain(known)
        if not family.knobs or least:
            return certain(share)
        return at_most(self.again.solve(lambda: self._alone(family, family.knobs)), share)

    def _family_more(self, family: Family, costs: Costs, now: Entry) -> Entry:
        if not any(now.values or (1,)):
            return now
        known = self._known(family, costs, family.free + 1).get(family.free + 1)
        if known is not None:
            return certain(known)
        solved = self.again.solve(
            lambda: self._alone(family, [*family.knobs, *self.added], self.wide)
        )
        return at_most(solved, now.values)

    def _family_fewer(self, family: Family, costs: Costs, now: Entry) -> Entry | None:
        if not family.free or (len(family.knobs) == 1 and family.needed):
            return None
        if len(family.knobs) == 1:
            return certain(self._left_out(family))
        costs = self._known(family, costs, family.free - 1)
        if family.free - 1 in costs:
            known = costs[family.free - 1]
            return None if known is None else certain(known)
        found = []
        for knob in family.spare:
            left = [name for name in family.knobs if name != knob]
            found.append(self.again.solve(partial(self._alone, family, left)))
            if no_worse(found[-1], now):
                break
        return least_of(found, now)

    def _known(self, family: Family, costs: Costs, knobs: int) -> Costs:
        """What is known of a family, which is gone through if nothing is of so many knobs."""
        if knobs in costs or self.again.run.cut_off:
            return costs
        from knobpack.solver.value_functions.known import costs_of_family

        return dict(costs_of_family(self.layout.problem, family.items, self._scale).costs)

    @cached_property
    def _scale(self) -> Scale:
        from knobpack.solver.value_functions.scale import scale_of

        return scale_of(self.layout.problem)

    def _left_out(self, family: Family) -> tuple[int, ...]:
        """What it costs that nothing of a family is placed."""
        request, own = self.request, set(family.destinations)
        parted = (len(own.intersection(bundle.names)) - 1 for bundle in request.bundles)
        unplaced = sum(map(request.omission, own))
        return unplaced, sum(max(0, each) for each in parted), 0, sum(map(request.hidden, own))

    @cached_property
    def _priced(self) -> dict[tuple[str, ...], tuple[int, ...]]:
        """What each family costs in the layout as it is."""
        return shares(self.case, self.layout)

    def _alone(
        self, family: Family, knobs: Iterable[str], request: Request | None = None
    ) -> Request:
        """The request for one family, on these knobs, with the routes that the others leave."""
        request = request or self.request
        own, limit = set(family.destinations), request.surface.routes
        others = sum(1 for route in self.allocation.routes if route.destination not in own)
        routes = None if limit is None else limit - others
        return request_of(request, family.destinations, knobs, routes)

    # The whole surface

    def _more(self, families: Sequence[FamilyBudget], costs: Costs) -> MoreKnobs:
        joined = [
            self._joined(at, own.more, family.free + 1)
            for at, (family, own) in enumerate(zip(self.layout.families, families, strict=True))
        ]
        known = costs.get(self.layout.free + 1)
        if known is not None:
            return self.more(certain(known), joined)
        if not any(self.now.values or (1,)):
            return self.more(self.now, joined)
        return self.more(
            at_most(self.again.solve(lambda: upper(self.wide)), *joined, self.now.values), joined
        )

    def _fewer(
        self, families: Sequence[FamilyBudget], costs: Costs, each: Sequence[KnobGivenUp]
    ) -> FewerKnobs | None:
        joined = [
            None if own.fewer is None else self._joined(at, own.fewer, family.free - 1)
            for at, (family, own) in enumerate(zip(self.layout.families, families, strict=True))
        ]
        now, free, found = self.now, self.layout.free, None
        if self.layout.unused or (now.proven and now.values in joined):
            found = now
        elif free - 1 in costs:
            known = costs[free - 1]
            found = None if known is None else certain(known)
        elif each:
            found = least_of([first_tiers(given.entry) for given in each], now)
        elif self.layout.spare:
            found = self._without_one(now, joined)
        return self.fewer(found, joined)

    def _without_one(self, now: Entry, joined: Values) -> Entry | None:
        found = []
        for knob in self.layout.spare:
            found.append(self.again.solve(partial(self._without, knob)))
            if no_worse(found[-1], now):
                break
        least = least_of(found, now)
        return None if least is None else at_most(least, *joined)

    def _without(self, knob: str) -> Request:
        return upper(without_knob(self.request, knob))

    def _joined(self, at: int, then: Entry, free: int) -> tuple[int, ...] | None:
        """What the whole surface comes to, at most, if one family has other knobs.

        It comes to less only where the family then leaves out all it has of what spans families,
        so where this is the best that the whole can come to, it is just that. None where the
        search was stopped.
        """
        if then.values is None:
            return None
        family, before = self.layout.families[at], self.allocation.prices.totals[:UPPER]
        share = self.shares[family.destinations]
        unplaced, bundles, breaks, sharing = (
            whole - own + other
            for whole, own, other in zip(before, share, then.values, strict=True)
        )
        for part in family.parts:
            if part.elsewhere:
                holds = free + len(family.bound) > 0
                sharing += part.weight * (holds - part.held)
        return unplaced, bundles, breaks, sharing
