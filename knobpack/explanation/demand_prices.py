"""Demand prices: what each rule, snapshot and limit costs the layout, by solving without it.

Both layouts are priced by what is asked without it, the one that is there as well: a rule or a kept
route says what joining costs too, as what it binds is one load, and by two measures a layout that
is no better could seem to be. So nothing has a price below 0: what does without something could
leave all where it is. A preferred rule that is not followed costs the layout nothing, and a
snapshot that is broken anyway. Everything else stays as it is, snapshots made by default too.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile
from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.checked import completed
from knobpack.checker import check
from knobpack.definition.prices import Prices
from knobpack.errors import NoLayoutFound, Stopped
from knobpack.explanation.comparison import compared
from knobpack.explanation.what_if import (
    Difference,
    difference,
    moves_told,
    proof,
    told_clash,
)
from knobpack.limits import DEFAULT_EFFORT, QUARTER, Limits, Run, begun
from knobpack.reasons.answer_graph import Answer, Reasoned
from knobpack.text.shown import Told
from knobpack.words import Layout, Request, Route
from knobpack.words import demand as words
from knobpack.words.demand import Demand, demands_of, rules_and_snapshots
from knobpack.words.edits import given_up
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch

PRICED = (words.KEEP, words.RESERVED, words.PER_KNOB, words.ROUTES)
"""The kinds of demand that are priced besides rules and snapshots."""

GLANCE = 0.1
"""The effort for a tier that is not proven of the allocation either."""

MOST_KEPT = 4
"""Families whose sets are kept, priced, for the next search; of one they can take some 20 MB."""


@attrs.frozen
class DemandPrice(Told, Reasoned):
    """What one thing that was asked costs: what the layout would gain without it.

    Args:
        demand: that thing.
        what: the rule, snapshot, kept route or limit, in words.
        required: whether every layout must meet it; else it has a price in any case.
        difference: what the best layout without it costs beside the layout of the allocation, both
            priced without it; a tier of the latter is proven where it is proven best as asked. It
            is looked for until the tier is proven that decides: those after it may not be.
    """

    demand: Demand
    what: str
    required: bool
    difference: Difference

    @property
    def kind(self) -> str:
        """``rule``, ``snapshot`` or another kind of :class:`knobpack.words.demand.Demand`."""
        return "snapshot" if self.demand.kind == words.SEPARATE else self.demand.kind

    @property
    def price(self) -> int | None:
        """The points that it costs: the best layout without it has so many less; None: none is.

        It is 0 where none has less, be it that a route has to leave a reserved knob.
        """
        return None if self.difference.price is None else max(0, -self.difference.price)

    @property
    def tier(self) -> str | None:
        """The tier that those points are of; None: it costs nothing, or has no price."""
        return self.difference.tier if self.price else None

    @property
    def free(self) -> bool:
        """Whether it is proven to cost nothing: no layout would be better without it."""
        return self.price == 0 and self.difference.proven

    @property
    def sentences(self) -> tuple[str, ...]:
        """What it costs, in one plain sentence."""
        comparison = self.difference.comparison
        if comparison is None:
            return (f"Without {self.what}: {told_clash(self.difference)}.",)
        better, none = comparison.amount < 0, "no better layout was found"
        if self.difference.proven:
            none = "no layout would be better"
        price = comparison.told if better else none
        then = f"; then {moves_told(moved)}" if better and (moved := self.difference.moved) else ""
        return (f"Without {self.what}: {price}{proof(proven=self.difference.proven)}{then}.",)


@attrs.frozen
class DemandPrices(Answer):
    """What everything that was asked costs, the dearest first; iterating gives the prices.

    Args:
        prices: one for each rule, snapshot, kept route and limit.
        untold: those that it was stopped before, in words.
        stopped: what cut it, or some of it, short; None: nothing.
    """

    question: ClassVar[str] = "price of demands"

    prices: tuple[DemandPrice, ...]
    untold: tuple[str, ...] = ()
    stopped: Stopped | None = None

    def __iter__(self) -> Iterator[DemandPrice]:
        return iter(self.prices)

    def __len__(self) -> int:
        return len(self.prices)

    @property
    def proven(self) -> bool:
        """Whether all of them are told, and proven."""
        return not self.untold and all(each.difference.proven for each in self.prices)

    @property
    def sentences(self) -> tuple[str, ...]:
        """One sentence for each, the dearest first."""
        if not self.prices and not self.untold:
            return ("Nothing was asked that could cost anything.",)
        free = [each for each in self.prices if each.free]
        kept = [each for each in free if each.kind == words.KEEP]
        one_by_one = [each for each in free if len(kept) < 2 or each.kind != words.KEEP]
        found = [line for each in self.prices if not each.free for line in each.sentences]
        if len(kept) > 1:
            every = sum(each.kind == words.KEEP for each in self.prices)
            which = f"the {len(kept)}" if len(kept) == every else f"the other {len(kept)}"
            told = f"Without any one of {which} routes that are kept"
            found.append(f"{told} no layout would be better, proven.")
        if one_by_one:
            alone = "this" if len(one_by_one) == 1 else "any one of these, all else as it is,"
            found.append(f"Without {alone} no layout would be better, proven:")
            found += [f"  {each.what}" for each in one_by_one]
        if self.untold:
            found.append(f"Not told, as it was stopped ({self.stopped}): {listed(self.untold)}.")
        return tuple(found)


def price_of_demands(
    allocation: Allocation, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> DemandPrices:
    """Tell what each rule, snapshot, kept route and limit costs: each is dropped and all solved.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        A price for each of them, the dearest first; of those that it was stopped before, the names.

    Raises:
        InputError: ``allocation`` is no Allocation, ``effort`` no number from 0 to 10**9, or
            ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Together, Voice, allocate
        >>> from knobpack.questions import price_of_demands
        >>> pad = Voice("Glass pad", (Destination("cutoff"), Destination("level")))
        >>> rule = Together(("Glass pad/cutoff", "Glass pad/level"))
        >>> allocation = allocate((pad,), Surface.row(2), rules=(rule,))
        >>> first, *others = price_of_demands(allocation)
        >>> print(first.what, "-", first.price, "in", first.tier)
        the rule together(Glass pad/cutoff, Glass pad/level) - 2400 in sharing
    """
    check_kind("price_of_demands.allocation", allocation, Allocation)
    run = begun("price_of_demands", effort, limits)
    found: list[DemandPrice] = []
    untold: list[str] = []
    stopped: Stopped | None = None
    for what, price in _each(allocation, run):
        if isinstance(price, DemandPrice):
            found.append(price)
            stopped = price.difference.stopped or stopped
        else:
            untold, stopped = [*untold, what], price
    found.sort(
        key=lambda each: each.difference.comparison.rank if each.difference.comparison else ()
    )
    return DemandPrices(tuple(found), tuple(untold), stopped)


def each_price(
    allocation: Allocation, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> Iterator[DemandPrice]:
    """Tell the same as :func:`price_of_demands`, one after the other, each as soon as it is known.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        An iterator, which looks for the next price when it is asked for it, in the order in which
        things were asked. It ends early when it is stopped, and passes over what it does not find.

    Raises:
        InputError: ``allocation`` is no Allocation, ``effort`` no number from 0 to 10**9, or
            ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Together, Voice, allocate
        >>> from knobpack.questions import each_price
        >>> pad = Voice("Glass pad", (Destination("cutoff"), Destination("level")))
        >>> rule = Together(("Glass pad/cutoff", "Glass pad/level"))
        >>> allocation = allocate((pad,), Surface.row(2), rules=(rule,))
        >>> [price.kind for price in each_price(allocation)]
        ['rule', 'snapshot']
    """
    check_kind("each_price.allocation", allocation, Allocation)
    run = begun("each_price", effort, limits)
    return (price for _, price in _each(allocation, run) if isinstance(price, DemandPrice))


def _each(allocation: Allocation, run: Run) -> Iterator[tuple[str, DemandPrice | Stopped]]:
    """What each thing that was asked costs, or what stopped the search for it.

    Each may take a share of the effort and time that are left.
    """
    from knobpack.solver.watch import Kept

    bare = tuple(attrs.evolve(each, travel=None) for each in allocation.routes)
    layout = Layout(bare, (), allocation.layout.layers)
    kept = Kept(MOST_KEPT)
    asked = _without_each(allocation.request)
    for (demand, what, required, request), own in run.in_turn(asked, QUARTER):
        if own.stopped:
            yield what, own.stopped
            continue
        watch = own.watch(allocation.prices.order)
        watch.kept = kept
        try:
            prices = check(request, completed(request, layout)).prices
            found = _decided(allocation, request, prices, watch)
            yield what, DemandPrice(demand, what, required, found)
        except NoLayoutFound as error:
            yield what, error.stopped


def _decided(allocation: Allocation, request: Request, prices: Prices, watch: Watch) -> Difference:
    """What another request changes, looked for until the tier is proven that decides it.

    Where a tier of the allocation is not proven itself, and all before it are the same, it gets no
    more than a glance: nothing could be proven of the difference.

    Args:
        allocation: what there is.
        request: the other request.
        prices: what the layout of the allocation costs by that.
        watch: what may cut the search short.
    """
    proven = sum(1 for _ in takewhile(lambda tier: tier.proven, allocation.tiers))
    before = prices.totals[:proven]
    known: dict[int, tuple[int | None, int]] = {}
    if request.previous is None:
        known[allocation.prices.order.index("change")] = 0, 0
    decided, told, stop = False, watch.told, watch.cancelled

    def tell(tier: int, value: int | None, bound: int) -> None:
        nonlocal decided
        known[tier] = value, bound
        if told is not None:
            told(tier, value, bound)
        for number, wanted in enumerate(before):
            there, least = known.get(number, (None, 0))
            if there is None or there != least:
                return
            if there != wanted:
                decided = True
                return
        if len(before) < len(allocation.tiers):
            watch.effort = min(watch.effort, GLANCE)

    watch.told = tell
    watch.cancelled = lambda: decided or (stop is not None and stop())
    found = _difference(allocation, request, prices, watch)
    if not decided or found.proven:
        made = found.allocation
        if decided and made is not None and made.stopped is not None:
            return attrs.evolve(found, allocation=attrs.evolve(made, stopped="a known answer"))
        return found
    # What was told of a part of the problem did not hold for all of it.
    watch.told, watch.cancelled, watch.stopped = told, stop, None
    return _difference(allocation, request, prices, watch)


def _difference(
    allocation: Allocation, request: Request, prices: Prices, watch: Watch
) -> Difference:
    """What another request changes, what there is being priced by that as well."""
    found = difference(allocation, request, watch)
    if found.allocation is None:
        return found
    before = tuple(
        Tier(tier.name, value, value if tier.proven else 0, tier.proven)
        for tier, value in zip(allocation.tiers, prices.totals, strict=True)
    )
    comparison = compared(prices, found.allocation.prices)
    return attrs.evolve(found, before=before, comparison=comparison)


def _without_each(request: Request) -> list[tuple[Demand, str, bool, Request]]:
    request = attrs.evolve(request, snapshots=request.played)
    demands = demands_of(request)
    priced = (each for each in demands if each.kind in PRICED)
    return [
        (each, _worded(each), each in demands, given_up(request, each))
        for each in (*rules_and_snapshots(request), *priced)
    ]


def _worded(demand: Demand) -> str:
    match demand.kind, demand.subject:
        case words.RULE, rule:
            return f"the rule {rule}{'' if rule.weight is None else f', weight {rule.weight:,}'}"
        case words.SEPARATE, name:
            return f"the snapshot '{name}'"
        case words.KEEP, Route(destination=name, knob=knob):
            return f"{name} being kept on {knob_told(knob)}"
        case words.RESERVED, knob:
            return f"{knob_told(knob)} being closed to what is new"
        case words.PER_KNOB, most:
            return f"the limit of {most} on a knob"
        case _, most:
            return f"the limit of {most} routes"
