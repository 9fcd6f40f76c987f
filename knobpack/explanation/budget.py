"""The knob budget: what each family would cost with a knob fewer and one more, and the whole too.

Most of it the search knows already: it found what each family costs with each number of knobs
before it divided them. Only what it does not know is solved again, family by family.

In a setup in use each knob has what it drives, and what moves counts before how well knobs are
shared. So knobs are not alike, families cannot be added up, and every entry is the whole surface
solved again, for a family with all else held where it is. Where all of a family is where it was
there is nothing that a knob more could spare it: to move any of it would cost more, and where all
stays all is known.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from functools import cached_property, partial
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_short
from knobpack.definition.importance_prices import hidden_price, omission_price
from knobpack.definition.prices import tiers_of
from knobpack.errors import NoLayoutFound
from knobpack.explanation.budget_answer import Budget, FamilyBudget, FewerKnobs, MoreKnobs
from knobpack.explanation.budget_entry import (
    Entry,
    at_most,
    beside,
    best_of,
    certain,
    no_worse,
    of_tiers,
    unknown,
)
from knobpack.explanation.case import Case
from knobpack.explanation.families import (
    UPPER,
    UPPER_IN_USE,
    Divided,
    LayoutFamily,
    divided,
    request_of,
    shares,
    upper,
)
from knobpack.explanation.free_knob import offers
from knobpack.limits import DEFAULT_EFFORT, QUARTER, Limits, Run, begun
from knobpack.words import Barred, Fixed, Request, Rule
from knobpack.words.edits import with_knobs, without_knob
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.value_functions.known import Known
    from knobpack.solver.value_functions.scale import Scale
    from knobpack.solver.watch import Watch

HALF = 0.5
"""The part of the effort and time for what the value functions say."""

Costs = dict[int, tuple[int, int, int, int] | None]
"""Numbers of knobs that nothing is kept or fixed on, and what they cost, where that is known."""

Values = Sequence[tuple[int, ...] | None]
"""For each family what the whole surface comes to if that alone changes; None: it cannot."""


def knob_budget(
    allocation: Allocation, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> Budget:
    """Tell what other numbers of knobs would cost: for each family, and for the whole surface.

    Of an edit of a setup in use it is told what they would have spared: what is lost, what moves,
    what is joined or parted. Nothing is known of that beforehand, so each is solved.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The budget: it holds each cost, and whether that is proven.

    Raises:
        InputError: ``allocation`` is no Allocation or ``effort`` no number from 0 to 10**9, or the
            surface can have no knob more, or ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import knob_budget
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> print(knob_budget(allocation).sentences[0])
        One more knob would save 2,700 points in 'sharing knobs'; it would go to Glass pad.
    """
    check_kind("knob_budget.allocation", allocation, Allocation)
    return budget_of(Case(allocation), begun("knob_budget", effort, limits))


def budget_of(case: Case, run: Run) -> Budget:
    """As :func:`knob_budget`, for a case."""
    return _Budgeting(case, run, divided(case)).made()


def known_of(case: Case, layout: Divided, watch: Watch) -> Known | None:
    """What each family, and the whole, costs with other numbers of knobs, as far as it is known."""
    from knobpack.solver.outcome import ImpossibleError
    from knobpack.solver.value_functions.known import known_costs

    unplaced, bundles, breaks, sharing, *_ = case.allocation.prices.totals
    values = unplaced, bundles, breaks, sharing
    try:
        return known_costs(layout.problem, values, watch, case.allocation)
    except ImpossibleError:
        return None  # the layout is valid for having less to place than was asked


@attrs.define(eq=False, slots=False)
class _Budgeting:
    """One budget in the making.

    Args:
        case: what it is about.
        run: the question; once it is cut off, nothing more is known.
        layout: its families.
        solved: how many requests were solved.
        shares: what each family that was looked at costs in the layout as it is.
    """

    case: Case
    run: Run
    layout: Divided
    solved: int = 0
    shares: dict[tuple[str, ...], tuple[int, ...]] = attrs.field(factory=dict)

    @property
    def request(self) -> Request:
        return self.case.request

    @property
    def in_use(self) -> bool:
        return self.request.in_use

    @cached_property
    def now(self) -> Entry:
        """The whole surface as it is."""
        tiers = UPPER_IN_USE if self.in_use else UPPER
        entry = of_tiers(self.case.allocation.tiers[:tiers], tiers_of(self.in_use))
        return beside(entry, entry)

    @cached_property
    def wide(self) -> Request:
        """The request with one knob more."""
        return with_knobs(self.request)

    def made(self) -> Budget:
        known = None
        if not self.in_use and not self.run.cut_off:
            with self.run.share(HALF) as own:
                known = known_of(self.case, self.layout, own.watch())
        costs = {each.items: dict(each.costs) for each in known.families} if known else {}
        families = tuple(
            self._family(family, costs.get(family.items, {})) for family in self.layout.families
        )
        whole: Costs = dict(known.whole.costs) if known else {}
        found = Budget(
            families=families,
            between_families=self.layout.between,
            bundles_between_families=self.layout.bundles,
            now=self.now,
            more=self._more(families, whole),
            fewer=self._fewer(families, whole),
            unused=self.layout.unused,
            offers=offers(self.case),
            solved_again=self.solved,
        )
        return found if found.proven else attrs.evolve(found, stopped=self.run.short)

    def _solve(self, asked: Callable[[], Request], one_empty: Collection[str] = ()) -> Entry | None:
        """What a request comes to, with a part of the effort that is left; None: it is impossible.

        What a knob more or fewer is worth is a matter of room: what is barred from all the knobs
        that are left counts as left out. What is asked is not put together once it is cut off.
        """
        tiers, order = len(self.now.bounds), tiers_of(self.in_use)
        if self.run.stopped:
            return unknown(tiers, order)
        self.solved += 1
        try:
            with self.run.share(QUARTER) as own:
                found = allocate_short(asked(), own, one_empty=one_empty)
        except NoLayoutFound:
            return unknown(tiers, order)
        return None if found is None else of_tiers(found.tiers[:tiers], order)

    def _without(
        self, spare: Iterable[str], asked: Callable[[str], Request], now: Entry
    ) -> Entry | None:
        """What it comes to without one of some knobs, the best choice of it."""
        found: list[Entry | None] = []
        for knob in spare:
            found.append(self._solve(partial(asked, knob)))
            if no_worse(found[-1], now):
                break
        return best_of(found, now)

    # One family

    def _family(self, family: LayoutFamily, costs: Costs) -> FamilyBudget:
        now = self.now if self.in_use else self._family_now(family, costs)
        more = beside(now, self._family_more(family, costs, now))
        fewer = self._family_fewer(family, costs, now)
        return FamilyBudget(
            family.name,
            family.destinations,
            family.knobs,
            None if fewer is None else beside(now, fewer),
            beside(now, now),
            more,
        )

    def _family_now(self, family: LayoutFamily, costs: Costs) -> Entry:
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
        return at_most(self._solve(lambda: self._alone(self.request, family, family.knobs)), share)

    def _family_more(self, family: LayoutFamily, costs: Costs, now: Entry) -> Entry:
        if self._at_its_best(now, family.destinations):
            return now
        known = self._known(family, costs, family.free + 1).get(family.free + 1)
        if known is not None:
            return certain(known)
        panel = self.request.surface.knob_names
        added = (name for name in self.wide.surface.knob_names if name not in panel)
        solved = self._solve(lambda: self._alone(self.wide, family, (*family.knobs, *added)))
        return at_most(solved, now.values)

    def _family_fewer(self, family: LayoutFamily, costs: Costs, now: Entry) -> Entry | None:
        if not self.in_use:
            if not family.free or (len(family.knobs) == 1 and family.needed):
                return None
            if len(family.knobs) == 1:
                return certain(self._left_out(family))
            costs = self._known(family, costs, family.free - 1)
            if family.free - 1 in costs:
                known = costs[family.free - 1]
                return None if known is None else certain(known)

        def left(knob: str) -> Request:
            return self._alone(self.request, family, [k for k in family.knobs if k != knob])

        return self._without(family.spare, left, now)

    def _at_its_best(self, now: Entry, destinations: Iterable[str]) -> bool:
        """Whether a knob more could spare some destinations nothing."""
        if not self.in_use:
            return not any(now.values or (1,))
        use, knob_of = self.request.previous, self.case.knob_of
        was = {route.destination: route.knob for route in use.routes} if use else {}
        stays = all(name in knob_of and was.get(name) == knob_of[name] for name in destinations)
        return now.proven and stays and not self.case.allocation.prices.breaks

    def _known(self, family: LayoutFamily, costs: Costs, knobs: int) -> Costs:
        """What is known of a family, which is gone through if nothing is of so many knobs."""
        if self.in_use or knobs in costs or self.run.cut_off:
            return costs
        from knobpack.solver.value_functions.known import costs_of_family

        return dict(costs_of_family(self.layout.problem, family.items, self._scale).costs)

    @cached_property
    def _scale(self) -> Scale:
        from knobpack.solver.value_functions.scale import scale_of

        return scale_of(self.layout.problem)

    def _left_out(self, family: LayoutFamily) -> tuple[int, ...]:
        """What it costs that nothing of a family is placed."""
        request, own = self.request, set(family.destinations)
        parted = (len(own.intersection(bundle.names)) - 1 for bundle in request.bundles)
        unplaced = sum(omission_price(request, name) for name in own)
        hidden = sum(hidden_price(request, name) for name in own)
        return unplaced, sum(max(0, each) for each in parted), 0, hidden

    @cached_property
    def _priced(self) -> dict[tuple[str, ...], tuple[int, ...]]:
        """What each family costs in the layout as it is."""
        return shares(self.case, self.layout)

    def _alone(self, request: Request, family: LayoutFamily, knobs: Collection[str]) -> Request:
        """The request for one family on these knobs, with the routes that the others leave.

        Of a setup in use that for the whole surface, all else held where it is.
        """
        own, panel = set(family.destinations), request.surface.knob_names
        others = [r for r in self.case.allocation.routes if r.destination not in own]
        if not self.in_use:
            limit = request.surface.routes
            routes = None if limit is None else limit - len(others)
            return request_of(request, family.destinations, knobs, routes)
        placed = {*own, *(route.destination for route in others)}
        out = tuple(name for name in request.by_full_name if name not in placed)
        closed = tuple(knob for knob in panel if knob not in knobs)
        rules: list[Rule] = [Fixed((route.destination,), route.knob) for route in others]
        rules += [Barred(out, panel)] if out and panel else []
        rules += [Barred(family.destinations, closed)] if closed else []
        return upper(attrs.evolve(request, rules=(*request.rules, *rules)))

    # The whole surface

    def _more(self, families: Sequence[FamilyBudget], costs: Costs) -> MoreKnobs:
        joined = self._joined([own.more for own in families], 1)
        known, found = costs.get(self.layout.free + 1), self.now
        if known is not None:
            found = certain(known)
        elif not self._at_its_best(self.now, self.request.by_full_name):
            solved = self._solve(lambda: upper(self.wide))
            found = at_most(solved, *joined, self.now.values)
        found = beside(self.now, found)
        saves = any(found.change or ())
        takers = (at for at, values in enumerate(joined) if saves and values == found.values)
        return MoreKnobs(**attrs.asdict(found, recurse=False), takers=tuple(takers))

    def _fewer(self, families: Sequence[FamilyBudget], costs: Costs) -> FewerKnobs | None:
        joined = self._joined([own.fewer for own in families], -1)
        now, free, found = self.now, self.layout.free, None
        if self.layout.unused or (now.proven and now.values in joined):
            found = now
        elif free - 1 in costs:
            known = costs[free - 1]
            found = None if known is None else certain(known)
        elif self.layout.spare:
            if self.in_use:
                found = self._solve(partial(upper, self.request), self.layout.spare)
            else:
                less = partial(without_knob, self.request)
                found = self._without(self.layout.spare, lambda knob: upper(less(knob)), now)
            found = None if found is None else at_most(found, *joined)
        if found is None:
            return None
        found = beside(now, found)
        givers = (at for at, values in enumerate(joined) if values and values == found.values)
        return FewerKnobs(**attrs.asdict(found, recurse=False), givers=tuple(givers))

    def _joined(self, entries: Sequence[Entry | None], more: int) -> Values:
        """For each family what the whole comes to, at most, if that has other knobs.

        It comes to less only where the family then leaves out all it has of what spans families,
        so where this is the best that the whole can come to, it is just that. None where the
        search was stopped.

        Args:
            entries: what each family comes to then; None: it cannot.
            more: how many knobs more it has.
        """
        values = [None if entry is None else entry.values for entry in entries]
        if self.in_use:
            return values
        before = self.case.allocation.prices.totals[:UPPER]
        found: list[tuple[int, ...] | None] = []
        for family, then in zip(self.layout.families, values, strict=True):
            if then is None:
                found.append(None)
                continue
            share, holds = self.shares[family.destinations], len(family.knobs) + more > 0
            *upper_tiers, sharing = (
                whole - own + other for whole, own, other in zip(before, share, then, strict=True)
            )
            sharing += sum(p.weight * (holds - p.held) for p in family.parts if p.elsewhere)
            found.append((*upper_tiers, sharing))
        return found
