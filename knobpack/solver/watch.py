"""Watch: what may cut a search short, and what the search has used up so far."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from typing import Any, Final, TypeAlias

import attrs

from knobpack.errors import Stopped

TIME_LIMIT: Final = "time limit"
TIME_SHARE: Final = "a share of the time limit"
CANCELLED: Final = "cancelled"
EFFORT: Final = "effort"
METHODS: Final = "the limits of its methods"

SOON = 0.01
"""Seconds before the deadline at which it counts as reached: solvers stop a little early."""


Told: TypeAlias = Callable[[int, int | None, int], None]
"""Takes the number of a tier, its value in the best layout so far, and its bound."""


@attrs.define
class Kept:
    """What took long to work out, for further searches of much the same; the last few of it."""

    most: int
    known: list[tuple[object, Any]] = attrs.field(factory=list)

    def found(self, posed: object) -> Any:
        """What was worked out of the same; None: nothing is known."""
        return next((answer for known, answer in self.known if known == posed), None)

    def keep(self, posed: object, answer: Any) -> None:
        """Remember what was worked out, and forget the oldest."""
        self.known = [(posed, answer), *self.known][: self.most]


def _own_deadline(watch: Watch) -> float | None:
    return watch.deadline


@attrs.define
class Watch:
    """Watches over one search; the only thing in the solver that changes.

    Args:
        effort: how much deterministic effort is left: the solver's own count of its work, about
            a second's worth each on a slow machine, the same on every machine.
        deadline: the monotonic time at which to stop; None: no limit of time.
        cancelled: asked now and then; once it says yes, the search stops.
        stopped: what stopped the search; None while nothing has.
        short: what cut a part of it short that had a share of the effort and time; None: nothing.
        told: told the tier, its value and its bound whenever there is news.
        kept: what searches of the same question have in common; None: there are no others.
        whole: what this watches over a part of; None: nothing.
        limit: the deadline of the whole call, where ``deadline`` ends a share of its time.
    """

    effort: float
    deadline: float | None = None
    cancelled: Callable[[], bool] | None = None
    stopped: Stopped | None = None
    told: Told | None = None
    short: Stopped | None = None
    kept: Kept | None = None
    whole: Watch | None = None
    limit: float | None = attrs.field(default=attrs.Factory(_own_deadline, takes_self=True))

    def tell(self, tier: int, value: int | None, bound: int) -> None:
        """Report the value and bound of a tier, the tiers counted from 0."""
        if self.told is not None:
            self.told(tier, value, bound)

    def tell_all(self, values: Iterable[int], bounds: Iterable[int]) -> None:
        """Report the values and bounds of the first tiers."""
        for tier, (value, bound) in enumerate(zip(values, bounds, strict=True)):
            self.tell(tier, value, bound)

    @property
    def seconds_left(self) -> float:
        """Seconds until the deadline, never below zero."""
        if self.deadline is None:
            return float("inf")
        return max(0.0, self.deadline - time.monotonic())

    def slice(self, effort: float = math.inf) -> Watch:
        """A watch over a part of the search, with so much effort, but no more than is left.

        It has the same deadline and the same call to stop, and what it spends is spent here too.
        """
        own = min(effort, self.effort)
        return Watch(
            own, self.deadline, self.cancelled, kept=self.kept, whole=self, limit=self.limit
        )

    @contextmanager
    def share(self, part: float) -> Iterator[Watch]:
        """A slice with a part of the effort and time that are left; what cuts it short is noted."""
        own = self.slice(part * self.effort)
        if self.deadline is not None:
            own.deadline = time.monotonic() + part * self.seconds_left
        try:
            yield own
        except BaseException:  # what a caller's function raised: it is not asked again
            self.short = own.stopped or self.short
            raise
        if own.over():
            self.short = own.stopped

    @property
    def why(self) -> Stopped:
        """Why a search that has ended without a proof has none."""
        return self.stopped or self.short or METHODS

    @property
    def clock(self) -> Stopped:
        """What its deadline is: the time limit, or the end of a share of that."""
        shared = self.limit is not None and self.limit - (self.deadline or 0.0) > SOON
        return TIME_SHARE if shared else TIME_LIMIT

    def over(self) -> bool:
        """Whether the search must stop; remembers why."""
        if self.stopped is None:
            if self.cancelled is not None and self.cancelled():
                self.stopped = CANCELLED
            elif self.seconds_left < SOON:
                self.stopped = self.clock
            elif self.effort <= 0:
                self.stopped = EFFORT
        return self.stopped is not None

    @property
    def hurried(self) -> bool:
        """Whether it was stopped by the clock or by a call: nothing that takes long is begun."""
        return self.over() and self.stopped != EFFORT

    def spend(self, effort: float) -> None:
        """Count effort that was used, of whatever this is a part of too."""
        self.effort -= effort
        if self.whole is not None:
            self.whole.spend(effort)
