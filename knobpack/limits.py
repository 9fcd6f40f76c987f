"""Limits: what may cut a search short, checked, and what is told while it goes on."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import attrs

from knobpack.definition.prices import TIERS
from knobpack.errors import InputError, Stopped
from knobpack.text.shown import Fielded
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch

__all__ = ["DEFAULT_EFFORT", "Limits", "Progress"]

DEFAULT_EFFORT = 10.0
"""Deterministic effort a search may take: some tens of seconds at most on a usual machine."""

MOST_SECONDS = 10**9
"""A time limit or an effort, at most."""


@attrs.frozen
class Progress(Fielded):
    """What is known while a search goes on.

    Args:
        tier: the tier that is being made best.
        value: its value in the best layout so far, in points of that tier; None while no layout is
            known.
        bound: no layout as good in the earlier tiers has a lower value, in points of that tier.
        seconds: how many have passed since the search began.
    """

    tier: str
    value: int | None
    bound: int
    seconds: float


def check_limits(
    caller: str,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[..., None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> None:
    """Refuse limits that are none.

    Raises:
        InputError: names the field of ``caller`` that holds the wrong one.
    """
    for name, amount in (("time_limit", time_limit), ("effort", effort)):
        if amount is None and name == "time_limit":
            continue
        is_number = isinstance(amount, int | float) and not isinstance(amount, bool)
        if not is_number or amount is None or not 0 <= amount <= MOST_SECONDS:
            raise InputError(f"{caller}.{name}", amount, f"give a number from 0 to {MOST_SECONDS}")
    for name, function in (("progress", progress), ("cancel", cancel)):
        if function is not None and not callable(function):
            raise InputError(f"{caller}.{name}", function, "give a function, or None")


def watch_over(
    caller: str,
    time_limit: float | None,
    effort: float,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    tiers: tuple[str, ...] = TIERS,
) -> Watch:
    """The watch over one search that is about to begin, for the function of that name.

    The tiers are told by these names.

    Raises:
        InputError: a limit is none, or what is to be called cannot be.
    """
    from knobpack.solver.watch import Watch

    check_limits(caller, time_limit, effort, progress, cancel)
    started = time.monotonic()
    deadline = None if time_limit is None else started + time_limit

    def tell(tier: int, value: int | None, bound: int) -> None:
        if progress is not None:
            progress(Progress(tiers[tier], value, bound, time.monotonic() - started))

    return Watch(effort, deadline, cancel, told=tell)


@attrs.frozen
class Limits(Fielded):
    """All that may cut a question short, in one value.

    What is known by then is given back, marked; where nothing is known, NoLayoutFound is raised.

    Args:
        time_limit: seconds after which the whole question is cut off, 0 to 10**9; None: none.
        effort: deterministic effort after which each search that it takes stops, 0 to 10**9.
        progress: told, now and then, how far a search is.
        cancel: asked now and then; once it says yes, the question is cut off.

    Raises:
        InputError: a field holds a value it cannot hold.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.limits import Limits
        >>> pad = Voice("Glass pad", (Destination("cutoff"), Destination("level")))
        >>> allocation = allocate((pad,), Surface.row(1))
        >>> allocation.best_layouts(limits=Limits(cancel=lambda: True)).stopped
        'cancelled'
    """

    time_limit: float | None = None
    effort: float = DEFAULT_EFFORT
    progress: Callable[[Progress], None] | None = None
    cancel: Callable[[], bool] | None = None

    def __attrs_post_init__(self) -> None:
        check_limits("Limits", self.time_limit, self.effort, self.progress, self.cancel)


@attrs.frozen(eq=False)
class Run:
    """A question under way: its limits, counted from when it was begun.

    Args:
        limits: the limits.
        started: the monotonic time at which it was begun.
    """

    limits: Limits
    started: float = attrs.field(factory=time.monotonic)

    @property
    def left(self) -> Limits:
        """The limits for what is still to be done."""
        if self.limits.time_limit is None:
            return self.limits
        spent = time.monotonic() - self.started
        return attrs.evolve(self.limits, time_limit=max(0.0, self.limits.time_limit - spent))

    def share(self, parts: int) -> Run:
        """The first of so many parts of what is left of it, each with as much time."""
        left = self.left
        if left.time_limit is not None:
            left = attrs.evolve(left, time_limit=left.time_limit / parts)
        return Run(left)

    @property
    def stopped(self) -> Stopped | None:
        """What has cut it off; None: nothing."""
        if self.limits.cancel is not None and self.limits.cancel():
            return "cancelled"
        if self.limits.time_limit is not None and not self.left.time_limit:
            return "time limit"
        return None

    def watch(self, caller: str, tiers: tuple[str, ...] = TIERS) -> Watch:
        """The watch over one search of it, for the function of that name."""
        left = self.left
        return watch_over(caller, left.time_limit, left.effort, left.progress, left.cancel, tiers)


def begun(
    caller: str,
    effort: float,
    limits: Limits | None,
    time_limit: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Run:
    """A question that is begun, with these limits, or with those that are given one by one.

    Raises:
        InputError: ``limits`` are none, or one of the others is none.
    """
    if limits is None:
        check_limits(caller, time_limit, effort, progress, cancel)
        return Run(Limits(time_limit, effort, progress, cancel))
    check_kind(f"{caller}.limits", limits, Limits)
    return Run(limits)
