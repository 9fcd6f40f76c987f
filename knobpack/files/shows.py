"""Shows: a set list, and beside it a file for each song.

A set list is a file like those of words, ``"knobpack": "show"``: it names the songs in playing
order and the file of each, which lies in the same folder.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.file_shapes import check_word
from knobpack.files.forms import form_of
from knobpack.files.store import dumps, load
from knobpack.files.stored import fields_to_plain, head
from knobpack.show import Show, Song, VoiceRole
from knobpack.show.song import voice_roles
from knobpack.storage import strict_json
from knobpack.storage.disk import numbered_name, path_of, read_json, write
from knobpack.words import Layout, Request, Route, Setup, converters, fields


@attrs.frozen
class ListedSong:
    """One song of a set list.

    Args:
        name: what it is called.
        file: the name of its file, which holds a request, an allocation or a setup and lies in
            the folder of the set list.
        roles: the voices that are the same thing as one of another name in other songs.
        free: whether an allocation or setup may be laid out anew.
        brings: the voices of a setup that no knob drives yet and that are to be placed.
        known: where the hand knows destinations to be.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    name: str = attrs.field(validator=fields.name())
    file: str = attrs.field(validator=fields.name())
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
        # A set list from a stranger names nothing outside its folder.
        if self.file in {".", ".."} or "\\" in self.file:
            right = "give the name of a file in the folder of the set list, and no path"
            raise InputError("ListedSong.file", self.file, right)


@attrs.frozen
class SetList:
    """A show: its songs in playing order, each in a file of its own.

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


def load_show(path: str | os.PathLike[str]) -> Show:
    """Read a show: its set list, and the songs from the files beside it.

    Args:
        path: the file of the set list.

    Returns:
        The show.

    Raises:
        InputError: a file is not what it must be, or the songs make no show.
        FileError: a file cannot be read, or holds no JSON.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.files import load_show, save
        >>> from knobpack.show import Show, Song
        >>> organ = Voice("Organ", [Destination("level")])
        >>> show = Show("Friday", [Song("Opener", Request(Surface.row(4), [organ]))])
        >>> save("friday.json", show)
        >>> load_show("friday.json") == show
        True
    """
    place = path_of(path)
    data = read_json(place)
    try:
        listed = _set_list(data)
    except InputError as error:
        error.file = os.fspath(path)
        raise
    folder = place.parent
    songs = (
        Song(s.name, _played(folder / s.file), s.roles, s.free, s.brings, s.known)
        for s in listed.songs
    )
    return Show(listed.name, tuple(songs), listed.breaks)


def save_show(path: Path, show: Show) -> None:
    """Write a show: a file for each song, and the set list once all of them are there."""
    for other, content in show_files(path, show).items():
        write(other, content)


def show_files(path: Path, show: Show) -> Mapping[Path, bytes]:
    """What stands in the files of a show, the set list last."""
    count = len(show.songs)
    names = [numbered_name(at, count, song.name, ".json") for at, song in enumerate(show.songs, 1)]
    listed = SetList(
        show.name,
        tuple(
            ListedSong(song.name, name, song.roles, song.free, song.brings, song.known)
            for song, name in zip(show.songs, names, strict=True)
        ),
        show.breaks,
    )
    plain = {**head("show"), **fields_to_plain(listed, whole=False)}
    text = json.dumps(plain, ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    songs = zip(names, show.songs, strict=True)
    contents = {path.parent / name: dumps(song.played).encode() for name, song in songs}
    return {**contents, path: text.encode()}


def _set_list(data: object) -> SetList:
    """The set list that stands in a file.

    Raises:
        InputError: it is none; the field is the path of what goes wrong.
    """
    strict_json.check_strict(data)
    check_word("SetList", data)
    try:
        listed: SetList = form_of(SetList).read(data)
    except InputError as error:
        raise error.under("") from None
    return listed


def _played(path: Path) -> Request | Allocation | Setup:
    word = load(path)
    if isinstance(word, Layout):
        right = "give a file that holds a request, an allocation or a setup"
        error = InputError("knobpack", "layout", right)
        error.file = os.fspath(path)
        raise error
    return word
