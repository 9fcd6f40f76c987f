"""The songs of a show laid out together."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from shlex import quote
from typing import TYPE_CHECKING

import attrs

from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.names import song_meant, songs_called
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.command.paths import SET_LIST_FILE, set_list_in
from knobpack.command.streams import one_line
from knobpack.definition.phrases import many
from knobpack.errors import InputError, Reason
from knobpack.files.shows import show_files
from knobpack.grouped import grouped
from knobpack.limits import Limits, begun
from knobpack.sheets import PatchSheet
from knobpack.show import Show, ShowAllocation, ShowThere, Song, allocate_show
from knobpack.show.changes import breaks_without, newly_beside, ways_of, with_free
from knobpack.show.compared import show_difference
from knobpack.storage.disk import numbered_name
from knobpack.words import Setup
from knobpack.words.names import knobs_told, listed, quoted

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SET_LIST, PAGE = "show.json", "all songs.html"
"""What is in the folder of a show beside its songs: the set list, and the page of all songs."""


def playing(options: argparse.Namespace) -> int:
    """``songs``: the songs of a show, in the order of their files."""
    was, new = _read(options)
    show = _changed(was, new, options)
    with going_on(f"laying out {many(len(show.songs), 'song')}", options) as limits:
        laid_out = allocate_show(show, **limits)
    parts, notes = list[ShownAnswer](), [*_breaks(was, show), *_staying(was, laid_out)]
    sheets, page, first = laid_out.sheets(), laid_out.page, laid_out.losses
    gone: list[str] = []
    if was.songs and _names(show) != _names(was):
        parts += _ways(was, laid_out, options)
    if options.panel is not None:
        surface, home = inputs.surface(options.panel, options), laid_out.verdict[-1]
        with going_on("taking the show to the other panel", options) as limits:
            there = laid_out.on_panel(surface, limits=Limits(**limits))
        laid_out, sheets = there.allocation, there.sheets()
        page, first = there.page, there.headlines
        gone = [f"{each.song}: {name}" for each in there.songs for name in each.essential_out]
        parts.append(ShownAnswer("on the other panel", there, partial(_otherwise, there)))
        programmed = any(song.pinned for song in show.songs)
        notes = (
            [f"Songs are laid out anew here, as at home where they can be. At home, {home}"]
            if programmed
            else []
        )

    def text(wide: int) -> str:
        from knobpack.present.show_text import show_text

        return show_text(laid_out, wide, details=options.details, notes=notes, first=first)

    # What a setup lacks as it was given is told, and no loss of this.
    lost = [
        f"{song.name}: {name}"
        for song, laid in zip(laid_out.show.songs, laid_out.songs, strict=True)
        for name in laid.essential_out
    ]

    def drawn() -> Axes:
        from knobpack.pictures import draw_show

        return draw_show(laid_out)

    folder = None if options.into is None else Path(options.into)
    return give(
        VerbOutcome(
            (ShownAnswer("show", laid_out, text), *parts),
            essential_out=tuple(dict.fromkeys([*gone, *lost])),
            page=page,
            drawn=drawn,
            files=({}, "") if folder is None else _files(laid_out, sheets, folder, page()),
        ),
        options,
    )


def _otherwise(there: ShowThere, wide: int) -> str:
    from knobpack.present.show_text import there_text

    return there_text(there, wide)


def _read(options: argparse.Namespace) -> tuple[Show, list[Song]]:
    """The show of a set list, or of the files of its songs; and the songs to put into it."""
    lists = [path for path in options.files if set_list_in(options.plain.get(path))]
    if not lists:
        if options.new_after is not None:
            right = "give a set list too; songs that are given by themselves are in their order"
            raise InputError("--new-after", options.new_after, right)
        songs = _songs(options.files, options)
        _check_one_panel(songs)
        return Show("Tonight", songs), []
    if lists[1:]:
        raise InputError(one_line(lists[-1]), Reason("holds a show"), SET_LIST_FILE)
    more = [path for path in options.files if path != lists[0]]
    found = inputs.show(lists[0], options)
    was = found.as_laid_out() if isinstance(found, ShowAllocation) else found
    new = _songs(more, options, was)
    _check_one_panel([*was.songs, *new])
    return was, new


def _check_one_panel(songs: Sequence[Song]) -> None:
    """Refuse songs of panels with other knobs, and say which are on which."""
    panels = grouped(
        (f"{many(len(on.knobs), 'knob')} ({knobs_told(on.knob_names)}) at {on.bits} bits", name)
        for name, on in ((song.name, song.surface) for song in songs)
    )
    if len(panels) > 1:
        told = "; ".join(f"{quoted(names)} on {panel}" for panel, names in panels.items())
        right = "knobpack move FILE PANEL --setup FILE takes one to the panel of another"
        raise InputError("songs", Reason("are not on one panel"), f"{told}. First: {right}")


def _changed(was: Show, new: Sequence[Song], options: argparse.Namespace) -> Show:
    """The show that is asked for."""
    names, breaks = _names(was), list(was.breaks)
    every = [*names, *(song.name for song in new)]
    free, after, drop, move = (
        [song_meant(f"--{option}", name, every) for name in getattr(options, option)]
        for option in ("free", "break", "drop", "move")
    )
    if options.free_all:
        free = every
    if move:
        breaks = [*breaks_without(names, breaks, move)]
        new = [*(song for name in move for song in was.songs if song.name == name), *new]
        was = attrs.evolve(was, songs=[s for s in was.songs if s.name not in move], breaks=())
        names = _names(was)
    at = len(names)
    if options.new_after is not None:
        right = "name a song of the set list"
        at = names.index(song_meant("--new-after", options.new_after, names, right)) + 1
    if new:
        # A break after the song that they follow comes after them.
        breaks = [new[-1].name if each == names[at - 1] else each for each in breaks]
    songs = [*was.songs[:at], *new, *was.songs[at:]]
    kept = breaks_without([song.name for song in songs], breaks, drop)
    return Show(
        options.name or was.name,
        [
            attrs.evolve(song, free=song.free or song.name in free)
            for song in songs
            if song.name not in drop
        ],
        tuple(dict.fromkeys((*kept, *after))),
    )


def _names(show: Show) -> list[str]:
    return [song.name for song in show.songs]


def _breaks(was: Show, show: Show) -> Iterator[str]:
    """Which breaks are after another song now."""
    gone = [name for name in was.breaks if name not in show.breaks]
    for old, new in zip(gone, (n for n in show.breaks if n not in was.breaks), strict=False):
        yield f"The break after '{old}' is after '{new}' now."


def _staying(was: Show, laid_out: ShowAllocation) -> list[str]:
    """Which songs stay as they are though they might match better."""
    show = laid_out.show
    if not laid_out.wandering:
        return []
    stay, old = [song.name for song in show.songs if song.pinned], _names(was)
    new = [name for name in stay if old and name not in old]
    told = [f"'{name}' stays as it is; --free {quote(name)} lays it out to match." for name in new]
    if not new and len(stay) == len(show.songs) > 1:
        told = ["--free SONG lays a song out anew to match the others, --free-all every song."]
    return told


def _ways(
    was: Show, laid_out: ShowAllocation, options: argparse.Namespace
) -> Iterator[ShownAnswer]:
    """What the show costs more than it did, and what it would save to lay songs out anew."""
    show, details = laid_out.show, options.details
    if not details and not all(song.pinned for song in was.songs):
        return  # what it was is still to be searched for
    with going_on("trying which other songs might be laid out anew", options) as limits:
        found = allocate_show(was, **limits)
        gone = [name for name in _names(was) if name not in _names(show)]
        every = [song for song in show.songs if song.name in _names(was)]
        free = [song.name for song in every if song.free]
        said = with_free(free, [song.name for song in every])
        told, first = "Beside the show as it was", show_difference(found, laid_out, said)
        beside, more = newly_beside(was, show) if details else None, []
        run = begun("songs", limits=Limits(**limits))
        change = ways_of(found, show, told, run, beside=beside, gone=gone, first=first)
        if not details and len(free) < len(every):
            saved = "what freeing the songs beside it, or every song, would save"
            more = [f"--details tells {saved} (it may take a minute)."]
    below = text_below("WHAT THE CHANGE COSTS", [*change.sentences[1:], *more])
    yield ShownAnswer("what the change costs", change, below)


def _songs(
    paths: Sequence[str], options: argparse.Namespace, was: Show | None = None
) -> list[Song]:
    """The songs that files hold: a setup under its name, all else under that of its file."""
    held = [inputs.word(path, options) for path in paths]
    names = songs_called(
        [
            (path, word.name if isinstance(word, Setup) else None)
            for path, word in zip(paths, held, strict=True)
        ],
        [] if was is None else _names(was),
        [] if was is None else [s.played.name for s in was.songs if isinstance(s.played, Setup)],
    )
    return [Song(name, word) for name, word in zip(names, held, strict=True)]


def _files(
    laid_out: ShowAllocation, sheets: Mapping[str, PatchSheet], folder: Path, page: str
) -> tuple[dict[Path, bytes], str]:
    """Each song as a setup, its sheet where anything is to be programmed, and the page of all."""
    show = laid_out.show
    songs = [Song(s.name, laid_out.setup(s.name), s.roles, known=s.known) for s in show.songs]
    contents = {
        folder / PAGE: page.encode(),
        **show_files(folder / SET_LIST, Show(show.name, songs, show.breaks)),
    }
    for at, song in enumerate(songs, 1):
        if song.name in sheets:
            path = folder / numbered_name(at, len(songs), song.name, ".html")
            contents[path] = sheets[song.name].page().encode()
    counts = many(len(songs), "setup"), many(len(sheets), "patch sheet")
    told = f"{listed((*counts, repr(SET_LIST), repr(PAGE)))} are in {one_line(str(folder))}."
    same = [song.name for song in songs if song.name not in sheets]
    if same:
        told += f"\nNo sheet for {quoted(same)}: as given, nothing is to be programmed in "
        told += f"{'it' if len(same) == 1 else 'them'}. All of a song: knobpack sheet FILE."
    return contents, told
