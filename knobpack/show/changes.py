"""Changes of a show that is laid out: a song more, less or elsewhere, and a voice in every song.

What is programmed stays as it is in the first way that is told; then it is told what it would save
to let songs be laid out anew: first what is put in, then those beside the change, then all. Each
way begins with what the one before came to, so none is worse.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.edits.voices import with_one_more
from knobpack.errors import InputError, about_song, given_as
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.setups.as_read import read
from knobpack.show.answer import ShowAllocation
from knobpack.show.compared import compared_in_time, compared_shows
from knobpack.show.difference import ShowDifference
from knobpack.show.questions import as_laid_out
from knobpack.show.song import Show, Song, song_name, song_names
from knobpack.show.ways import ShowChange
from knobpack.words import Request, Setup, Voice
from knobpack.words.edits import with_voice as asked_with
from knobpack.words.fields import as_names, check_distinct, check_kind, check_named, check_ordered
from knobpack.words.names import quoted
from knobpack.words.setup_edits import OneMore

STAYS = "All else stays"
"""The way in which no song is free."""


def with_song(
    found: ShowAllocation,
    song: Song,
    *,
    after: str | Song | None = None,
    before: str | Song | None = None,
    instead_of: str | Song | None = None,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowChange:
    """Put a song into a show: what it costs if nothing else moves, and if others may.

    Args:
        found: a show laid out; all its songs count as programmed.
        song: the new song.
        after: the song that it follows at once; a break after that comes after the new one.
        before: the song that follows it at once. Neither is given: it comes last.
        instead_of: the song in whose place it is played.
        effort: deterministic effort for each way, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        A way for each: no song moves; it alone may, if it is programmed already; its neighbours
        may too; every song may.

    Raises:
        InputError: something given is not what it must be, or more than one place is named.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, with_song
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> found = allocate_show(Show("Evening", [Song("Opener", request)]))
        >>> print(with_song(found, Song("Waltz", request), after="Opener"))
        'Waltz' after 'Opener'.
        All else stays: neither better nor worse, proven.
        1 route is to be programmed: 1 in 'Waltz'.
        With 'Opener' free: nothing better, proven.
    """
    check_kind("with_song.found", found, ShowAllocation)
    check_kind("with_song.song", song, Song)
    names = [each.name for each in found.show.songs]
    places = {"after": after, "before": before, "instead_of": instead_of}
    given = {where: song_name(each) for where, each in places.items() if each is not None}
    for where, name in given.items():
        check_named(f"with_song.{where}", name, names, "name a song of the show")
    if len(given) > 1:
        right = "give one of after, before and instead_of"
        raise InputError("with_song", tuple(given), right)
    stay = (each for each in names if each != given.get("instead_of"))
    check_distinct("with_song.song.name", [song.name], stay)
    kept, breaks = as_laid_out(found), list(found.show.breaks)
    where, name = next(iter(given.items()), ("after", names[-1]))
    at = names.index(name) + (where == "after")
    songs = [*kept.songs[:at], song, *kept.songs[at + (where == "instead_of") :]]
    if where != "before":
        breaks = [song.name if each == name else each for each in breaks]
    with given_as(f"Show.songs[{at}]", "with_song.song"):
        show = attrs.evolve(kept, songs=tuple(songs), breaks=tuple(breaks))
    told = f"'{song.name}' {where.replace('_', ' ')} '{name}'"
    gone = [name] if where == "instead_of" else []
    run = begun("with_song", effort, limits)
    return ways_of(found, show, told, run, beside=newly_beside(kept, show), gone=gone)


def without_song(
    found: ShowAllocation,
    song: str | Song,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowChange:
    """Drop a song from a show: what it saves if nothing moves, and if others may.

    Args:
        found: a show laid out; all its songs count as programmed.
        song: the song, or its name. A break after it comes after the one before.
        effort: deterministic effort for each way, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        A way for each: no song moves; those that meet may; every song may.

    Raises:
        InputError: something given is not what it must be, or it is the only song.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, without_song
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> print(without_song(allocate_show(show), "Ballad").sentences[2])
        Nothing is to be programmed.
    """
    check_kind("without_song.found", found, ShowAllocation)
    names = [each.name for each in found.show.songs]
    song = check_named("without_song.song", song_name(song), names, "name a song of the show")
    if len(names) == 1:
        raise InputError("without_song.song", song, "it is the only song; a show has one or more")
    kept, at = as_laid_out(found), names.index(song)
    breaks = breaks_without(names, kept.breaks, [song])
    songs = (*kept.songs[:at], *kept.songs[at + 1 :])
    show = attrs.evolve(kept, songs=songs, breaks=breaks)
    run, meet = begun("without_song", effort, limits), newly_beside(kept, show)
    return ways_of(found, show, f"Without '{song}'", run, beside=meet, gone=[song])


def show_in_order(
    found: ShowAllocation,
    songs: Iterable[str | Song],
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowChange:
    """Play the songs of a show in another order: that alone moves no route.

    Args:
        found: a show laid out; all its songs count as programmed.
        songs: all its songs, or their names, in the new order. Breaks come after as many songs as
            before.
        effort: deterministic effort for each way, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        A way for each: no song moves; every song may.

    Raises:
        InputError: something given is not what it must be, or a song is missing.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, show_in_order
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> changed = show_in_order(allocate_show(show), ["Ballad", "Opener"])
        >>> [song.name for song in changed.show.show.songs]
        ['Ballad', 'Opener']
    """
    check_kind("show_in_order.found", found, ShowAllocation)
    names = [each.name for each in found.show.songs]
    check_ordered("show_in_order.songs", songs)
    order = as_names("show_in_order.songs", songs, song_names)
    for at, name in enumerate(order):
        check_named(f"show_in_order.songs[{at}]", name, names, "name a song of the show")
    check_distinct("show_in_order.songs", order)
    missing = [name for name in names if name not in order]
    if missing:
        right = f"name each song; missing: {quoted(missing)}"
        raise InputError("show_in_order.songs", order, right)
    kept = as_laid_out(found)
    song = {each.name: each for each in kept.songs}
    breaks = [order[names.index(each)] for each in kept.breaks]
    show = attrs.evolve(kept, songs=tuple(song[n] for n in order), breaks=tuple(breaks))
    return ways_of(found, show, "In the new order", begun("show_in_order", effort, limits))


def with_voice(
    found: ShowAllocation,
    voice: Voice,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowChange:
    """Bring a voice to every song of a show at once.

    Args:
        found: a show laid out; all its songs count as programmed.
        voice: the voice, its travels in the resolution of the show. It moves in the snapshots of
            each song that move all that others move.
        effort: deterministic effort for each way, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        A way for each: nothing moves that is there; every song may be laid out anew.

    Raises:
        InputError: something given is not what it must be, or its name is taken in a song.
        NoLayoutFound: the search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, with_voice
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> choir = Voice("Choir", [Destination("level")])
        >>> laid = with_voice(allocate_show(show), choir).show
        >>> [song.knob_of("Choir/level") for song in laid.songs]
        ['K2', 'K2']
    """
    check_kind("with_voice.found", found, ShowAllocation)
    check_kind("with_voice.voice", voice, Voice)
    kept, free = list[Song](), list[Song]()
    for song, laid in zip(as_laid_out(found).songs, found.songs, strict=True):
        with about_song(song.name):
            there = (each.name for each in laid.request.voices)
            check_distinct("with_voice.voice.name", [voice.name], there)
            bound, loose = _with(song, laid, voice)
        kept.append(bound)
        free.append(loose)
    show, told = attrs.evolve(found.show, songs=tuple(kept)), f"{voice.name} in every song"
    return ways_of(found, show, told, begun("with_voice", effort, limits), free=free)


def _with(song: Song, laid: Allocation, voice: Voice) -> tuple[Song, Song]:
    """A song with a voice more: all that is there kept, and free."""
    if isinstance(song.played, Setup):
        played = with_one_more(read(song.played), OneMore(voice))
        bound = attrs.evolve(song, played=played, brings=(voice.name,))
        return bound, attrs.evolve(bound, free=True)
    request = laid.request
    plays = {each.name: set(request.moved(each)) for each in request.snapshots or ()}
    every = set[str]().union(*plays.values())
    request = asked_with(request, voice, [n for n, moved in plays.items() if moved == every])
    kept = attrs.evolve(request, keep=laid.layout, previous=None)
    loose = attrs.evolve(request, previous=laid.layout)
    return attrs.evolve(song, played=kept), attrs.evolve(song, played=loose)


def newly_beside(was: Show, show: Show) -> tuple[str, ...]:
    """The songs of a show that follow, or are followed by, another than they were.

    Args:
        was: the show as it was.
        show: as it is to be. What is new in it is not told.
    """
    then, now = (
        {tuple(each.songs[n].name for n in pair): None for pair in each.neighbours}
        for each in (was, show)
    )
    names = {song.name for song in was.songs}
    meet = (name for pair in now if pair not in then for name in pair if name in names)
    return tuple(dict.fromkeys(meet))


def breaks_without(
    songs: Sequence[str], breaks: Iterable[str], gone: Collection[str]
) -> tuple[str, ...]:
    """After which songs there are breaks once some are gone: the last one before that is left.

    Args:
        songs: the names of all songs, in playing order.
        breaks: those after which there is a break.
        gone: those that are gone.
    """
    before: dict[str, str | None] = {}
    last = None
    for name in songs:
        last = last if name in gone else name
        before[name] = last
    return tuple(dict.fromkeys(there for each in breaks if (there := before[each])))


def ways_of(
    found: ShowAllocation,
    show: Show,
    told: str,
    run: Run,
    *,
    beside: Iterable[str] | None = (),
    gone: Collection[str] = (),
    free: Sequence[Song] | None = None,
    first: ShowDifference | None = None,
) -> ShowChange:
    """Each way to take a change up: all else stays, what is new is free, some songs are, all are.

    Args:
        found: the show as it is laid out.
        show: as it is to be, all that is programmed pinned.
        told: what is changed, in words.
        run: the question.
        beside: songs that are let free together, before all are; None: what is new alone is.
        gone: the songs that are no longer played.
        free: what each song is where it is free; None: itself, if it is programmed.
        first: what comes of it as ``show`` says, if that is known.
    """
    opened = {song.name for song in show.songs if song.free}
    free = free if free is not None else list(map(_freed, show.songs))
    old = {each.name for each in found.show.songs} - {*gone}
    every = tuple(song.name for song in show.songs if song.name in old or song.pinned)
    sets = [{*every} - old] + ([] if beside is None else [{*every} - old | {*beside}, {*every}])
    freeing = list(dict.fromkeys(tuple(n for n in every if n in names) for names in sets))
    freeing = [names for names in freeing if not opened.issuperset(names)]
    if first is None:
        first = compared_shows(found, show, STAYS, run.anew(len(freeing) + 1))
    ways, untold, why = [first], list[str](), first.stopped
    for at, names in enumerate(freeing):
        said, last = with_free(names, every), ways[-1].allocation
        start = (last or found).laid
        share = run.anew(len(freeing) - at)
        songs = (b if a.name in names else a for a, b in zip(show.songs, free, strict=True))
        other = attrs.evolve(show, songs=tuple(songs))
        way = compared_in_time(found, other, said, share, freed=names, start=start)
        if isinstance(way, ShowDifference):
            ways.append(way)
            why = way.stopped or why
        else:
            untold.append(said)
            why = way
    return ShowChange(told, tuple(ways), tuple(untold), why)


def with_free(names: Sequence[str], every: Sequence[str]) -> str:
    """Which songs are free of those that might be, in words."""
    if not names:
        return STAYS
    if len(names) > 1 and tuple(names) == tuple(every):
        return "With every song free"
    return f"With {quoted(names)} free"


def _freed(song: Song) -> Song:
    """A song, free if it is programmed."""
    return song if isinstance(song.played, Request) else attrs.evolve(song, free=True)
