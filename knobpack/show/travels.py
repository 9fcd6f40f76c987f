"""Travels: over which travel each knob goes in each song, once it is known what it drives there.

What the travels of a knob cost adds up over the songs and over those that follow each other, and
knobs have nothing to do with each other: the best travels are a shortest path, knob by knob.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import attrs

from knobpack.definition.travel_prices import importance
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.words import Travel
from knobpack.words.travel import distance

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
        items = [[i for i, on in laid[at].knobs.items() if on == knob] for at in range(len(songs))]
        costs: list[Costs] = [
            {laid[at].goes[own[0]]: 0} if own and at in pinned else costs_of(song, own, knob)
            for at, (song, own) in enumerate(zip(songs, items, strict=True))
        ]
        for at, travel in enumerate(_best_way(songs, neighbours, weights, items, costs)[1]):
            if travel is not None:
                goes[at].update(dict.fromkeys(items[at], travel))
    return {at: attrs.evolve(placed, goes=goes[at]) for at, placed in laid.items()}


Costs = Mapping[Travel | None, int]
"""For each travel that a knob may have in a song, what it costs that song by itself."""


def least_turned(
    songs: Sequence[Numbered],
    neighbours: Collection[tuple[int, int]],
    weights: Mapping[Key, int],
    items: Sequence[Collection[int]],
    costs: Sequence[Costs],
) -> int:
    """What one knob costs in *travels* over the travels that cost least in *sharing*.

    Args:
        songs: the songs, in playing order.
        neighbours: the positions of each two songs that follow each other.
        weights: what each destination of the show counts.
        items: what the knob drives in each.
        costs: the travels that it may have in each.
    """
    return _best_way(songs, neighbours, weights, items, costs)[0] // _MUCH % _MUCH


def _best_way(
    songs: Sequence[Numbered],
    neighbours: Collection[tuple[int, int]],
    weights: Mapping[Key, int],
    items: Sequence[Collection[int]],
    costs: Sequence[Costs],
) -> tuple[int, list[Travel | None]]:
    """What the best travels of one knob cost, and which they are, song by song."""
    top = songs[0].asked.request.surface.top
    best: dict[Travel | None, tuple[int, list[Travel | None]]] = {None: (0, [])}
    carried = frozenset[Key]()
    for at, song in enumerate(songs):
        here = frozenset(key for key, item in song.item_of.items() if item in items[at])
        stays = carried & here if (at - 1, at) in neighbours else ()
        counts, before, carried = sum(weights[key] for key in stays), best, here
        best = {}
        for travel, own in costs[at].items():
            cost, last = min(
                (cost + _turned(counts, was, travel, top), n)
                for n, (was, (cost, _)) in enumerate(before.items())
            )
            best[travel] = cost + own, [*list(before.values())[last][1], travel]
    return min(best.values(), key=lambda each: each[0])


def _turned(counts: int, was: Travel | None, now: Travel | None, top: int) -> int:
    """What it costs that what stays on a knob goes over another travel in the next song."""
    return _MUCH * counts * distance(was, now, top) if counts and was and now else 0


def costs_of(song: Numbered, items: Collection[int], knob: int | None = None) -> Costs:
    """Each travel that a knob may have in a song, with what it costs that song by itself.

    What the most important wants comes first: of equally good ones that is taken.

    Args:
        song: the song.
        items: what the knob drives there.
        knob: the knob; None: one of which nothing is kept and nothing was there before.
    """
    if not items:
        return {None: 0}
    problem, mask = song.problem, sum(1 << item for item in items)
    there = None if knob is None else problem.travels_there.get(knob)
    before = () if knob is None else problem.before
    had = {each.travel: each.items for each in before if each.knob == knob and each.items & mask}
    comes = problem.in_use and any(mask & ~items for items in had.values())
    inner = list(song.asked.request.by_full_name.values())
    rank = sorted(items, key=lambda item: importance(inner[item]))
    may = [*(problem.wanted[item] for item in rank), *(() if there is None else (there,))]
    if knob is not None and knob in problem.kept_travels:
        may = [problem.kept_travels[knob]]
    elif there is not None and had and not comes:
        may = [there]
    return {
        song.travels[each]: _MUCH**2 * sum(problem.travel_prices[each][item] for item in items)
        + sum(was is not None and each != was for was in had if not comes)
        for each in dict.fromkeys(may)
    }
