"""Questions about a show that is laid out: what if, why elsewhere, which song is worth freeing.

Each is answered by laying the show out again; songs stay as they are laid out unless the question
is about them.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from contextlib import suppress

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError, NoLayoutFound, Stopped
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.show.allocator import allocate_during_show
from knobpack.show.answer import ShowAllocation
from knobpack.show.asked import asked_of
from knobpack.show.compared import compared_in_time, compared_shows
from knobpack.show.definition import loads_joined
from knobpack.show.difference import ShowDifference
from knobpack.show.song import Show, Song, song_name, song_names
from knobpack.show.ways import WorthFreeing
from knobpack.words import Fixed, Knob, Request, Setup
from knobpack.words.converters import knob_name
from knobpack.words.edits import with_knobs
from knobpack.words.fields import as_names, check_kind, check_named
from knobpack.words.names import knob_told, listed, place_told


def as_laid_out(found: ShowAllocation, free: str | Song | Iterable[str | Song] = ()) -> Show:
    """The show with every song programmed as it is laid out, to change one thing of it.

    Args:
        found: the show laid out.
        free: the songs that stay as they were asked for, or their names.

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
    names = [song.name for song in found.show.songs]
    open_songs = as_names("as_laid_out.free", free, song_names)
    for at, name in enumerate(open_songs):
        check_named(f"as_laid_out.free[{at}]", name, names, "name a song of the show")
    songs = []
    for song, laid in zip(found.show.songs, found.songs, strict=True):
        if song.pinned or song.name in open_songs:
            songs.append(song)
            continue
        played = found.setup(song.name) if isinstance(song.played, Setup) else laid
        songs.append(attrs.evolve(song, played=played, free=False, brings=()))
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
        The difference. A song that has no layout is an answer too: see its ``song`` and ``clash``.

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
        1 route is to be programmed: 1 in 'Encore'.
    """
    check_kind("what_if_show.found", found, ShowAllocation)
    check_kind("what_if_show.show", show, Show)
    return compared_shows(found, show, "That", begun("what_if_show", effort, limits))


def why_elsewhere(
    found: ShowAllocation,
    song: str | Song,
    destination: str,
    knob: str | Knob | None = None,
    *,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> ShowDifference:
    """What it would cost to have a destination on another knob in one song, as it is elsewhere.

    Args:
        found: a show laid out; all other songs stay as they are laid out.
        song: a song, or its name; if it is programmed already, it alone is free for this.
        destination: the full name of a destination of it.
        knob: the knob that it is asked for on; None: that on which most other songs have it, the
            first on the panel of several.
        effort: deterministic effort, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        The difference: what the song loses for it first, then what the show gains; what goes along
        and what would be on that knob too.

    Raises:
        InputError: something given is not what it must be, or no knob is named and no other song
            has the destination on one.
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
    song = check_named("why_elsewhere.song", song_name(song), names, "name a song of the show")
    at = names.index(song)
    own = found.show.songs[at]
    open_songs = [attrs.evolve(own, free=own.pinned or own.free)]
    (asked,) = asked_of(attrs.evolve(found.show, songs=open_songs, breaks=()))
    inner, right = asked.request.by_full_name, f"name a destination of '{song}'"
    voices = own.played.voices if isinstance(own.played, Setup) else ()
    if any(name == destination not in inner for voice in voices for name in voice.by_full_name):
        right = f"no knob drives it in '{song}': edit that setup with OwnKnob first"
        raise InputError("why_elsewhere.destination", destination, right)
    check_named("why_elsewhere.destination", destination, inner, right)
    if knob is None:
        knob = _most_on(found, at, destination)
    panel = asked.request.surface.knob_names
    knob = check_named("why_elsewhere.knob", knob_name(knob), panel, "name a knob of the surface")
    # As of an edit, what is named leaves what its knob drives in a setup.
    edited = (destination,) if asked.request.in_use else ()
    rules = (*asked.request.rules, Fixed(destination, knob))
    request = attrs.evolve(asked.request, rules=rules, edited=edited)
    there = attrs.evolve(own, played=request, free=False, brings=())
    show = as_laid_out(found)
    show = attrs.evolve(show, songs=(*show.songs[:at], there, *show.songs[at + 1 :]))
    told = f"{destination} on {knob_told(knob)} in '{song}'"
    here = found.song(song).knob_of(destination)
    if here == knob:
        told += f", where it is already{', the song laid out anew' if own.pinned else ''}"
    elif own.pinned:
        told += f", where it is {place_told(here)}"
    freed = (song,) if own.pinned else ()
    run = begun("why_elsewhere", effort, limits)
    answer = compared_shows(found, show, told, run, freed=freed)
    if answer.allocation is None or not answer.moved:
        return answer
    # By what goes together in the song as it is: to name a destination parts it from the rest.
    on_knobs = {each.destination: each.knob for each in answer.allocation.songs[at].routes}
    loads, beside = loads_joined(asked.request, on_knobs)
    was = found.joined[at]
    joined = attrs.evolve(was, loads=loads, beside_essential=beside)
    # As it is a song that is programmed may join more than it has to.
    if own.pinned and (loads > was.loads or beside > was.beside_essential):
        alone = attrs.evolve(found.show, songs=open_songs, breaks=())
        with suppress(NoLayoutFound):  # stopped: it may be more, which nobody knows
            (by_itself,) = allocate_during_show(alone, found.more_joined, run.anew(1)).joined
            joined = attrs.evolve(by_itself, song=song, loads=loads, beside_essential=beside)
    bundle = request.bundle_of.get(destination)
    mates, on = bundle.names if bundle else (), answer.allocation.song(song).on(knob)
    moved = {each.destination for each in answer.moved}
    return attrs.evolve(
        answer,
        along=tuple(n for n in on if n in mates and n in moved and n != destination),
        beside=tuple(n for n in on if n not in mates and n != destination),
        joined=joined if joined.over else None,
    )


