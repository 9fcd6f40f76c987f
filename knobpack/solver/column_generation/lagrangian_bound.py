"""Bounds on what a family costs with so many knobs, by column generation.

Any prices of the atoms give a bound that is linear in the number of knobs: what the atoms are worth
in all, and for each knob the reduced cost of the cheapest set at least. The linear programme over
the sets known so far suggests prices; a knapsack finds the cheapest sets, which join it; when none
is cheaper than the programme believes, the bound is as good as that of all sets. All in whole
1024ths, so that bounds are safe. A table holds the best of these, and the ways to share.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.solver.column_generation.agglomeration import Way, knobs_of
from knobpack.solver.column_generation.terms import SetMasks, Terms
from knobpack.solver.costs import FAR, QUANTUM, Whole


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


def worth_of(terms: Terms, prices: Whole, sets: SetMasks) -> Whole:
    """(n,) what the atoms of each set are worth at some prices."""
    worth: Whole = (terms.holds(sets) @ prices.astype(np.float64)).astype(np.int64)
    return worth


class BoundTable:
    """For each number of knobs that no atom is pinned to, the best way and the best bound.

    Args:
        terms: the family's costs.
        most: no more knobs than these are looked at.
        omission: what it costs to leave out all of the family; FAR: it may not be.
        omissions: what it costs to leave out each of its atoms; FAR: it must be placed. None: all
            must. What is best where only some are placed is not known, but bounded.
    """

    def __init__(
        self, terms: Terms, most: int, omission: int = FAR, omissions: Sequence[int] | None = None
    ) -> None:
        self.table = terms
        self.most = most
        self.ways: dict[int, Way] = {}
        self._proven: set[int] = set()
        self.recharge(omission, [FAR] * terms.count if omissions is None else omissions)

    def recharge(self, omission: int, omissions: Sequence[int]) -> None:
        """Let it cost so much to leave out all, or each, and forget what is bounded."""
        self.omission = FAR if self.table.pins else omission
        self._omissions = list(omissions)
        self._least_omission = min(self._omissions, default=FAR)
        self._lines: dict[int, LagrangianBound] = {}

    def upper(self, knobs: int) -> int:
        """What the best way known costs on exactly so many knobs; FAR: none is known."""
        if knobs in self.ways:
            return self.ways[knobs].cost
        return FAR if knobs else self.omission

    def lower(self, knobs: int) -> int:
        """No way costs less on exactly so many knobs; FAR: there is none."""
        terms = self.table
        if knobs > terms.count - len(terms.pins):
            return FAR
        if not knobs and not terms.pins:
            return self.omission
        if not self.has_room(knobs):
            return self._without_some(knobs)
        line, floor = self.line(knobs), 0
        if knobs in self._proven:
            floor = self.upper(knobs)
        elif line is not None:
            floor = max(0, -(-line.at(knobs) // QUANTUM))
        # Ways that leave out some are not looked for: one as good as any way known must not be.
        without = self._without_some(knobs)
        return floor if without >= FAR else min(floor, without - 1)

    def _without_some(self, knobs: int) -> int:
        """No way that leaves out some, but not all, costs less on exactly so many knobs."""
        least, line = self._least_omission, self.line(knobs)
        if line is None or least >= FAR:
            return least
        # What is left out costs its omission and not its price, and is if that is less.
        prices = zip(line.prices.tolist(), self._omissions, strict=True)
        saved = sum(max(0, price - QUANTUM * omission) for price, omission in prices)
        bound: int = -(-(line.at(knobs) - saved) // QUANTUM)
        return max(least, bound)

    def has_room(self, knobs: int) -> bool:
        """Whether so many knobs have room for all of the family."""
        return bool((knobs + len(self.table.pins)) * self.table.per_knob >= self.table.sizes.sum())

    def exact(self, knobs: int) -> bool:
        """Whether the best way known is proven best."""
        return self.lower(knobs) >= self.upper(knobs)

    @property
    def lowers(self) -> list[int]:
        """The bound for 0, 1, 2, … knobs."""
        return [min(self.lower(knobs), self.upper(knobs)) for knobs in range(self.most + 1)]

    @property
    def uppers(self) -> list[int]:
        """The best cost known for 0, 1, 2, … knobs."""
        return [self.upper(knobs) for knobs in range(self.most + 1)]

    def line(self, knobs: int) -> LagrangianBound | None:
        """The best bound of those known, for so many knobs."""
        return self._lines.get(knobs)

    def offer(self, way: Way | None) -> None:
        """Take a way, if it is better."""
        if way is not None:
            knobs = knobs_of(self.table, way)
            if way.cost < self.upper(knobs):
                self.ways[knobs] = way

    def bound(self, line: LagrangianBound) -> None:
        """Take a bound."""
        for knobs in range(self.most + 1):
            if knobs not in self._lines or self._lines[knobs].at(knobs) < line.at(knobs):
                self._lines[knobs] = line

    def prove(self, knobs: int) -> None:
        """From now on the best way known on so many knobs counts as proven best."""
        self._proven.add(knobs)
