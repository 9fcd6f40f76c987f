"""Questions about a show that is laid out: what if, why not there, which song is the odd one out.

Each is answered by laying the show out again, or from its prices alone; songs stay as they are laid
out unless the question is about them.
"""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.show.allocator import allocate_during_show
from knobpack.show.answer import ShowAllocation
from knobpack.show.asked import asked_of
from knobpack.show.definition import show_prices
from knobpack.show.difference import (
    MovedInSong,
    OddSong,
    OddSongs,
    PartChange,
    ShowDifference,
)
from knobpack.show.prices import PARTS
from knobpack.show.song import Show
from knobpack.words import Fixed, Request, Setup
from knobpack.words.edits import with_knobs
from knobpack.words.fields import as_names, check_kind, check_named
from knobpack.words.names import knob_told


def as_laid_out(found: ShowAllocation, free: Iterable[str] = ()) -> Show:
    """The show with every song programmed as it is laid out, to change one thing of it.

    Args:
        found: the show laid out.
        free: the names of songs that stay as they were asked for.

    Returns:
        A new show: put a song in, leave one out or play one elsewhere, and lay it out again.

    Raises:
        InputError: ``found`` is no ShowAllocation, or a name is none of a song.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, as_laid_out
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> found = allocate_show(Show("Evening", [Song("Opener", request)]))
        >>> as_laid_out(found).songs[0].pinned
        True
    """
    check_kind("as_laid_out.found", found, ShowAllocation)
    names, open_songs = [song.name for song in found.show.songs], as_names("as_laid_out.free", free)
    for at, name in enumerate(open_songs):
        check_named(f"as_laid_out.free[{at}]", name, names, "name a song of the show")
    songs = []
    for song, laid in zip(found.show.songs, found.songs, strict=True):
        if song.pinned or song.name in open_songs:
            songs.append(song)
            continue
        played = found.setup(song.name) if isinstance(song.played, Setup) else laid
        songs.append(attrs.evolve(song, played=played, free=False))
    return attrs.evolve(found.show, songs=tuple(songs))


