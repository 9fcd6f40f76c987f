"""Bounds on what a family costs with so many knobs, by column generation.

Any prices of the atoms give a bound that is linear in the number of knobs: what the atoms are worth
in all, and for each knob the reduced cost of the cheapest set at least. The linear programme over
the sets known so far suggests prices; a knapsack finds the cheapest sets, which join it; when none
is cheaper than the programme believes, the bound is as good as that of all sets. All in whole
1024ths, so that bounds are safe.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole

QUANTUM = 1024
"""Prices are whole numbers of one 1024th of a point."""


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
    """What was found for a family at some prices.

    Args:
        line: the bound that follows.
        sets: sets that are cheap, some of them perhaps not valid.
    """

    line: LagrangianBound
    sets: Whole
