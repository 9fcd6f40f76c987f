"""Limits: what may cut a search short, checked, and what is told while it goes on."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import attrs

from knobpack.effort import DEFAULT_EFFORT
from knobpack.errors import InputError
from knobpack.prices import TIERS
from knobpack.telling import Fielded

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch

__all__ = ["DEFAULT_EFFORT", "Progress"]

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
