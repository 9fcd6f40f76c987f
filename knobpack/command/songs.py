"""The songs of a show laid out together."""

from __future__ import annotations

import argparse
import re
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.outcome import Outcome, ShownAnswer
from knobpack.command.outputs import give
from knobpack.command.streams import one_line
from knobpack.disk import numbered_name
from knobpack.errors import InputError
from knobpack.files import dumps
from knobpack.phrases import many
from knobpack.show import Show, ShowAllocation, Song, allocate_show
from knobpack.words import Setup
from knobpack.words.fields import check_named
from knobpack.words.names import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PAGE = "all songs.html"
"""The page of all songs, in the folder of a show."""


def playing(options: argparse.Namespace) -> int:
    """``songs``: the songs of a show, in the order of their files."""
    songs = _songs(options.files, options)
    names = [song.name for song in songs]
    for option, given in (("--free", options.free), ("--break", getattr(options, "break"))):
        for name in given:
            check_named(option, name, names, "name a song")
    free = set(options.free)
    show = Show(
        options.name or "Show",
        [Song(each.name, each.played, free=each.name in free) for each in songs],
        breaks=tuple(dict.fromkeys(getattr(options, "break"))),
    )
    with going_on(f"laying out {many(len(songs), 'song')}", options) as limits:
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


def _songs(paths: Sequence[str], options: argparse.Namespace) -> list[Song]:
    """The songs that files hold: a setup under its name, all else under that of its file."""
    held = [inputs.word(path, options) for path in paths]
    names = [
        word.name if isinstance(word, Setup) else _called(path)
        for path, word in zip(paths, held, strict=True)
    ]
    twice = {name for name, times in Counter(names).items() if times > 1}
    names = [
        _called(path) if name in twice else name for path, name in zip(paths, names, strict=True)
    ]
    again = next((name for name, times in Counter(names).items() if times > 1), None)
    if again is not None:
        path = paths[len(names) - 1 - names[::-1].index(again)]
        raise InputError(one_line(path), again, "give each song a name of its own")
    return [Song(name, word) for name, word in zip(names, held, strict=True)]


def _called(path: str) -> str:
    """A song as its file is called, but for the number in front that a show gives it."""
    name = inputs.name_of(path)
    return re.sub(r"^\d{2,} (?=.)", "", name)


def _files(laid_out: ShowAllocation, folder: Path) -> tuple[dict[Path, bytes], str]:
    """Each song as a setup, its sheet where anything is to be programmed, and the page of all."""
    names = [song.name for song in laid_out.show.songs]
    sheets = laid_out.sheets()
    contents = {folder / PAGE: laid_out.page().encode()}
    for at, name in enumerate(names, 1):
        path = folder / numbered_name(at, len(names), name, ".json")
        contents[path] = dumps(laid_out.setup(name)).encode()
        if name in sheets:
            contents[path.with_suffix(".html")] = sheets[name].page().encode()
    counts = many(len(names), "setup"), many(len(sheets), "patch sheet")
    return contents, f"{listed((*counts, repr(PAGE)))} are in {one_line(str(folder))}."
