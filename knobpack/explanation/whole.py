"""Explain: every question about an allocation, answered at once."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import suppress
from itertools import takewhile
from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import Clash, ImpossibleDemands
from knobpack.definition.phrases import essential_told
from knobpack.errors import InputError, NoLayoutFound, Stopped
from knobpack.explanation.best_layouts import BestLayouts, best_layouts
from knobpack.explanation.budget import budget_of
from knobpack.explanation.budget_answer import Budget
from knobpack.explanation.case import Case
from knobpack.explanation.demand_prices import DemandPrices, price_of_demands
from knobpack.explanation.here import Here, here
from knobpack.explanation.least import LeastKnobs, least_knobs
from knobpack.explanation.shared import Shared, shared
from knobpack.explanation.unplaced import Unplaced, unplaced, why_unplaced
from knobpack.explanation.witness import filling
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.words import Request, Setup
from knobpack.words.fields import check_kind


@attrs.frozen
class Explanation(Answer):
    """An allocation explained.

    Args:
        here: for each destination that is placed, why it is where it is, and why on no other
            knob, in the order of the request.
        shared: for each knob that is shared, why, in panel order.
        unplaced: for each destination left out, why.
        budget: what a knob more or fewer would be worth, and to whom.
        least: how many knobs full independence takes; None where no number of knobs is enough, or
            it was stopped before that was known.
        clash: why none is; None where some number is enough.
        demand_prices: what each rule, snapshot, kept route and limit costs, if that was asked for.
        ties: the other best layouts, if that was asked for.
        essential_out: the full names of what is essential and left out.
        stopped: what cut it off before all of this was known; None: nothing.
        allocation: what is explained.
    """

    question: ClassVar[str] = "explain"

    here: tuple[Here, ...]
    shared: tuple[Shared, ...]
    unplaced: tuple[Unplaced, ...]
    budget: Budget
    least: LeastKnobs | None
    clash: Clash | None
    demand_prices: DemandPrices | None = None
    ties: BestLayouts | None = None
    essential_out: tuple[str, ...] = ()
    stopped: Stopped | None = None
    allocation: Allocation = attrs.field(kw_only=True, repr=False)

    def page(self, setup: Setup | None = None, first: Iterable[str] = ()) -> str:
        """The explanation as one page of HTML that needs nothing else, and no script.

        The panel stands on it as it lies. Each knob leads to what it drives, and that to why it is
        there, why it is nowhere else and what that would cost, with the graph of those reasons; a
        snapshot that is chosen shows which knobs follow. It can be used with keys alone, on a
        phone, and on paper.

        Args:
            setup: what was made of the layout, with its name, labels and snapshots; None: the
                layout alone is shown.
            first: what is told first, such as the ``headlines`` of the combination or edit that
                it was laid out for; none: those of the layout.

        Returns:
            The page.

        Raises:
            InputError: ``setup`` is no Setup, or of another panel.

        Example:
            >>> from knobpack import Destination, Surface, Voice, allocate
            >>> organ = Voice("Organ", [Destination("level"), Destination("drive")])
            >>> page = allocate([organ], Surface.row(2)).explain().page()
            >>> page.count('<li id="knob-')
            2
        """
        from knobpack.explanation.page import page_of

        if setup is None:
            told = "Why the knobs are as they are"
            return page_of(self, self.allocation.setup("layout"), told, (*first,))
        check_kind("Explanation.page.setup", setup, Setup)
        if setup.surface.knob_names != self.allocation.request.surface.knob_names:
            raise InputError("Explanation.page.setup", setup.name, "give a setup of this panel")
        told = f"Why the knobs of {setup.name} are as they are"
        return page_of(self, setup, told, (*first,))

    @property
    def _answers(self) -> tuple[Answer, ...]:
        rest = [each for each in (self.least, self.demand_prices, self.ties) if each is not None]
        return (*self.unplaced, self.budget, *rest, *self.shared, *self.here)

    @property
    def proven(self) -> bool:
        """Whether all is told, and proven."""
        return self.stopped is None and all(each.proven for each in self._answers)

    @property
    def sentences(self) -> tuple[str, ...]:
        """All sentences, what matters most first: what is lost, what is shared, then each route."""
        found = [*essential_told(self.essential_out)]
        if self.stopped:
            found.append(f"Not all is told: the search was stopped ({self.stopped}).")
        found += [line for each in self._answers for line in each.sentences]
        if self.clash is not None:
            found.append(f"All of it can be had on no number of knobs: {self.clash}")
        return tuple(found)


def explain(
    allocation: Allocation,
    *,
    solve: bool = False,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Explanation:
    """Answer every question about an allocation.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        solve: whether to answer also what takes solving again: what each rule and snapshot costs,
            what would place what is left out, which others could share a knob instead, and which
            other layouts are as good.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The answers, one for each route, shared knob and destination left out, and those about the
        whole; once it is cut off, those that are known by then, and ``stopped`` says so.

    Raises:
        InputError: ``allocation`` is no Allocation, ``solve`` not true or false, ``effort`` no
            number from 0 to 10**9, or ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import explain
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> print(explain(allocation).sentences[0])
        One more knob would save 2,700 points in 'sharing knobs'; it would go to Glass pad.
    """
    check_kind("explain.allocation", allocation, Allocation)
    check_kind("explain.solve", solve, bool)
    run = begun("explain", effort, limits)
    case, request = Case(allocation), allocation.request
    placed = (name for name in request.by_full_name if name in case.knob_of)
    sharing = (knob for knob, names in case.on.items() if len(names) > 1)
    heres = tuple(here(case, name) for name in _until_cut_off(run, placed))
    witness = None if run.cut_off else filling(case, run)
    knobs = _until_cut_off(run, sharing)
    shares = tuple(shared(case, knob, witness, others=solve) for knob in knobs)
    with run.share(1 / 5 if solve else 1) as own:
        out = tuple(_out(case, own, solve=solve))
    with run.share(1 / 4 if solve else 1 / 2) as own:
        budget = budget_of(case, own)
    with run.share(1 / 3 if solve else 1) as own:
        least, clash, stopped = _least(request, own)
    demand_prices = ties = None
    if solve:
        with run.share(1 / 2) as own:
            demand_prices = price_of_demands(allocation, limits=own)
        ties = best_layouts(allocation, limits=run)
    return Explanation(
        here=heres,
        shared=shares,
        unplaced=out,
        budget=budget,
        least=least,
        clash=clash,
        demand_prices=demand_prices,
        ties=ties,
        essential_out=allocation.essential_out,
        stopped=run.short or budget.stopped or stopped,
        allocation=allocation,
    )


def _until_cut_off(run: Run, names: Iterable[str]) -> Iterator[str]:
    return takewhile(lambda _: not run.cut_off, names)


def _out(case: Case, run: Run, *, solve: bool) -> Iterator[Unplaced]:
    """Why things are left out; what would place them only if it is found in time."""
    for name, own in run.in_turn(case.allocation.unplaced):
        if run.cut_off:
            return
        found = None
        if solve and not own.stopped:
            with suppress(NoLayoutFound):
                found = why_unplaced(case.allocation, name, limits=own)
        yield found or unplaced(case, name)


def _least(request: Request, run: Run) -> tuple[LeastKnobs | None, Clash | None, Stopped | None]:
    """How many knobs full independence takes, or why none is enough, or what stopped it.

    A layout may break a snapshot, or leave something out, that no number of knobs would mend.
    """
    if run.cut_off:
        return None, None, run.cut_off
    try:
        return least_knobs(request, limits=run), None, None
    except ImpossibleDemands as error:
        return None, error.clash, None
    except NoLayoutFound as error:
        return None, None, error.stopped
