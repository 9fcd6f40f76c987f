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
from numpy.typing import NDArray

from knobpack.solver.column_generation.min_cut_pricing import (
    Ask,
    Cheapest,
    Seeds,
    cheapest,
    effort_of,
)
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch

MOST_CUTS = 12
"""Rounds of the search for the best penalties on crowded sets, at most."""


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
    leaning = [(seeds, *seeds.steeper) for seeds in families]
    each = [own for own, several in zip(prices, leaning, strict=True) for _ in several]
    pricings = iter(pricings_of([one for several in leaning for one in several], each, watch))
    found = []
    for seeds, own in zip(families, prices, strict=True):
        some = [next(pricings) for _ in (seeds, *seeds.steeper)]
        least = np.max([pricing.least for pricing in some], axis=0)
        sets = np.unique(np.concatenate([pricing.sets for pricing in some]))
        found.append(Found(_line(seeds, own, least), sets))
    return found


@attrs.frozen(eq=False)
class Pricing:
    """The cheapest sets of a family's seeds at some prices, limits on a knob looked at.

    Args:
        seeds: the seeds.
        penalty: (C,) the penalty on each item at which ``least`` is highest.
        least: (C,) no valid set of the seed has a lower reduced cost.
        flows: (C, K) those of the last cut at that penalty.
        members: those of :class:`Cheapest`.
        sets: all sets that were found on the way.
    """

    seeds: Seeds
    penalty: Whole
    least: Whole
    flows: NDArray[np.int64]
    members: tuple[NDArray[np.intp], NDArray[np.intp]]
    sets: Whole


def pricings_of(families: Sequence[Seeds], prices: Sequence[Whole], watch: Watch) -> list[Pricing]:
    """Price the seeds of families at their prices.

    Where the cheapest set is too much for one knob, each item is made dearer until it is not:
    the bound is a concave function of that penalty, made of the lines of single sets, and is
    climbed from line to line.
    """
    asked = [
        Ask(seeds, own, np.zeros(len(seeds.inside), dtype=np.int64))
        for seeds, own in zip(families, prices, strict=True)
    ]
    answers = cheapest(asked)
    watch.spend(effort_of(asked))
    climbs = [_Climb(ask, answer) for ask, answer in zip(asked, answers, strict=True)]
    for _ in range(MOST_CUTS):
        going = [climb for climb in climbs if climb.active.any()]
        if not going:
            break
        steps = [climb.ask() for climb in going]
        watch.spend(effort_of(steps))
        for climb, ask, answer in zip(going, steps, cheapest(steps), strict=True):
            climb.take(ask, answer)
    return [climb.pricing() for climb in climbs]


class _Climb:
    """The search for the best penalties of one family's seeds."""

    def __init__(self, ask: Ask, answer: Cheapest) -> None:
        self.seeds, self.prices = ask.seeds, ask.prices
        self.penalty, self.least = ask.penalty.copy(), answer.least.copy()
        self.flows, self.members = answer.flows.copy(), answer.members
        self.sets = [answer.sets]
        terms = self.seeds.terms
        over = self._items(answer.sets) - terms.per_knob
        # A line too steep and one too flat, each as the bound at no penalty and its slope.
        self.up = answer.least.copy(), over
        held = terms.holds(self.seeds.inside).astype(np.int64)
        least = self.seeds.fixed + (held * ask.adds()).sum(axis=1)
        under = self._items(self.seeds.inside) - terms.per_knob
        self.down = least, under
        self.active: NDArray[np.bool_] = (over > 0) & (under < 0)

    def _items(self, sets: Whole) -> Whole:
        terms = self.seeds.terms
        return (terms.holds(sets) @ terms.sizes).astype(np.int64)

    def ask(self) -> Ask:
        """What to find out next: the seeds that are going, where their two lines meet."""
        chosen = self.active
        rise = self.down[0][chosen] - self.up[0][chosen]
        meet = rise // (self.up[1][chosen] - self.down[1][chosen])
        return Ask(self.seeds.only(chosen), self.prices, np.maximum(0, meet))

    def take(self, ask: Ask, answer: Cheapest) -> None:
        """Learn what was found."""
        where = np.nonzero(self.active)[0]
        better = answer.least > self.least[where]
        self.least[where[better]] = answer.least[better]
        self.penalty[where[better]] = ask.penalty[better]
        self.flows[where[better]] = answer.flows[better]
        self.sets.append(answer.sets)
        over = self._items(answer.sets) - self.seeds.terms.per_knob
        plain = answer.least - ask.penalty * over
        # Where neither line changes, the top is reached.
        steep = over > 0
        for line, own in ((self.up, steep), (self.down, ~steep)):
            same = (line[0][where] == plain) & (line[1][where] == over) & own
            self.active[where[same]] = False
            line[0][where[own]] = plain[own]
            line[1][where[own]] = over[own]
        self.active[where[over == 0]] = False

    def pricing(self) -> Pricing:
        """What was found in the end."""
        sets = np.unique(np.concatenate(self.sets))
        return Pricing(self.seeds, self.penalty, self.least, self.flows, self.members, sets)


def _line(seeds: Seeds, prices: Whole, least: Whole) -> LagrangianBound:
    """The bound that prices give: exact, whatever the prices are."""
    pins = {pin: int(least[seeds.pin == pin].min()) for pin in seeds.terms.pins}
    free = least[seeds.pin < 0]
    knob = int(free.min()) if len(free) else 0
    return LagrangianBound(prices, int(prices.sum()) + sum(pins.values()), knob, pins)
