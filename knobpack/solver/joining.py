"""All good ways to put a family together from few sets: the last set is what the others leave.

The sets of a way waste only so much reduced cost together. In order of waste, all but the last
waste half of it each, at most: these few are listed, and the last needs no list.
"""

from __future__ import annotations

import numpy as np

from knobpack.solver.bounding import Line
from knobpack.solver.closures import QUANTUM
from knobpack.solver.costs import Whole
from knobpack.solver.merging import Way
from knobpack.solver.terms import Terms
from knobpack.solver.watch import Watch
from knobpack.solver.within import Within

MOST_STEPS = 40_000
"""Partial ways that are gone on with, at most."""

EFFORT_PER_SET = 2e-8
"""Effort that looking at one set counts as: about what it takes in seconds."""


class TooManyWaysError(Exception):
    """There are too many ways to look at. Never leaves the solver."""


class Joining:
    """Puts sets together.

    Args:
        terms: the family.
        line: the bound that waste is measured by.
        near: every set that wastes no more than half of what a way may.
        knobs: how many sets are to be on knobs that no atom is pinned to.
        watch: what is told of the effort.
    """

    def __init__(self, terms: Terms, line: Line, near: Within, knobs: int, watch: Watch) -> None:
        self._terms = terms
        self._line = line
        order = np.argsort(near.waste, kind="stable")
        self._sets, self._waste = near.sets[order], near.waste[order]
        self._several = knobs + len(terms.pins)
        self._watch = watch
        self._steps = 0

    def best(self, slack: int) -> Way | None:
        """A cheapest way of those that waste no more than ``slack``; None: there is none.

        Raises:
            TooManyWaysError: there are too many to look at.
        """
        self._most = 0
        found = self._run(slack)
        return Way.of(self._terms, np.array(found[-1], dtype=np.int64)) if found else None

    def all(self, slack: int, most: int) -> list[tuple[int, ...]]:
        """Every way that wastes no more than ``slack``, its sets in order of their lowest atom.

        Raises:
            TooManyWaysError: there are too many to look at, or more than ``most``.
        """
        self._most = most
        return sorted({tuple(sorted(way, key=_lowest)) for way in self._run(slack)})

    def _run(self, slack: int) -> list[tuple[int, ...]]:
        self._slack = slack
        self._found: list[tuple[int, ...]] = []
        self._search((), 0, self._terms.full, self._sets, self._waste)
        return self._found

    def _search(
        self, chosen: tuple[int, ...], spent: int, left: int, sets: Whole, waste: Whole
    ) -> None:
        """Go on from some sets with others of no less waste, until all that is left is held."""
        several = self._several - len(chosen)
        self._steps += 1
        if self._steps > MOST_STEPS or self._watch.over():
            raise TooManyWaysError
        self._watch.spend(EFFORT_PER_SET * (len(sets) + 1000))
        if several <= 2:
            end = int(np.searchsorted(waste, (self._slack - spent) // 2, side="right"))
            before = sets[:end] if several == 2 else np.zeros(1, dtype=np.int64)
            cost = waste[:end] if several == 2 else np.zeros(1, dtype=np.int64)
            self._end(chosen, before, left & ~before, spent + cost)
            return
        for at in range(len(sets)):
            most = (self._slack - spent) // several
            if waste[at] > most:
                break
            own = int(sets[at])
            fits = sets[at + 1 :] & own == 0
            rest = sets[at + 1 :][fits], waste[at + 1 :][fits]
            self._search((*chosen, own), spent + int(waste[at]), left & ~own, *rest)

    def _end(self, chosen: tuple[int, ...], before: Whole, last: Whole, spent: Whole) -> None:
        """Take what is left as the last set."""
        terms = self._terms
        some = last != 0
        before, last, spent = before[some], last[some], spent[some]
        good = terms.valid(last)
        before, last, spent = before[good], last[good], spent[good]
        total = spent + self._wasted(last)
        good = total <= self._slack
        if not good.any():
            return
        if not self._most:
            at = int(np.where(good, total, self._slack + 1).argmin())
            good = np.arange(len(last)) == at
            # From now on only what is better, by a point or more: waste differs by whole points.
            self._slack = int(total[at]) - 1
        for one, other in zip(before[good].tolist(), last[good].tolist(), strict=True):
            self._found.append(tuple(each for each in (*chosen, one, other) if each))
        if self._most and len(self._found) > self._most:
            raise TooManyWaysError

    def _wasted(self, sets: Whole) -> Whole:
        """What sets waste, in 1024ths."""
        terms, line = self._terms, self._line
        least = np.full(len(sets), line.knob, dtype=np.int64)
        for pin, own in line.pins.items():
            least[sets >> pin & 1 == 1] = own
        wasted: Whole = QUANTUM * terms.costs(sets) - line.worth_of(terms, sets) - least
        return wasted


def _lowest(own: int) -> int:
    return own & -own