def what_if_show(
    found: ShowAllocation,
    show: Show,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowDifference:
    """Lay another show out, and tell what it changes.

    Args:
        found: a show laid out.
        show: the other one: a song more or less, another order, songs free that were programmed.
            :func:`as_laid_out` keeps the rest.
        effort: deterministic effort, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        The difference. A song that has no layout is an answer too: see its ``clash``.

    Raises:
        InputError: something given is not what it must be.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, as_laid_out, what_if_show
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> found = allocate_show(Show("Evening", [Song("Opener", request)]))
        >>> longer = as_laid_out(found)
        >>> longer = Show("Evening", [*longer.songs, Song("Encore", request)])
        >>> print(what_if_show(found, longer).sentences[1])
        No route moves.
    """
    check_kind("what_if_show.found", found, ShowAllocation)
    check_kind("what_if_show.show", show, Show)
    return _difference(found, show, "That", begun("what_if_show", effort, limits))


def why_elsewhere(
    found: ShowAllocation,
    song: str,
    destination: str,
    knob: str,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowDifference:
    """What it would cost to have a destination on another knob in one song, as it is elsewhere.

    Args:
        found: a show laid out.
        song: the name of a song that is not programmed already.
        destination: the full name of a destination of it.
        knob: the knob that it is asked for on; all other songs stay as they are laid out.
        effort: deterministic effort, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        The difference: what the song loses for it first, then what the show gains.

    Raises:
        InputError: something given is not what it must be, or the song is programmed already.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, why_elsewhere
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> print(why_elsewhere(allocate_show(show), "Ballad", "Organ/level", "K4").deciding)
        relearning
    """
    check_kind("why_elsewhere.found", found, ShowAllocation)
    names = [each.name for each in found.show.songs]
    check_named("why_elsewhere.song", song, names, "name a song of the show")
    at = names.index(song)
    asked = asked_of(found.show)[at]
    if asked.layout is not None:
        raise InputError("why_elsewhere.song", song, "it is programmed already; let it be free")
    right = f"name a destination of '{song}'"
    check_named("why_elsewhere.destination", destination, asked.request.destinations, right)
    panel = asked.request.surface.knob_names
    check_named("why_elsewhere.knob", knob, panel, "name a knob of the surface")
    rules = (*asked.request.rules, Fixed(destination, knob))
    there = attrs.evolve(found.show.songs[at], played=attrs.evolve(asked.request, rules=rules))
    show = as_laid_out(found)
    show = attrs.evolve(show, songs=(*show.songs[:at], there, *show.songs[at + 1 :]))
    told = f"{destination} on {knob_told(knob)} in '{song}'"
    return _difference(found, show, told, begun("why_elsewhere", effort, limits))


def one_more_knob(
    found: ShowAllocation, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> ShowDifference:
    """What one more knob would be worth to a show.

    Args:
        found: a show laid out.
        effort: deterministic effort, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        The difference; what is programmed already stays as it is.

    Raises:
        InputError: something given is not what it must be.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, one_more_knob
        >>> voices = [Voice("Organ", [Destination("level"), Destination("drive")])]
        >>> show = Show("Evening", [Song("Opener", Request(Surface.row(1), voices))])
        >>> one_more_knob(allocate_show(show)).deciding
        'sharing'
    """
    check_kind("one_more_knob.found", found, ShowAllocation)
    songs = tuple(attrs.evolve(song, played=_wider(song.played)) for song in found.show.songs)
    show = attrs.evolve(found.show, songs=songs)
    return _difference(found, show, "One more knob", begun("one_more_knob", effort, limits))


def odd_songs(found: ShowAllocation) -> OddSongs:
    """Which song is the odd one out: without which there would be the least to relearn.

    Args:
        found: a show laid out; its other songs stay as they are.

    Returns:
        Every song, the one that differs most first.

    Raises:
        InputError: ``found`` is no ShowAllocation.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, odd_songs
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> print(odd_songs(allocate_show(show)))
        No song is the odd one out.
    """
    check_kind("odd_songs.found", found, ShowAllocation)
    asked, layouts = asked_of(found.show), [laid.layout for laid in found.songs]
    whole, odd = found.prices.relearning, []
    for at, song in enumerate(found.show.songs):
        rest = [n for n in range(len(layouts)) if n != at]
        less = (0, 0, 0)
        if rest:
            others = [asked[n] for n in rest], [layouts[n] for n in rest]
            without = show_prices(*others, (), ()).relearning
            points, roles, kinds = (a - b for a, b in zip(whole, without, strict=True))
            less = points, roles, kinds
        odd.append(OddSong(song.name, song.pinned, *less))
    return OddSongs(
        tuple(sorted(odd, key=lambda o: (o.destinations, o.roles, o.kinds), reverse=True))
    )


def _difference(found: ShowAllocation, show: Show, asked: str, run: Run) -> ShowDifference:
    """What comes of another show."""
    try:
        other = allocate_during_show(show, found.more_joined, run)
    except ImpossibleDemands as error:
        return ShowDifference(asked, found.tiers, clash=error.clash)
    parts = tuple(
        PartChange(tier, part, was, now)
        for tier in PARTS
        for (part, was), (_, now) in zip(
            found.prices.parts(tier), other.prices.parts(tier), strict=True
        )
    )
    return ShowDifference(asked, found.tiers, other.tiers, _moved(found, other), other, parts=parts)


def _moved(found: ShowAllocation, other: ShowAllocation) -> tuple[MovedInSong, ...]:
    now = {song.name: laid for song, laid in zip(other.show.songs, other.songs, strict=True)}
    return tuple(
        MovedInSong(song.name, name, was.knob_of(name), now[song.name].knob_of(name))
        for song, was in zip(found.show.songs, found.songs, strict=True)
        if song.name in now
        for name in was.request.destinations
        if name in now[song.name].request.destinations
        and was.knob_of(name) != now[song.name].knob_of(name)
    )


def _wider(played: Request | Allocation | Setup) -> Request | Allocation | Setup:
    """What a song is played with, on a surface with one more knob."""
    if isinstance(played, Request):
        return with_knobs(played)
    if isinstance(played, Allocation):
        return Allocation.of(with_knobs(played.request), played.layout)
    return attrs.evolve(played, surface=with_knobs(Request(played.surface)).surface)
