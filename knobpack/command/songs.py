"""The songs of a show laid out together."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from knobpack.command import inputs
from knobpack.command.held_names import song_names
from knobpack.command.meter import going_on
from knobpack.command.outcome import Outcome, ShownAnswer
from knobpack.command.outputs import give
from knobpack.command.paths import is_set_list
from knobpack.command.streams import one_line
from knobpack.definition.phrases import many
from knobpack.errors import InputError, Reason
from knobpack.files.shows import load_show, show_files
from knobpack.show import Show, ShowAllocation, Song, allocate_show
from knobpack.storage.disk import numbered_name
from knobpack.words import Setup
from knobpack.words.fields import check_named
from knobpack.words.names import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SET_LIST, PAGE = "show.json", "all songs.html"
"""What is in the folder of a show beside its songs: the set list, and the page of all songs."""


def playing(options: argparse.Namespace) -> int:
    """``songs``: the songs of a show, in the order of their files."""
    show = _show(options)
    names = [song.name for song in show.songs]
    after = getattr(options, "break")
    for option, given in (("--free", options.free), ("--break", after)):
        for name in given:
            check_named(option, name, names, "name a song")
    free = set(options.free)
    songs = (attrs.evolve(each, free=each.free or each.name in free) for each in show.songs)
    breaks = dict.fromkeys((*show.breaks, *after))
    show = Show(options.name or show.name, tuple(songs), tuple(breaks))
    with going_on(f"laying out {many(len(names), 'song')}", options) as limits:
        laid_out = allocate_show(show, **limits)

    def text(wide: int) -> str:
        from knobpack.present.show_text import show_text

        return show_text(laid_out, wide, details=options.details)

    lost = tuple(
        f"{song.name}: {name}"
        for song, laid in zip(show.songs, laid_out.songs, strict=True)
        for name in laid.essential_out
    )

    def drawn() -> Axes:
        from knobpack.pictures import draw_show

        return draw_show(laid_out)

    folder = None if options.into is None else Path(options.into)
    return give(
        Outcome(
            (ShownAnswer("show", laid_out, text),),
            essential_out=lost,
            page=laid_out.page,
            drawn=drawn,
            files=({}, "") if folder is None else _files(laid_out, folder),
        ),
        options,
    )


def _show(options: argparse.Namespace) -> Show:
    """The show of a set list, or of the files of its songs."""
    lists = [path for path in options.files if is_set_list(options.plain.get(path))]
    if not lists:
        return Show("Tonight", _songs(options.files, options))
    path, *more = options.files
    if more or path == "-":
        right = "give a set list by itself, as a file; it names the files of its songs"
        raise InputError(one_line(lists[0]), Reason("holds a show"), right)
    return load_show(path)


def _songs(paths: Sequence[str], options: argparse.Namespace) -> list[Song]:
    """The songs that files hold: a setup under its name, all else under that of its file."""
    held = [inputs.word(path, options) for path in paths]
    names = song_names(
        [
            (path, word.name if isinstance(word, Setup) else None)
            for path, word in zip(paths, held, strict=True)
        ]
    )
    return [Song(name, word) for name, word in zip(names, held, strict=True)]


def _files(laid_out: ShowAllocation, folder: Path) -> tuple[dict[Path, bytes], str]:
    """Each song as a setup, its sheet where anything is to be programmed, and the page of all."""
    show, sheets = laid_out.show, laid_out.sheets()
    songs = [Song(s.name, laid_out.setup(s.name), s.roles) for s in show.songs]
    contents = {
        folder / PAGE: laid_out.page().encode(),
        **show_files(folder / SET_LIST, Show(show.name, songs, show.breaks)),
    }
    for at, song in enumerate(songs, 1):
        if song.name in sheets:
            path = folder / numbered_name(at, len(songs), song.name, ".html")
            contents[path] = sheets[song.name].page().encode()
    counts = many(len(songs), "setup"), many(len(sheets), "patch sheet")
    return (
        contents,
        f"{listed((*counts, repr(SET_LIST), repr(PAGE)))} are in {one_line(str(folder))}.",
    )
