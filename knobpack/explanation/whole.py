"""Explain: every question about an allocation, answered at once."""

from __future__ import annotations

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import Clash, ImpossibleDemands
from knobpack.explanation.best_layouts import BestLayouts, best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.budget_answer import Budget
from knobpack.explanation.case import Case
from knobpack.explanation.here import Here, here
from knobpack.explanation.least import LeastKnobs, least_knobs
from knobpack.explanation.shared import Shared, shared
from knobpack.explanation.unplaced import Unplaced, unplaced, why_unplaced
from knobpack.explanation.witness import filling
from knobpack.explanation.worth import Worths, price_of_demands
from knobpack.limits import DEFAULT_EFFORT, check_limits
from knobpack.telling import Told
from knobpack.wording import essential_told
from knobpack.words.fields import check_kind


@attrs.frozen
class Explanation(Told):
    """An allocation explained.

    Args:
        here: for each destination that is placed, why it is where it is, and why on no other
            knob, in the order of the request.
        shared: for each knob that is shared, why, in panel order.
        unplaced: for each destination left out, why.
        budget: what a knob more or fewer would be worth, and to whom.
        least: how many knobs full independence takes; None where no number of knobs is enough.
        clash: why none is; None where some number is enough.
        worths: what each rule, snapshot, kept route and limit costs, if that was asked for.
        ties: the other best layouts, if that was asked for.
        essential_out: the full names of what is essential and left out.
    """

    here: tuple[Here, ...]
    shared: tuple[Shared, ...]
    unplaced: tuple[Unplaced, ...]
    budget: Budget
    least: LeastKnobs | None
    clash: Clash | None
    worths: Worths | None = None
    ties: BestLayouts | None = None
    essential_out: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """All sentences, what matters most first: what is lost, what is shared, then each route."""
        rest = [each for each in (self.least, self.worths, self.ties) if each is not None]
        answers: list[Told] = [*self.unplaced, self.budget, *rest, *self.shared, *self.here]
        found = [*essential_told(self.essential_out)]
        found += [line for each in answers for line in each.sentences]
        if self.clash is not None:
            found.append(f"Full independence can be had on no number of knobs: {self.clash}")
        return tuple(found)


def explain(
    allocation: Allocation, *, solve: bool = False, effort: float = DEFAULT_EFFORT
) -> Explanation:
    """Answer every question about an allocation.

    Args:
        allocation: what :func:`knobpack.allocate` gave back, or the one of an edit.
        solve: whether to answer also what takes solving again: what each rule and snapshot costs,
            what would place what is left out, and which other layouts are as good.
        effort: deterministic effort after which each search that takes stops, 0 to 10**9.

    Returns:
        The answers, one for each route, shared knob and destination left out, and those about the
        whole.

    Raises:
        InputError: ``allocation`` is no Allocation, ``solve`` not true or false, or ``effort`` no
            number from 0 to 10**9.
        NoLayoutFound: a search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import explain
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> print(explain(allocation).sentences[0])
        One more knob would save 2,400 points in 'sharing knobs'; it would go to Glass pad.
    """
    check_kind("explain.allocation", allocation, Allocation)
    check_kind("explain.solve", solve, bool)
    check_limits("explain", effort=effort)
    case = Case(allocation)
    witness = filling(case)
    least, clash = _least(allocation, effort)
    return Explanation(
        here=tuple(
            here(case, name) for name in allocation.request.destinations if name in case.knob_of
        ),
        shared=tuple(
            shared(case, knob, witness) for knob, names in case.on.items() if len(names) > 1
        ),
        unplaced=tuple(
            why_unplaced(allocation, name, effort=effort) if solve else unplaced(case, name)
            for name in allocation.unplaced
        ),
        budget=knob_budget(allocation, effort=effort),
        least=least,
        clash=clash,
        worths=price_of_demands(allocation, effort=effort) if solve else None,
        ties=best_layouts(allocation, effort=effort) if solve else None,
        essential_out=allocation.essential_out,
    )


def _least(allocation: Allocation, effort: float) -> tuple[LeastKnobs | None, Clash | None]:
    """How many knobs full independence takes, or why none is enough.

    A layout may break a snapshot, or leave something out, that no number of knobs would mend.
    """
    try:
        return least_knobs(allocation.request, effort=effort), None
    except ImpossibleDemands as error:
        return None, error.clash
