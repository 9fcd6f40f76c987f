"""Raising the bound of a panel: prices at which its best path passes every piece about once."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.arrangement.path_relaxation import QUANTUM, TOO_FAR, CostToGo, Panel
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch

EFFORT_PER_NUMBER = 3e-9
"""Effort for each number that is looked at."""

PATIENCE = 10
"""Rounds without a better bound after which steps get shorter."""

SHORTER = 0.8
"""How much of the step is left then."""

SHORTEST = 0.02
"""The share of the gap, at which there is no use in going on."""

LENGTH = 1.0
"""The step at first, in gaps."""

AIM = 8 * QUANTUM
"""How far above what is known a step aims, in 256ths: where little is left it would get stuck."""

INERTIA = 0.8
"""How much of the last direction is kept."""

LAST = 30
"""So many of the last paths are told."""

LEAN = 6.0
"""How much farther than prices of elements the prices of being early go, times the knobs: there
are about as many more of them."""


@attrs.frozen
class Multipliers:
    """What makes up for what a path need not do.

    Args:
        elements: the price of each element, and last that of the hole, if any.
        falls: for each pair and knob, by what the price of being early falls after it.
    """

    elements: Whole
    falls: NDArray[np.float64]

    @classmethod
    def none(cls, panel: Panel) -> Multipliers:
        """No price for anything."""
        elements = np.zeros(len(panel.demand), dtype=np.int64)
        return cls(elements, np.zeros((len(panel.precedence.apart), panel.knobs)))

    def to_go(self, panel: Panel) -> CostToGo:
        """What is to go at these prices."""
        return panel.to_go(self.elements, panel.precedence.early(self.falls))


@attrs.frozen
class Raised:
    """A bound.

    Args:
        bound: no arrangement costs less, in 256ths; TOO_FAR or more if there is none.
        prices: that prove it.
        to_go: at these prices.
        path: an arrangement that costs just that; None if none was met.
        paths: the best paths at the last prices that were tried.
    """

    bound: int
    prices: Multipliers
    to_go: CostToGo
    path: tuple[int, ...] | None
    paths: Sequence[Sequence[int]] = ()


def raised(
    panel: Panel,
    prices: Multipliers,
    upper: int,
    rounds: int,
    watch: Watch,
) -> Raised:
    """Raise the bound by subgradient steps, with the step of Polyak, until it is of no more use.

    Args:
        panel: what is arranged.
        prices: where to start.
        upper: what an arrangement known costs, in 256ths: a bound over a point less is enough.
        rounds: how many steps to take, at most.
        watch: what may cut it short.
    """
    order, lean = panel.precedence, LEAN / panel.knobs
    to_go = prices.to_go(panel)
    value = bound = panel.bound(to_go)
    best = prices, to_go
    toward, ahead = np.zeros(len(panel.demand)), np.zeros_like(prices.falls)
    length, waited = LENGTH, 0
    paths: deque[Sequence[int]] = deque(maxlen=LAST)
    for _ in range(rounds):
        if bound > upper - QUANTUM or bound >= TOO_FAR or length < SHORTEST or watch.over():
            break
        path = panel.path(to_go)
        missed = panel.missed(path)
        if not missed.any() and panel.cost(path) == value:
            return Raised(value, prices, to_go, tuple(path))
        paths.append(path)
        before = order.ahead(path)
        # A price that is 0 already cannot fall.
        toward = INERTIA * toward + missed
        ahead = INERTIA * ahead + np.where((prices.falls <= 0) & (before < 0), 0, before)
        square = float(toward @ toward) + lean * float((ahead * ahead).sum())
        step = length * (max(0, upper - value) + AIM) / (square or 1.0)
        elements = prices.elements + np.rint(step * toward).astype(np.int64)
        prices = Multipliers(elements, order.within(prices.falls + lean * step * ahead))
        to_go = prices.to_go(panel)
        value = panel.bound(to_go)
        watch.spend(panel.work * EFFORT_PER_NUMBER)
        waited += 1
        if value > bound:
            best, bound, waited = (prices, to_go), value, 0
        elif waited >= PATIENCE:
            length, waited = length * SHORTER, 0
    return Raised(bound, *best, None, tuple(paths))
