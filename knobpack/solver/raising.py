"""Raising the bound of a panel: prices at which its best path passes every piece about once."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import numpy as np

from knobpack.solver.costs import Whole
from knobpack.solver.panel import QUANTUM, TOO_FAR, Panel, ToGo
from knobpack.solver.watch import Watch

EFFORT_PER_NUMBER = 3e-9
"""Effort for each number that is looked at."""

PATIENCE = 6
"""Rounds without a better bound after which steps get shorter."""

SHORTER = 0.7
"""How much of the step is left then."""

SHORTEST = 0.02
"""The share of the gap, at which there is no use in going on."""

LENGTH = 1.0
"""The step at first, in gaps."""

AIM = 8 * QUANTUM
"""How far above what is known a step aims, in 256ths: where little is left it would get stuck."""

OFTEN = 20
"""Rounds after which a path is shown."""

INERTIA = 0.7
"""How much of the last direction is kept."""


@attrs.frozen
class Raised:
    """A bound.

    Args:
        bound: no arrangement costs less, in 256ths; TOO_FAR or more if there is none.
        to_go: at the prices that prove it.
        path: an arrangement that costs just that, but for what comes before something that it
            should follow; None if none was met.
    """

    bound: int
    to_go: ToGo
    path: tuple[int, ...] | None


def raised(
    panel: Panel,
    prices: Whole,
    upper: int,
    rounds: int,
    watch: Watch,
    met: Callable[[list[int]], int] | None = None,
) -> Raised:
    """Raise the bound by subgradient steps, with the step of Polyak, until it is of no more use.

    Args:
        panel: what is arranged.
        prices: where to start.
        upper: what an arrangement known costs, in 256ths: a bound over a point less is enough.
        rounds: how many steps to take, at most.
        watch: what may cut it short.
        met: shown a path now and then; says what an arrangement known costs then.
    """
    best = panel.to_go(prices)
    bound = panel.bound(best)
    direction = np.zeros(len(panel.demand))
    length, waited, now, value = LENGTH, 0, best, bound
    for turn in range(1, rounds + 1):
        if bound > upper - QUANTUM or bound >= TOO_FAR or length < SHORTEST or watch.over():
            break
        path = panel.path(now)
        missed = panel.missed(path)
        if not missed.any():
            return Raised(value, now, tuple(path))
        if met is not None and not turn % OFTEN:
            upper = min(upper, met(path))
        direction = INERTIA * direction + missed
        step = length * (max(0, upper - value) + AIM) / float(direction @ direction or 1.0)
        prices = now.prices + np.rint(step * direction).astype(np.int64)
        now = panel.to_go(prices)
        value = panel.bound(now)
        watch.spend(panel.work * EFFORT_PER_NUMBER)
        if value > bound:
            best, bound, waited = now, value, 0
            continue
        waited += 1
        if waited >= PATIENCE:
            length, waited, now, value = length * SHORTER, 0, best, bound
            direction = np.zeros(len(panel.demand))
    return Raised(bound, best, None)
