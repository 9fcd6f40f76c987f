"""Budget frame: what is the same in every knob budget, of an edit and of all else."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, partial

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
from knobpack.explanation.budget_entry import Entry, beside, of_tiers
from knobpack.explanation.case import Case
from knobpack.explanation.families import Divided, Family
from knobpack.explanation.free_knob import offers
from knobpack.words import Request
from knobpack.words.edits import with_knobs, without_knob

Values = Sequence[tuple[int, ...] | None]
"""For each family what the whole surface comes to if that alone changes; None: it cannot."""


@attrs.frozen(eq=False)
class BudgetFrame:
    """One budget in the making.

    Args:
        case: what it is about.
        layout: its families.
        again: solves what is not known.
        tiers: how many tiers are told.
    """

    case: Case
    layout: Divided
    again: Again
    tiers: int

    @property
    def allocation(self) -> Allocation:
        """The allocation that it is about."""
        return self.case.allocation

    @property
    def request(self) -> Request:
        """What was asked."""
        return self.allocation.request

    @cached_property
    def now(self) -> Entry:
        """The whole surface as it is."""
        order = tiers_of(self.request.in_use)
        entry = of_tiers(self.allocation.tiers[: self.tiers], order)
        return beside(entry, entry)

    @cached_property
    def wide(self) -> Request:
        """The request with one knob more."""
        return with_knobs(self.request)

    @property
    def added(self) -> tuple[str, ...]:
        """That knob."""
        panel = self.request.surface.knob_names
        return tuple(name for name in self.wide.surface.knob_names if name not in panel)

    def each_given_up(self) -> tuple[KnobGivenUp, ...]:
        """The whole surface without each knob that could be given up, the cheapest first."""
        now = of_tiers(self.allocation.tiers, self.allocation.prices.order)
        found = []
        for knob in self.layout.open:
            less = partial(without_knob, self.request, knob)
            entry = self.again.solve(less, len(self.allocation.tiers))
            found.append(KnobGivenUp(knob, None if entry is None else beside(now, entry)))
        found.sort(key=lambda each: (each.entry is None, each.entry.rank if each.entry else ()))
        return tuple(found)

    @staticmethod
    def of_family(family: Family, now: Entry, more: Entry, fewer: Entry | None) -> FamilyBudget:
        """The budget of one family."""
        less = None if fewer is None else beside(now, fewer)
        here, there = beside(now, now), beside(now, more)
        return FamilyBudget(family.name, family.destinations, family.knobs, less, here, there)

    def more(self, found: Entry, joined: Values) -> MoreKnobs:
        """The whole surface with a knob more, and whom it would go to."""
        found = beside(self.now, found)
        saves = any(found.change or ())
        takers = [at for at, values in enumerate(joined) if saves and values == found.values]
        return MoreKnobs(
            found.values, found.bounds, found.proven, found.change, found.order, tuple(takers)
        )

    def fewer(self, found: Entry | None, joined: Values) -> FewerKnobs | None:
        """The whole surface with a knob fewer, and who would give it."""
        if found is None:
            return None
        found = beside(self.now, found)
        givers = [at for at, values in enumerate(joined) if values and values == found.values]
        return FewerKnobs(
            found.values, found.bounds, found.proven, found.change, found.order, tuple(givers)
        )

    def budget(
        self,
        families: tuple[FamilyBudget, ...],
        each: tuple[KnobGivenUp, ...],
        more: MoreKnobs,
        fewer: FewerKnobs | None,
    ) -> Budget:
        """The answer."""
        return Budget(
            families=families,
            between_families=self.layout.between,
            bundles_between_families=self.layout.bundles,
            now=self.now,
            more=more,
            fewer=fewer,
            unused=self.layout.unused,
            offers=offers(self.case),
            each_knob=each,
            solved_again=self.again.solved,
        )
