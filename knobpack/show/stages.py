"""The stages of the search for a show: what is done after what, and how much of the effort it has.

A show of few places is closed by its trajectories. A long one is begun in several ways and bounded
at the same time, on an executor where there is one; the best goes on, step by step.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from concurrent.futures import Executor
from functools import partial

import attrs

from knobpack.errors import Stopped
from knobpack.many import handed_out
from knobpack.show.knob_assignment import renamed, songs_arranged
from knobpack.show.numbered import Placed
from knobpack.show.prices import ALONE, SHOW_TIERS
from knobpack.show.search import STEPS, UNTIL_SHARING, Laid, ShowSearch
from knobpack.show.travels import with_best_travels
from knobpack.solver.watch import Watch

_MOST_PLACES = 700
"""Places that the songs have, at most, where all are laid out at once: atoms times knobs."""

_MOST_BOUNDED = 3_000
"""Places of a whole show, at most, that is bounded in what destinations cost in *relearning* by one
model where there are too many trajectories."""

_BOUNDING = 1 / 4
"""The part of the effort that bounding that may take by trajectories, where all songs fit one
model."""

_CLOSING = 1 / 2
"""The part of the effort that is left that closing may take where all songs fit one model."""

_FIRST = 1 / 4
"""The part of the effort that neighbourhoods may take before anything is bounded."""

_BEGUN, _A_BEGINNING, _MORE = 3, 1 / 6, 1 / 2
"""Where all songs do not fit one model: how often it is begun anew, drawn otherwise, the best kept;
the part of the effort that each of these may take, and bounding beside them; and the part of what
is left then that goes on with the best."""

_NAMES = 1 / 20
"""The part of what is left that is kept for what knobs are called in the end."""


def searched(
    search: ShowSearch, executor: Executor | None = None
) -> tuple[dict[int, Placed], tuple[int, ...]]:
    """The best that is found, and for each tier a bound: none that is as good before is below it.

    Args:
        search: the show.
        executor: what does what may be done at the same time.
    """
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(search.songs)}
    begun = [{**alone, **each, **search.pinned} for each in ({}, search.start)]
    best = min(begun, key=search.values)
    places = sum(map(search.places, search.free))
    bounds: list[int] = []
    if places > _MOST_PLACES:
        best, bounds = _step_by_step(search, best, places, executor)
    elif search.free:
        best, bounds = _at_once(search, best)
    counts = search.songs, search.neighbours, search.weights
    best = min(with_best_travels(*counts, best, search.pinned), best, key=search.values)
    if not search.pinned:
        best = min(best, renamed(search.songs, best), key=search.values)
        if not search.watch.over():
            found = songs_arranged(search.songs, [best], search.watch)
            best = min(best, found[0] if found else best, key=search.values)
    values = search.values(best)
    if not search.free:
        bounds = list(values)
    told = {tier: search.of_tier(tier, values, bounds) for tier in SHOW_TIERS[3:]}
    least = [search.least.get(tier, 0) for tier in (*ALONE, "sharing")]
    told["sharing"] = max(told["sharing"], least[-1])
    return best, (*least[:-1], *told.values())


def _at_once(search: ShowSearch, laid: Laid) -> tuple[dict[int, Placed], list[int]]:
    """Lay out few songs: what is not proven by their trajectories is looked for in one model."""
    best, known = search.improved(laid, 0, _FIRST), [0]
    bound = search.bounded(best, _BOUNDING, beyond=True)
    if bound is not None:
        best, known = search.closed(best, bound, _CLOSING)
    if len(known) == len(STEPS):
        return best, known
    return search.lay(best, len(STEPS), (1 - _NAMES) * search.watch.effort, known)


def _step_by_step(
    search: ShowSearch, laid: dict[int, Placed], places: int, executor: Executor | None
) -> tuple[dict[int, Placed], list[int]]:
    """Lay out many songs: neighbourhoods are solved for one step after the other."""
    best, bounds = _begun(search, laid, executor)
    if not bounds and places <= _MOST_BOUNDED:
        best, bounds = search.lay(best, 1, search.watch.effort / 3)
    best = search.improved(best, 0, _MORE, seed=_BEGUN)
    for at in range(1, UNTIL_SHARING):
        best = search.improved(best, at, (1 - _NAMES) / (UNTIL_SHARING - at), seed=_BEGUN)
    return best, bounds


def _begun(
    search: ShowSearch, laid: dict[int, Placed], executor: Executor | None
) -> tuple[dict[int, Placed], list[int]]:
    """The best of several beginnings, and a bound, if any: none of these has to know of another."""
    watch, seconds = search.watch, _A_BEGINNING * search.watch.seconds_left
    own = Watch(_A_BEGINNING * watch.effort, told=None if executor else watch.told, limit=math.inf)
    bare = attrs.evolve(search, watch=own, prices={})
    tasks = [partial(_begin, bare, laid, seed, seconds) for seed in (*range(_BEGUN), None)]
    here = ((at, task(watch.cancelled)) for at, task in enumerate(tasks))
    bounds: list[int] = []
    replies = handed_out(executor, tasks, watch.cancelled) if executor else here
    for _, reply in sorted(replies, key=lambda each: each[0]):
        if not isinstance(reply, BaseException):  # where a worker is lost, others are left
            begun, least, spent, short = reply
            watch.spend(spent)
            watch.short = short or watch.short
            laid = min(laid, begun, key=search.values)
            bounds += [] if least is None else [least]
    return laid, bounds


_Begun = tuple[dict[int, Placed], int | None, float, Stopped | None]
"""How every song is laid out; a bound, if that was asked for and found; the effort that it took;
and what cut it short."""


def _begin(
    search: ShowSearch,
    laid: dict[int, Placed],
    seed: int | None,
    seconds: float,
    cancel: Callable[[], bool] | None,
) -> _Begun:
    """One beginning, drawn by its seed, or the bound; at the top of the module, to be sent."""
    deadline = None if math.isinf(seconds) else time.monotonic() + seconds
    own = attrs.evolve(search.watch, deadline=deadline, cancelled=cancel)
    begun, bound = attrs.evolve(search, watch=own), None
    if seed is None:
        bound = begun.bounded(laid, 1, beyond=False)
    else:
        laid = begun.improved(laid, 0, 1, seed)
    least = None if bound is None else bound.points
    return laid, least, search.watch.effort - own.effort, own.short
