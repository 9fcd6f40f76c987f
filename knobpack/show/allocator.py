"""allocate_show(): a whole show laid out together, so that the hand finds the same thing there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from functools import partial
from types import MappingProxyType

import attrs

from knobpack.allocation import Allocation
from knobpack.allocation.checked import completed, still_asked
from knobpack.checked_search import allocate_during, allocate_in_order
from knobpack.definition.prices import TIERS
from knobpack.errors import NoLayoutFound, about_song
from knobpack.heavy_imports import load
from knobpack.limits import DEFAULT_EFFORT, Limits, Progress, Run, begun
from knobpack.many import allocate_many, check_executor
from knobpack.show.answer import ShowAllocation
from knobpack.show.asked import AskedSong, asked_of, known_of
from knobpack.show.checked import checked_show, checked_song
from knobpack.show.numbered import numbered_songs
from knobpack.show.prices import ALONE, SHOW_TIERS
from knobpack.show.song import Show
from knobpack.words import Layout, Request
from knobpack.words.fields import check_kind, check_whole

_NO_START: Mapping[str, Allocation] = MappingProxyType({})

MOST_MORE = 1_000
"""Loads that a song may join more than alone, at most."""

_IN_USE = tuple(dict.fromkeys((*ALONE, "change", *TIERS)))
"""The tiers of a song that is in use and free: what the show holds it to comes before *change*."""

_TOGETHER, _MOST_TOGETHER = 3, 15
"""How much more effort the songs together may take than one alone, at least and at most; between,
as many times as half of them."""


def allocate_show(
    show: Show,
    *,
    more_joined: int = 0,
    executor: Executor | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Progress], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> ShowAllocation:
    """Lay a whole show out, so that the hand finds the same thing in the same place.

    Each song is as good as it is alone in what is left out, which bundles are parted and which
    snapshots are broken, and joins no more than it does alone, nor beside what is essential. Then
    the least is to be relearned over the show, then the least moves between songs that follow each
    other, and only then is it looked at how well knobs are shared and where things lie.

    Args:
        show: the songs, in playing order.
        more_joined: how many loads more than alone may share a knob in each song, 0 to 1,000.
        executor: what lays the songs out by themselves, as for :func:`knobpack.allocate_many`, and
            begins a long show in several ways at the same time. The answer is the same.
        time_limit: seconds after which the search is cut off, 0 to 10**9; None: none.
        effort: deterministic effort after which the search for each song alone stops, 0 to 10**9;
            that for all of them together has three times as much, from six songs on half as many
            times as there are songs, and fifteen times at most: with the usual effort some five
            minutes for thirty songs or more, less on an executor. Small shows end sooner, once they
            are proven.
        progress: told, now and then, how far the search is.
        cancel: asked now and then; once it says yes, the best so far is returned.
        limits: in place of those four, all of them in one value.

    Returns:
        A layout for each song, checked, and value, bound and proof of each tier of the show.

    Raises:
        InputError: something given is not what it must be.
        ImpossibleDemands: no layout of a song meets every demand.
        NoLayoutFound: the search was stopped before it knew a layout for every song.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show
        >>> organ = Voice("Organ", [Destination("level", priority=1), Destination("drive")])
        >>> bass = Voice("Bass", [Destination("cutoff")])
        >>> surface = Surface.row(4)
        >>> opener = Song("Opener", Request(surface, [organ]))
        >>> ballad = Song("Ballad", Request(surface, [bass, organ]))
        >>> laid_out = allocate_show(Show("Evening", [opener, ballad]))
        >>> [laid_out.song(name).knob_of("Organ/level") for name in ("Opener", "Ballad")]
        ['K1', 'K1']
    """
    check_kind("allocate_show.show", show, Show)
    check_whole("allocate_show.more_joined", more_joined, 0, MOST_MORE)
    check_executor("allocate_show", executor)
    run = begun("allocate_show", effort, limits, time_limit, progress, cancel)
    return allocate_during_show(show, more_joined, run, executor)


def allocate_during_show(
    show: Show,
    more_joined: int,
    run: Run,
    executor: Executor | None = None,
    start: Mapping[str, Allocation] = _NO_START,
) -> ShowAllocation:
    """Lay a show out within what is left of a question under way.

    Args:
        show: the songs, in playing order.
        more_joined: how many loads more than alone may share a knob in each song.
        run: the question.
        executor: what does what may be done at the same time.
        start: what to begin with for songs, by their names, as far as they ask for that; of what
            is not as good as a song has to be nothing comes.

    Returns, Raises: what :func:`allocate_show` does.
    """
    asked = asked_of(show)
    every = [
        _as_in_show(each, laid, run)
        for each, laid in zip(asked, _alone(asked, run, executor), strict=True)
    ]
    alone = [laid for laid, _ in every]
    load("knobpack.show.stages")
    from knobpack.show.search import ShowSearch
    from knobpack.show.stages import searched

    known = known_of(asked)
    there = [Allocation.of(each.request, each.layout) for each in known if each.layout]
    songs = numbered_songs([*asked, *known], [*alone, *there], more_joined)
    watch = run.watch(SHOW_TIERS)
    watch.effort *= min(max(_TOGETHER, len(songs) / 2), _MOST_TOGETHER)
    pinned = {
        at: songs[at].placed(completed(each.request, each.layout))
        for at, each in enumerate([*asked, *known])
        if each.layout is not None
    }
    begun_with = {
        at: song.placed(layout)
        for at, song in enumerate(songs)
        if (was := start.get(song.asked.song.name))
        and song.takes(layout := still_asked(song.asked.request, was))
    }
    least = {tier: sum(own[tier] for _, own in every) for tier in TIERS}
    search = ShowSearch(songs, show.neighbours, pinned, watch, begun_with, least)
    laid, bounds = searched(search, executor)
    layouts = [song.layout(laid[at]) for at, song in enumerate(songs[: len(asked)])]
    return checked_show(
        show, asked, layouts, alone, bounds=bounds, more_joined=more_joined, stopped=watch.why
    )


def _alone(asked: Sequence[AskedSong], run: Run, executor: Executor | None) -> list[Allocation]:
    """Each song laid out by itself, or as it stays.

    Raises:
        ImpossibleDemands, NoLayoutFound: the first song that has no layout says why.
    """
    free = [each for each in asked if each.layout is None]
    answers: Sequence[Callable[[], Allocation]]
    if executor is None:
        answers = [partial(_one, each.request, run, len(free) - n) for n, each in enumerate(free)]
    else:
        half = run.anew(2)
        replies = allocate_many(
            (each.request for each in free),
            executor=executor,
            time_limit=half.time_limit,
            effort=half.effort,
            cancel=half.cancel,
        )
        answers = [reply.get for reply in replies]
    found = []
    for each, answer in zip(free, answers, strict=True):
        with about_song(each.song.name):
            found.append(answer())
    laid = iter(found)
    return [next(laid) if each.layout is None else _kept(each, each.layout) for each in asked]


def _kept(asked: AskedSong, layout: Layout) -> Allocation:
    """A song that stays as it is: how good it is was not searched for."""
    laid = Allocation.of(asked.request, layout)
    return laid if laid.proven else attrs.evolve(laid, stopped="its show")


def _as_in_show(
    asked: AskedSong, laid: Allocation, run: Run
) -> tuple[Allocation, Mapping[str, int]]:
    """A song by itself, and what it comes to at least, as good as that in the tiers before.

    For an edit of what is in use change counts before bundles and sharing, in a show after them. So
    no bundle of it is parted only to change less, and *sharing* has no bound: that is one beside
    the least change.
    """
    if asked.layout is not None:
        return laid, {tier: laid.prices.total(tier) for tier in TIERS}
    least = {tier.name: tier.bound for tier in laid.tiers}
    if asked.request.in_use and laid.prices.total("bundles"):
        try:
            layout, least = allocate_in_order(asked.request, _IN_USE, run.anew(2, told=False))
        except NoLayoutFound:  # stopped: it stays as it is, and nothing bounds it
            return laid, dict.fromkeys(TIERS, 0)
        both = laid, checked_song(asked, layout, laid)
        laid = min(both, key=lambda each: list(map(each.prices.total, _IN_USE)))
    return laid, {**least, "sharing": 0} if asked.request.in_use else least


def _one(request: Request, run: Run, songs: int) -> Allocation:
    """One song laid out by itself, in its share of the time that is left for so many and all."""
    return allocate_during(request, run.anew(songs + 1, told=False))
