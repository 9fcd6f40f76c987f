"""Limits: what may cut a search short, checked, and what is told while it goes on."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from numbers import Real
from typing import TYPE_CHECKING, TypeVar

import attrs

from knobpack.definition.prices import TIERS
from knobpack.errors import InputError, Stopped
from knobpack.text.shown import Fielded
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.solver.watch import Watch

_Thing = TypeVar("_Thing")

__all__ = ["DEFAULT_EFFORT", "Limits", "Progress"]

DEFAULT_EFFORT = 10.0
"""Deterministic effort that a call may take: half a minute at most on a usual machine."""

QUARTER = 0.25
"""The part of what is left that one of many things to be done may take, at most."""

MOST_SECONDS = 10**9
"""A time limit or an effort, at most."""


@attrs.frozen
class Progress(Fielded):
    """What is known while a search goes on.

    Args:
        tier: the tier that is being made best.
        value: its value in the best layout so far, in points of that tier; None while no layout is
            known. Of a show, as in its ``tiers``: what counts several things is one
            large number of them all.
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
        is_number = isinstance(amount, Real) and not isinstance(amount, bool)
        if not is_number or amount is None or not 0 <= amount <= MOST_SECONDS:
            raise InputError(f"{caller}.{name}", amount, f"give a number from 0 to {MOST_SECONDS}")
    for name, function in (("progress", progress), ("cancel", cancel)):
        if function is not None and not callable(function):
            own = "; of an Event its is_set" if hasattr(function, "is_set") else ""
            raise InputError(f"{caller}.{name}", function, f"give a function, or None{own}")


@attrs.frozen
class Limits(Fielded):
    """All that may cut a question short, in one value.

    What is known by then is given back, marked; where nothing is known, NoLayoutFound is raised.

    Args:
        time_limit: seconds after which the whole question is cut off, 0 to 10**9; None: none.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
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


def _whole(run: Run) -> Watch:
    from knobpack.solver.watch import Watch

    seconds = run.time_limit
    deadline = None if seconds is None else run.started + seconds
    return Watch(run.effort, deadline, run.cancel)


@attrs.frozen(eq=False)
class Run(Limits):
    """Limits that count down: all searches of one call take from the same effort and time.

    Where limits may be given, it may be given instead: what is asked then is part of the call.

    Args:
        started: the monotonic time at which the call was begun.
        whole: the watch over all of it.
    """

    started: float = attrs.field(factory=time.monotonic, kw_only=True)
    whole: Watch = attrs.field(default=attrs.Factory(_whole, takes_self=True), kw_only=True)

    @property
    def cut_off(self) -> Stopped | None:
        """What cuts it off, so that nothing more is to be done; None: nothing."""
        return None if self.stopped == "effort" else self.stopped

    @property
    def short(self) -> Stopped | None:
        """What cut it, or a part of it, short; None: nothing."""
        return self.stopped or self.whole.short

    @property
    def stopped(self) -> Stopped | None:
        """Why no further search is begun; None: there is effort and time for one."""
        return self.whole.stopped if self.whole.over() else None

    def watch(self, tiers: tuple[str, ...] = TIERS) -> Watch:
        """The watch over one search, with all that is left. The tiers are told by these names."""
        own = self.whole.slice()
        progress, started = self.progress, self.started

        def tell(tier: int, value: int | None, bound: int) -> None:
            if progress is not None:
                progress(Progress(tiers[tier], value, bound, time.monotonic() - started))

        own.told = tell
        return own

    def anew(self, parts: int, *, told: bool = True) -> Run:
        """The first of so many parts of the time that is left, each with all the effort again."""
        seconds = None if self.time_limit is None else self.whole.seconds_left / parts
        made = Run(seconds, self.effort, self.progress if told else None, self.cancel)
        made.whole.limit = self.whole.limit
        return made

    @contextmanager
    def share(self, part: float, *, told: bool = True) -> Iterator[Run]:
        """A part of the effort and time that are left, for one of several things to be done.

        What it leaves of them is there for the others.

        Args:
            part: above 0, to 1.
            told: whether progress is told.
        """
        with self.whole.share(part) as own:
            yield attrs.evolve(self, whole=own, progress=self.progress if told else None)

    def in_turn(
        self, things: Iterable[_Thing], least: float = 0.0, *, told: bool = True
    ) -> Iterator[tuple[_Thing, Run]]:
        """Things to be done one after the other, each with an equal part of what is left then.

        Args:
            things: they.
            least: the part that each may take in any case, 0 to 1.
            told: whether progress is told.
        """
        every = tuple(things)
        for waiting, thing in zip(range(len(every), 0, -1), every, strict=True):
            with self.share(max(least, 1 / waiting), told=told) as own:
                yield thing, own


def begun(
    caller: str,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
    time_limit: float | None = None,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Run:
    """A call that is begun, with these limits, or with those that are given one by one.

    What is begun already goes on.

    Raises:
        InputError: ``limits`` are none, or one of the others is none, or both are given.
    """
    if isinstance(limits, Run):
        return limits
    singly = (time_limit, effort, progress, cancel)
    if limits is None:
        check_limits(caller, *singly)
        return Run(*singly)
    check_kind(f"{caller}.limits", limits, Limits)
    if singly != (None, DEFAULT_EFFORT, None, None):
        raise InputError(f"{caller}.limits", limits, "give all limits in it, or none of it")
    return Run(limits.time_limit, limits.effort, limits.progress, limits.cancel)
