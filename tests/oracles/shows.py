"""Brute force for shows: every layout of every song, each tier reckoned anew from the routes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, product

import attrs

from knobpack import Allocation, KnobTravel, Layout, Request, Route
from knobpack.checker import check
from knobpack.definition.prices import Prices
from knobpack.show import Show, Song

ALONE = ("unplaced", "bundles", "independence")

Laid = tuple[Layout, tuple[int, ...], int]
"""A layout, its values in *unplaced*, *bundles*, *independence*, *sharing*, *change*, *layout*."""


def layouts_of(request: Request) -> Iterator[Layout]:
    """Every layout of a request, with every travel that its knobs may have."""
    names, knobs = list(request.by_full_name), request.surface.knob_names
    for places in product((None, *knobs), repeat=len(names)):
        on: dict[str, list[str]] = {}
        for name, knob in zip(names, places, strict=True):
            if knob is not None:
                on.setdefault(knob, []).append(name)
        there = request.previous.travels if request.in_use and request.previous else ()
        wanted = [
            sorted(
                {
                    *(request.wanted(n) for n in on[knob]),
                    *(each.travel for each in there if each.knob == knob),
                },
                key=str,
            )
            for knob in on
        ]
        for travels in product(*wanted):
            yield Layout(
                [Route(name, knob) for knob, driven in on.items() for name in driven],
                list(map(KnobTravel, on, travels)),
            )


def asked(song: Song) -> Request:
    """What a song asks for: of one that is laid out and free, to change no more than it must."""
    if isinstance(song.played, Request):
        return song.played
    assert isinstance(song.played, Allocation)
    if song.pinned:
        return song.played.request
    return attrs.evolve(song.played.request, previous=song.played.layout)


def joined(request: Request, layout: Layout) -> tuple[int, int]:
    """How many loads share knobs, each knob's first one apart; and pairs beside an essential."""
    count = beside = 0
    for knob in {route.knob for route in layout.routes}:
        here = {route.destination for route in layout.routes if route.knob == knob}
        loads = [load for load in request.loads if here & set(load)]
        more = len(loads) + len([n for n in here if not any(n in load for load in loads)]) - 1
        count += more
        beside += (more + 1) * more // 2 * any(request.by_full_name[n].priority == 1 for n in here)
    return count, beside


def joins_no_more(request: Request, layout: Layout, most: Sequence[int]) -> bool:
    """Whether no more loads share knobs than may, neither in all nor beside what is essential."""
    return all(here <= may for here, may in zip(joined(request, layout), most, strict=True))


def best_of_show(show: Show, allowed: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """The least value of each tier, each before the next, as parts: *relearning* has three of them.

    Args:
        show: songs that are requests or allocations, each small.
        allowed: how many loads may be joined in each, and how many beside what is essential.
    """
    choices = []
    for song, most in zip(show.songs, allowed, strict=True):
        request = asked(song)
        if song.pinned:
            assert isinstance(song.played, Allocation)
            choices.append([(song.played.layout, check(request, song.played.layout).prices)])
            continue
        valid = []
        for layout in layouts_of(request):
            found = check(request, layout)
            if found.valid and joins_no_more(request, layout, most):
                valid.append((layout, found.prices))
        first = min(map(_held, valid))
        choices.append([each for each in valid if _held(each) == first])
    return min(_values(show, combination) for combination in product(*choices))


def _held(found: tuple[Layout, Prices]) -> tuple[int, ...]:
    """What a song is as good in as alone."""
    return tuple(map(found[1].total, ALONE))


def _values(show: Show, combination: Sequence[tuple[Layout, object]]) -> tuple[int, ...]:
    layouts = [layout for layout, _ in combination]
    prices = [each for _, each in combination]
    total = {t: sum(p.total(t) for p in prices) for t in prices[0].order}  # type: ignore[attr-defined]
    return (
        *(total[tier] for tier in ALONE),
        *relearning(show, layouts),
        *moves(show, layouts),
        total["sharing"],
        travels(show, layouts),
        total["change"],
        total["layout"],
    )


def _where(show: Show, layouts: Sequence[Layout]) -> list[dict[tuple[str, str], str]]:
    found = []
    for song, layout in zip(show.songs, layouts, strict=True):
        role = {each.voice: each.role for each in song.roles}
        parts = [(route.destination.split("/"), route.knob) for route in layout.routes]
        found.append({(role.get(voice, voice), name): knob for (voice, name), knob in parts})
    return found


def _ranks(show: Show) -> Mapping[tuple[str, str], tuple[int, str]]:
    """What each destination of the show counts, and its kind."""
    found: dict[tuple[str, str], tuple[int, str]] = {}
    for song in show.songs:
        role = {each.voice: each.role for each in song.roles}
        for voice in asked(song).voices:
            for inner in voice.destinations:
                key = (role.get(voice.name, voice.name), inner.name)
                most = max(found.get(key, (0, ""))[0], (8, 4, 2, 1, 0)[inner.priority - 1])
                found[key] = (most, inner.kind)
    return found


def relearning(show: Show, layouts: Sequence[Layout]) -> tuple[int, int, int]:
    """Destinations, roles and kinds that are on more knobs over the show than they need be."""
    where, ranks = _where(show, layouts), _ranks(show)
    points = 0
    for key, (weight, _) in ranks.items():
        knobs = {song[key] for song in where if key in song}
        points += weight * max(0, len(knobs) - 1)

    def more(classes: Mapping[tuple[str, str], str]) -> int:
        count = 0
        for each in set(classes.values()):
            by_song = [{song[key] for key in song if classes[key] == each} for song in where]
            count += len(set().union(*by_song)) - max(map(len, by_song))
        return count

    return points, more({key: key[0] for key in ranks}), more({k: r[1] for k, r in ranks.items()})


def moves(show: Show, layouts: Sequence[Layout]) -> tuple[int, int]:
    """Bundles and destinations that are elsewhere in the next song."""
    where, ranks = _where(show, layouts), _ranks(show)
    bundles = points = 0
    for at, (before, after) in enumerate(pairwise(where)):
        if show.songs[at].name in show.breaks:
            continue
        moved = [key for key in before if key in after and before[key] != after[key]]
        points += sum(ranks[key][0] for key in moved)
        for role in {key[0] for key in moved}:
            mine = [key for key in moved if key[0] == role]
            bundles += max(len({before[key] for key in mine}), len({after[key] for key in mine}))
    return bundles, points


def travels(show: Show, layouts: Sequence[Layout]) -> int:
    """What stays on its knob and goes over another travel, in hundredths of full travel."""
    where, ranks, count = _where(show, layouts), _ranks(show), 0
    goes = [{each.knob: each.travel for each in layout.travels} for layout in layouts]
    for at, (before, after) in enumerate(pairwise(where)):
        if show.songs[at].name in show.breaks:
            continue
        for key, knob in before.items():
            if after.get(key) == knob:
                one, other = goes[at][knob], goes[at + 1][knob]
                missed = abs(one.start - other.start) + abs(one.end - other.end)
                top = show.surface.top
                count += ranks[key][0] * ((200 * missed + top) // (2 * top))
    return count
