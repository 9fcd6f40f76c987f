"""The textbook model tier by tier: each is made least while those before it stay where they are."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Protocol

import attrs

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans
from benchmarks.peers.completion import completed
from benchmarks.peers.costs import Costs
from benchmarks.peers.shape import shape_of
from benchmarks.peers.textbook import CHANGE, INDEPENDENCE, LAYOUT, SHARING, UNPLACED, Textbook
from benchmarks.peers.textbook_goals import price
from knobpack.words import Layout, Request

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

    ``caps`` are the values that earlier tiers may not exceed, ``hint`` the variables that are
    true or false in a good assignment.
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

    The first two tiers are mostly settled at once and take half of what is left at most; a tenth
    of the time is kept for those after *sharing*. ``ordered`` lets knobs that are alike be taken
    in order in the first three.
    """
    clock = Clock.of(seconds)
    costs = Costs(shape_of(request))
    layout: Layout | None = None
    bounds: list[int] = []
    caps: dict[int, int] = {}
    proven, exact = 0, True
    last: tuple[Textbook, list[bool]] | None = None
    for tier in (UNPLACED, INDEPENDENCE, SHARING, CHANGE, LAYOUT):
        if _is_free(costs, tier):
            bounds += [0] * exact
            proven += exact
            continue
        # Knobs that the first three tiers do not tell apart differ in the last two.
        book = Textbook(costs, ordered=ordered and tier <= SHARING)
        price(book, *sorted({*caps, tier}))

        def seen(true: list[bool], book: Textbook = book) -> None:
            tell(costs.shape.layout(book.knob_of(true)))

        hint = _hint(book, last) if last else {}
        share = _share(clock, seconds, tier)
        stage = minimise(book.model, tier, caps, hint, share, seen)
        if stage.true is None and last is None and clock.left > 0:
            # Without any layout there is nothing to keep time for.
            stage = minimise(book.model, tier, caps, hint, clock.left, seen)
        bounds += [stage.bound] * exact
        exact &= stage.true is not None and stage.value == stage.bound
        proven += exact
        if stage.true is not None:
            last = (book, stage.true)
            layout = costs.shape.layout(book.knob_of(stage.true))
            tell(layout)
        if last is None or clock.left <= 0:
            break
        if stage.true is not None:
            caps[tier] = stage.value
        else:
            break
    return Answer(layout, tuple(bounds), proven)


def _is_free(costs: Costs, tier: int) -> bool:
    """Whether no layout costs anything in a tier."""
    return (tier == INDEPENDENCE and not costs.broken) or (tier == CHANGE and not costs.before)


def _share(clock: Clock, seconds: float, tier: int) -> float:
    if tier < SHARING:
        return clock.left / 2
    return max(0.0, clock.left - FOR_PLACES * seconds) if tier == SHARING else clock.left


def _hint(book: Textbook, last: tuple[Textbook, list[bool]]) -> dict[int, bool]:
    """A whole assignment of the new model with the layout of the last one."""
    before, true = last
    places = {variable: true[before.on[place]] for place, variable in book.on.items()}
    return completed(book.model, places)
