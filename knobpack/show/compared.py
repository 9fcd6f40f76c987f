"""Compared: another show laid out, and what that changes beside the one that is laid out."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from knobpack.allocation import Allocation, Tier
from knobpack.clash import ImpossibleDemands
from knobpack.errors import NoLayoutFound, Stopped
from knobpack.limits import Run
from knobpack.setups.as_read import read
from knobpack.show.allocator import allocate_during_show
from knobpack.show.answer import ShowAllocation
from knobpack.show.difference import (
    LeftOut,
    MovedInSong,
    SetAnew,
    ShowDifference,
    part_changes,
)
from knobpack.show.prices import OF_SONGS
from knobpack.show.song import Show, Song
from knobpack.words import Layout, Setup, Travel

_Place = tuple[str, str, Travel]
"""A destination, the knob that it is on, and the travel that it goes over."""


def compared_shows(
    found: ShowAllocation,
    show: Show,
    asked: str,
    run: Run,
    *,
    freed: tuple[str, ...] = (),
    start: Mapping[str, Allocation] | None = None,
) -> ShowDifference:
    """What comes of another show.

    Args:
        found: the show as it is laid out.
        show: the other one.
        asked: what is otherwise, in words.
        run: the question that this is about.
        freed: the songs that are programmed and might be laid out anew for it.
        start: how songs may be laid out to begin with, by their names; None: as they are in
            ``found``.

    Raises:
        NoLayoutFound: the search was stopped before any layout was known.
    """
    try:
        other = allocate_during_show(show, found.more_joined, run, start=start or found.laid)
    except ImpossibleDemands as error:
        return ShowDifference(asked, found.tiers, clash=error.clash, freed=freed, song=error.song)
    return show_difference(found, other, asked, freed)


def show_difference(
    found: ShowAllocation, other: ShowAllocation, asked: str, freed: tuple[str, ...] = ()
) -> ShowDifference:
    """What another show changes that is laid out too.

    Args:
        found: the show as it is laid out.
        other: the other one.
        asked: what is otherwise, in words.
        freed: the songs that are programmed and might be laid out anew for it.
    """
    out = _left_out(found)
    return ShowDifference(
        asked,
        tuple(_before(found, other)),
        other.tiers,
        tuple(_moved(found, other)),
        other,
        parts=part_changes(found, other),
        out=tuple(each for each in _left_out(other) if each not in out),
        anew=tuple(_anew(found, other)),
        freed=freed,
    )


def compared_in_time(
    found: ShowAllocation, show: Show, asked: str, run: Run, **more: Any
) -> ShowDifference | Stopped:
    """The same, or what stopped it before any layout was known.

    It takes what :func:`compared_shows` takes.
    """
    if run.stopped:
        return run.stopped
    try:
        return compared_shows(found, show, asked, run, **more)
    except NoLayoutFound as error:
        return error.stopped


def _before(found: ShowAllocation, other: ShowAllocation) -> Iterator[Tier]:
    """The tiers before, what songs cost by themselves counted of the songs of the other show."""
    now = dict(zip(other.laid, other.alone, strict=True))
    come = [laid for name, laid in now.items() if name not in found.laid]
    gone = [laid for name, laid in found.laid.items() if name not in now]
    for tier in found.tiers:
        more = 0
        if tier.name in OF_SONGS:
            totals = [[laid.prices.total(tier.name) for laid in those] for those in (come, gone)]
            more = sum(totals[0]) - sum(totals[1])
        yield Tier(tier.name, tier.value + more, max(0, tier.bound + more), tier.proven)


def _moved(found: ShowAllocation, other: ShowAllocation) -> Iterator[MovedInSong]:
    both = ((song, was, other.laid[song]) for song, was in found.laid.items() if song in other.laid)
    for song, was, now in both:
        for name in was.request.by_full_name:
            if name in now.request.by_full_name and was.knob_of(name) != now.knob_of(name):
                yield MovedInSong(song, name, was.knob_of(name), now.knob_of(name))


def _left_out(found: ShowAllocation) -> list[LeftOut]:
    return [LeftOut(song, name) for song, laid in found.laid.items() for name in laid.unplaced]


def _anew(found: ShowAllocation, other: ShowAllocation) -> Iterator[SetAnew]:
    was = found.laid
    for song, laid in zip(other.show.songs, other.songs, strict=True):
        new = song.name not in was
        there = _put_in(song) if new else _places(was[song.name].layout)
        routes = len(_places(laid.layout) - there)
        if routes:
            yield SetAnew(song.name, routes, new)


def _put_in(song: Song) -> set[_Place]:
    """Where all is in a song as it is programmed already; nothing is if it is not."""
    if isinstance(song.played, Setup):
        reading = read(song.played)
        return {(each.destination, each.knob, reading.led(each)) for each in reading.routes}
    return _places(song.played.layout) if isinstance(song.played, Allocation) else set()


def _places(layout: Layout) -> set[_Place]:
    return {(each.destination, each.knob, layout.goes[each.destination]) for each in layout.routes}
