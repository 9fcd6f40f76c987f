"""Bounds on what a family costs with so many knobs, by column generation.

Any prices of the atoms give a bound that is linear in the number of knobs: what the atoms are worth
in all, and for each knob the reduced cost of the cheapest set at least. The linear programme over
the sets known so far suggests prices; minimum cuts find the cheapest sets, which join it; when none
is cheaper than the programme believes, the bound is as good as that of all sets. All in whole
1024ths, so that bounds are safe.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.solver.column_generation.min_cut_pricing import Ask, Seeds, cheapest
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch


@attrs.frozen(eq=False)
class LagrangianBound:
    """A bound on what a family costs with exactly so many knobs that no atom is pinned to.

    Args:
        prices: (m,) what each atom is worth, in 1024ths.
        worth: what all atoms are worth, and what the pinned knobs add at least.
        knob: what each other knob adds at least.
        pins: what the knob of each pinned atom adds at least.
    """

    prices: Whole
    worth: int
    knob: int
    pins: dict[int, int]

    def at(self, knobs: int) -> int:
        """The bound, in 1024ths."""
        return self.worth + knobs * self.knob

    def floors(self, pin: Whole) -> Whole:
        """What each knob adds at least, given the place of the pinned atom on it, or -1."""
        floor = np.full(len(pin), self.knob, dtype=np.int64)
        for place, least in self.pins.items():
            floor[pin == place] = least
        return floor

    def worth_of(self, terms: Terms, sets: Whole) -> Whole:
        """(n,) what the atoms of each set are worth."""
        return worth_of(terms, self.prices, sets)


def worth_of(terms: Terms, prices: Whole, sets: Whole) -> Whole:
    """(n,) what the atoms of each set are worth at some prices."""
    worth: Whole = (terms.holds(sets) @ prices.astype(np.float64)).astype(np.int64)
    return worth


@attrs.frozen(eq=False)
class Found:
    """What minimum cuts found for a family at some prices.

    Args:
        line: the bound that follows.
        sets: sets that are cheap, some of them perhaps not valid.
    """

    line: LagrangianBound
    sets: Whole


def found_at(families: Sequence[Seeds], prices: Sequence[Whole], watch: Watch) -> list[Found]:
    """Find the cheapest sets, and the bound, of each family at its prices."""
    asked = list(map(Ask, families, prices))
    return [
        Found(_line(each.ask.seeds, each.ask.prices, each.least), np.unique(each.sets))
        for each in (cheapest(asked, watch) if asked else ())
    ]


def _line(seeds: Seeds, prices: Whole, least: Whole) -> LagrangianBound:
    """The bound that prices give: exact, whatever the prices are."""
    pins = {pin: int(least[seeds.pin == pin].min()) for pin in seeds.terms.pins}
    free = least[seeds.pin < 0]
    knob = int(free.min()) if len(free) else 0
    return LagrangianBound(prices, int(prices.sum()) + sum(pins.values()), knob, pins)
