"""The textbook model tier by tier: each is made least while those before it stay where they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

import attrs

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans
from benchmarks.peers.costs import Costs
from benchmarks.peers.shape import shape_of
from benchmarks.peers.textbook import (
    BUNDLES,
    CHANGE,
    INDEPENDENCE,
    LAYOUT,
    SHARING,
    UNPLACED,
    Textbook,
)
from benchmarks.peers.textbook_goals import price
from benchmarks.peers.values import Best
from knobpack.words import Request

FOR_PLACES = 0.1
"""The share of the time that is left for the tiers after *sharing*."""

Seen = Callable[[list[bool]], None]
"""Is told each better assignment; the first element is nobody's."""


@attrs.frozen
class Stage:
    """What one tier came to.

    Args:
        true: which variables are true in the best assignment; None: none was found.
        value: its value.
        bound: no assignment has a lower value.
    """

    true: list[bool] | None
    value: int
    bound: int


class Minimise(Protocol):
    """A solver of booleans: makes the goal of one tier least.

    ``caps`` are the values that earlier tiers may not exceed, ``hint`` a value for
    each variable in the best assignment so far; none where there is no layout yet.
    """

    def __call__(  # noqa: D102 - the class says it
        self,
        model: Booleans,
        tier: int,
        caps: Mapping[int, int],
        hint: Mapping[int, bool],
        seconds: float,
        seen: Seen,
    ) -> Stage: ...


def solve_staged(
    request: Request, seconds: float, tell: Tell, minimise: Minimise, *, ordered: bool
) -> Answer:
    """Every tier that can cost something, in order, with the time there is.

    The layout that insertion makes is told first, and each stage starts from the best so far; a
    tier in which that costs nothing needs no stage. The first three tiers are mostly settled at
    once and take half of what is left at most; a tenth of the time is kept for those after
    *sharing*. ``ordered`` lets knobs that are alike be taken in order in the first four.
    """
    clock = Clock.of(seconds)
    costs = Costs(shape_of(request))
    best = Best(costs, tell)
    best.start()
    bounds: list[int] = []
    proven, exact = 0, True
    for tier in (UNPLACED, BUNDLES, INDEPENDENCE, SHARING, CHANGE, LAYOUT):
        if _is_free(costs, tier) or (best.values and not best.values[tier]):
            bounds += [0] * exact
            proven += exact
            continue
        if clock.left <= 0:
            break
        earlier = [each for each in range(tier) if not _is_free(costs, each)]
        # Knobs that the first four tiers do not tell apart differ in the last two.
        book = Textbook(costs, ordered=ordered and tier <= SHARING)
        price(book, *earlier, tier)

        def seen(true: list[bool], book: Textbook = book) -> None:
            best.take(book.knob_of(true))

        caps = {each: best.values[each] for each in earlier} if best.values else {}
        hint = book.assignment(best.knob_of) if best.values else {}
        stage = minimise(book.model, tier, caps, hint, _share(clock, seconds, tier), seen)
        if stage.true is None and best.values is None and clock.left > 0:
            # Without any layout there is nothing to keep time for.
            stage = minimise(book.model, tier, caps, hint, clock.left, seen)
        if stage.true is not None:
            best.take(book.knob_of(stage.true))
        if best.values is None:
            bounds += [stage.bound]
            break
        bound = min(stage.bound, best.values[tier])
        bounds += [bound] * exact
        exact &= bound == best.values[tier]
        proven += exact
    return Answer(best.layout, tuple(bounds), proven)


def _is_free(costs: Costs, tier: int) -> bool:
    """Whether no layout costs anything in a tier."""
    priced = {INDEPENDENCE: costs.broken, BUNDLES: costs.bundles, CHANGE: costs.before}
    return tier in priced and not priced[tier]


def _share(clock: Clock, seconds: float, tier: int) -> float:
    if tier < SHARING:
        return clock.left / 2
    return max(0.0, clock.left - FOR_PLACES * seconds) if tier == SHARING else clock.left
