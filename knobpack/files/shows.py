"""Shows: songs in playing order, in one file with all that they are played with, or in several.

A show is a file like those of words, ``"knobpack": "show"``. Each song says what it is ``played``
with, as in a file of its own; or it names the ``file`` that holds that, in the same folder: so the
command writes a show of which a player takes songs one by one.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import MISSING, InputError
from knobpack.files.forms import form_of
from knobpack.files.plain import from_plain
from knobpack.files.store import dumps, text_of
from knobpack.files.written import to_plain
from knobpack.show import Show, Song, VoiceRole
from knobpack.show.song import voice_roles
from knobpack.storage.disk import numbered_name, of_file, read_json
from knobpack.words import Request, Route, Setup, converters, fields


@attrs.frozen
class ListedSong:
    """One song of a show, with what it is played with or the name of the file that holds that.

    Args:
        name: what it is called.
        file: the name of a file that holds a request, an allocation or a setup and lies in the
            folder of the show's.
        played: a request, an allocation or a setup, where no file is named.
        roles: the voices that are the same thing as one of another name in other songs.
        free: whether an allocation or setup may be laid out anew.
        brings: the voices of a setup that no knob drives yet and that are to be placed.
        known: where the hand knows destinations to be.

    Raises:
        InputError: a field holds a value it cannot hold, or not one of ``file`` and ``played``.
    """

    name: str = attrs.field(validator=fields.name())
    file: str | None = attrs.field(default=None, validator=fields.name(optional=True))
    played: Request | Allocation | Setup | None = attrs.field(
        default=None, validator=fields.one_among(Request, Allocation, Setup, optional=True)
    )
    roles: tuple[VoiceRole, ...] = attrs.field(
        default=(), converter=voice_roles, validator=fields.several(VoiceRole)
    )
    free: bool = attrs.field(default=False, validator=fields.flag())
    brings: tuple[str, ...] = attrs.field(
        default=(), converter=converters.texts, validator=fields.names()
    )
    known: tuple[Route, ...] = attrs.field(
        default=(), converter=converters.as_tuple, validator=fields.several(Route)
    )

    def __attrs_post_init__(self) -> None:
        if (self.file is None) == (self.played is None):
            right = "say what it is played with, or name the file that holds that"
            value = MISSING if self.file is None else self.file
            raise InputError("ListedSong.played", value, right)
        # A show from a stranger names nothing outside its folder.
        if self.file is not None and (self.file in {".", ".."} or "\\" in self.file):
            right = "give the name of a file in the folder of the show's, and no path"
            raise InputError("ListedSong.file", self.file, right)


@attrs.frozen
class SetList:
    """A show: its songs in playing order.

    Args:
        name: what the show is called.
        songs: the songs.
        breaks: the names of the songs after which there is a break.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    name: str = attrs.field(validator=fields.name())
    songs: tuple[ListedSong, ...] = attrs.field(
        converter=converters.as_tuple, validator=fields.several(ListedSong)
    )
    breaks: tuple[str, ...] = attrs.field(
        default=(), converter=converters.texts, validator=fields.names()
    )


def show_of_plain(data: Mapping[str, Any], folder: Path | None) -> Show:
    """The show that a file holds.

    Args:
        data: what stands in the file, in the shape that the schema says.
        folder: where the files lie that it names; None: nowhere.

    Raises:
        InputError: a value will not do, a file is named that holds no song, or the songs make no
            show.
        FileError: a file that is named cannot be read, or holds no JSON.
    """
    listed: SetList = form_of(SetList).read(data)
    songs = []
    for at, each in enumerate(listed.songs):
        where = f"Show.songs[{at}]"
        if each.file is not None and folder is None:
            right = "only files.load finds the files that a show names; give it the file of that"
            raise InputError(f"{where}.file", each.file, right)
        played = each.played or _played((folder or Path()) / str(each.file))
        try:
            songs.append(Song(each.name, played, each.roles, each.free, each.brings, each.known))
        except InputError as error:
            raise error.under(where) from None
    return Show(listed.name, songs, listed.breaks)


def show_files(path: Path, show: Show) -> Mapping[Path, bytes]:
    """A show as several files: one for each song beside that of the show, which comes last."""
    plain, found = to_plain(show), dict[Path, bytes]()
    for at, song in enumerate(show.songs):
        name = numbered_name(at + 1, len(show.songs), song.name, ".json")
        found[path.parent / name] = dumps(song.played).encode()
        plain["songs"][at] = {
            "file" if key == "played" else key: name if key == "played" else value
            for key, value in plain["songs"][at].items()
        }
    return {**found, path: text_of(plain).encode()}


def _played(path: Path) -> Request | Allocation | Setup:
    """What a song is played with, from its file."""
    data = read_json(path)
    with of_file(path):
        word = from_plain(data)
        if isinstance(word, Request | Allocation | Setup):
            return word
        right = "give a file that holds a request, an allocation or a setup"
        raise InputError("knobpack", type(word).__name__.lower(), right)
