"""Travels: over which travel each knob goes in each song, once it is known what it drives there.

What the travels of a knob cost adds up over the songs and over those that follow each other, and
knobs have nothing to do with each other: the best travels are a shortest path, knob by knob.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import attrs

from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.words import Travel
from knobpack.words.travel import hundredths

_MUCH = 1 << 40
"""More than travels cost in one tier of all: by it one number holds what they cost in several."""


def with_best_travels(
    songs: Sequence[Numbered],
    neighbours: Collection[tuple[int, int]],
    weights: Mapping[Key, int],
    laid: Mapping[int, Placed],
    pinned: Collection[int] = (),
) -> dict[int, Placed]:
    """The same show over the travels that cost least in *sharing*, then *travels*, then *change*.

    Args:
        songs: its songs, in playing order.
        neighbours: the positions of each two songs that follow each other.
        weights: what each destination of the show counts.
        laid: how each song is laid out, by its position.
        pinned: the positions of those that stay as they are.
    """
    surface = songs[0].asked.request.surface
    if surface.per_route:
        return dict(laid)
    goes = {at: dict(placed.goes) for at, placed in laid.items()}
    for knob in range(len(surface.knob_names)):
        best: dict[Travel | None, tuple[int, list[Travel | None]]] = {None: (0, [])}
        carried = frozenset[Key]()
        for at, song in enumerate(songs):
            items = [item for item, on in laid[at].knobs.items() if on == knob]
            here = frozenset(key for key, item in song.item_of.items() if item in items)
            stays = carried & here if (at - 1, at) in neighbours else ()
            counts, before, carried = sum(weights[key] for key in stays), best, here
            best = {}
            for travel, own in _costs(song, laid[at], knob, items, at in pinned).items():
                cost, last = min(
                    (cost + _turned(counts, was, travel, surface.top), n)
                    for n, (was, (cost, _)) in enumerate(before.items())
                )
                best[travel] = cost + own, [*list(before.values())[last][1], travel]
        _, way = min(best.values(), key=lambda each: each[0])
        for at, travel in enumerate(way):
            if travel is not None:
                goes[at].update((i, travel) for i, on in laid[at].knobs.items() if on == knob)
    return {at: attrs.evolve(placed, goes=goes[at]) for at, placed in laid.items()}


def _turned(counts: int, was: Travel | None, now: Travel | None, top: int) -> int:
    """What it costs that what stays on a knob goes over another travel in the next song."""
    return _MUCH * counts * hundredths(was, now, top) if counts and was and now else 0


def _costs(
    song: Numbered, placed: Placed, knob: int, items: Sequence[int], stays: bool
) -> dict[Travel | None, int]:
    """Each travel that a knob may have in a song, with what it costs that song by itself."""
    if not items:
        return {None: 0}
    if stays:
        return dict.fromkeys((placed.goes[item] for item in items), 0)
    problem, mask = song.problem, sum(1 << item for item in items)
    there = problem.travels_there.get(knob)
    had = {each.travel for each in problem.before if each.knob == knob and each.items & mask}
    may = {*(problem.wanted[item] for item in items), there if there is not None else -1} - {-1}
    if knob in problem.kept_travels:
        may = {problem.kept_travels[knob]}
    elif there is not None and had:
        may = {there}
    return {
        song.travels[each]: _MUCH**2 * sum(problem.travel_prices[each][item] for item in items)
        + sum(was is not None and each != was for was in had)
        for each in sorted(may)
    }