def _most_on(found: ShowAllocation, at: int, destination: str) -> str:
    """The knob that most other songs have a destination of one song on."""
    asked = asked_of(found.show)
    key, on = asked[at].key_of(destination), Counter[str]()
    for n, (other, laid) in enumerate(zip(asked, found.songs, strict=True)):
        same = (r.knob for r in laid.routes if n != at and other.key_of(r.destination) == key)
        on.update(same)
    if not on:
        right = "name a knob of the surface too; no other song has the destination on one"
        raise InputError("why_elsewhere.knob", None, right)
    return max(found.show.surface.knob_names, key=lambda each: on[each])


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
    return compared_shows(found, show, "One more knob", begun("one_more_knob", effort, limits))


def _wider(played: Request | Allocation | Setup) -> Request | Allocation | Setup:
    """What a song is played with, on a surface with one more knob."""
    if isinstance(played, Request):
        return with_knobs(played)
    if isinstance(played, Allocation):
        return Allocation.of(with_knobs(played.request), played.layout)
    return attrs.evolve(played, surface=with_knobs(Request(played.surface)).surface)


def worth_freeing(
    found: ShowAllocation, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> WorthFreeing:
    """Which song that is programmed costs most by staying as it is: what freeing it alone saves.

    Args:
        found: a show laid out; what is still to be laid out in it may go elsewhere for it.
            ``as_laid_out(found)``, laid out, is asked about every song.
        effort: deterministic effort for each song, as for :func:`allocate_show`.
        limits: in place of ``effort``, all that may cut it short.

    Returns:
        What freeing each would save, the dearest first; where that is nothing, what it would
        without what edits asked of it.

    Raises:
        InputError: something given is not what it must be.

    Example:
        >>> from knobpack import Destination, Request, Route, Setup, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, worth_freeing
        >>> panel, organ = Surface.row(4), Voice("Organ", [Destination("level")])
        >>> here, there = (
        ...     Setup(knob, panel, [organ], routes=[Route("Organ/level", knob)])
        ...     for knob in ("K1", "K3")
        ... )
        >>> found = allocate_show(Show("Two", [Song("Opener", here), Song("Ballad", there)]))
        >>> print(worth_freeing(found).sentences[0])
        With 'Ballad' free: less to relearn (0 points, not 2), proven.
    """
    check_kind("worth_freeing.found", found, ShowAllocation)
    run = begun("worth_freeing", effort, limits)
    pinned = [at for at, song in enumerate(found.show.songs) if song.pinned]
    freed, untold, why = list[ShowDifference](), list[str](), None
    for n, at in enumerate(pinned):
        name = found.show.songs[at].name
        saved: ShowDifference | Stopped | None = None
        for free, told in _freed(found.show.songs[at]):
            show = attrs.evolve(
                found.show, songs=(*found.show.songs[:at], free, *found.show.songs[at + 1 :])
            )
            saved = compared_in_time(found, show, told, run.anew(len(pinned) - n), freed=(name,))
            if not isinstance(saved, ShowDifference) or saved.deciding is not None:
                break
        if isinstance(saved, ShowDifference):
            freed.append(saved)
            why = saved.stopped or why
        else:
            untold.append(name)
            why = saved
    freed.sort(key=lambda each: each.gain, reverse=True)
    return WorthFreeing(tuple(freed), tuple(untold), why)


def _freed(song: Song) -> Iterator[tuple[Song, str]]:
    """A song that may be laid out anew, in words: beside what edits asked of it, then without."""
    free, setup = attrs.evolve(song, free=True), song.played
    yield free, f"With '{song.name}' free"
    if isinstance(setup, Setup) and setup.agreed:
        asked = listed([*map(str, setup.edits)] or [each.phrase for each in setup.agreed])
        bare = attrs.evolve(free, played=attrs.evolve(setup, agreed=()))
        yield bare, f"With '{song.name}' free, and without what was asked of it ({asked})"
