"""Held names: what was named, looked up in files as they were read, before words are made of them.

A name that names nothing is refused before anything that takes time to import. What is more than a
name is left to what does the work, which refuses the same.
"""

from __future__ import annotations

import argparse
import os
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

from knobpack.command.parser import dest, split
from knobpack.command.paths import set_list_in
from knobpack.command.streams import one_line
from knobpack.command.takes import Takes
from knobpack.command.verbs import VERBS
from knobpack.errors import InputError
from knobpack.words.fields import check_named

if TYPE_CHECKING:
    from knobpack.tables.grid import Grid

PART: Final = "name a knob, voice, destination, snapshot or rule of the request"
"""What is right where a request is to be without something."""

RIGHT: Final[Mapping[tuple[str, str], tuple[str, str]]] = {
    ("ask", "NAME"): ("destinations", "name a voice/destination that the file holds"),
    ("ask", "KNOB"): ("knobs", "name a knob of the panel"),
    ("ask", "PART"): ("knobs voices destinations snapshots", PART),
    ("ask", "SONG"): ("songs", "name a song"),
    ("combine", "NAME"): (
        "voices groups destinations",
        "name a voice, a group, or voice/destination of the base",
    ),
    ("combine", "VOICE"): ("brought", "name a voice of a source"),
    ("edit", "NAME"): (
        "voices groups destinations knobs",
        "name a voice/destination, a voice, a group or a knob of the setup",
    ),
    ("edit", "KNOB"): ("knobs", "name a knob of the setup's surface"),
    ("edit", "VOICE"): (
        "voices sources destinations",
        "name a voice, a source or a voice/destination of the setup",
    ),
    ("listen", "SNAPSHOT"): ("snapshots", "name a snapshot of the setup"),
    ("songs", "SONG"): ("songs", "name a song"),
    ("sweep", "SNAPSHOT"): ("snapshots", "name a snapshot of the setup"),
}
"""What may stand for a value of a verb, of what its first file holds, and what is said else."""

RENAMING: Final = frozenset({"take-back"})
"""What brings back names that the file does not hold."""


def check_names(options: argparse.Namespace) -> None:
    """Refuse what names nothing in the file that a verb is about.

    Each word that follows the file, with what it takes, is in ``options.steps`` from then on.

    Raises:
        Refused: such a word is not known, or takes more or less.
        InputError: a name that names nothing.
    """
    verb = VERBS[options.verb]
    given: list[tuple[Takes, Sequence[str]]] = [
        (takes, getattr(options, dest(takes)) or ())
        for takes in verb.takes
        if any((options.verb, kind) in RIGHT for kind in takes.values)
    ]
    if verb.words:
        options.steps = split(options.words, verb.words, f"knobpack {options.verb}")
        # Of several questions those that name something are answered all the same.
        given += options.steps if options.verb != "ask" or len(options.steps) == 1 else ()
    held: Mapping[str, Sequence[str]] | None = None
    for takes, values in given:
        if takes.name in RENAMING:
            return
        for at, value in enumerate([values] if isinstance(values, str) else values):
            kind = takes.values[min(at, len(takes.values) - 1)]
            if (options.verb, kind) not in RIGHT:
                continue
            if kind == "KNOB" and "/" in value:
                told = "name the knob first, then what goes on it"
                right = told if takes.name == "on" else f"give {takes.wants}"
                raise InputError(takes.name, value, right)
            held = held or _held(options)
            parts, right = RIGHT[options.verb, kind]
            sorts = [held.get(part, ()) for part in parts.split()]
            names = [name for sort in sorts for name in sort]
            if kind == "PART":
                names = _parts(" ".join(values), *sorts)
            if names and kind == "SONG":
                song_meant(takes.name, value, names, right)
            elif names:
                check_named(takes.name or options.verb, value, names, right)


def _parts(
    name: str,
    knobs: Sequence[str],
    voices: Sequence[str],
    destinations: Sequence[str],
    snapshots: Sequence[str],
) -> list[str]:
    """What a request could be without, one of each sort first; none where a name may be more.

    A rule, a snapshot that is there by default, and a name with its word before it are more.
    """
    sorts = (knobs, voices, destinations, snapshots or ["everything"])
    if {*" ("} & {*name} or name.isdecimal() or not all(sorts):
        return []
    every = (each for sort in sorts for each in sort)
    return [*dict.fromkeys((*(sort[0] for sort in sorts), *every))]


def _held(options: argparse.Namespace) -> Mapping[str, Sequence[str]]:
    if options.verb == "songs":
        return {"songs": _songs(options)}
    _, held = _named_in(options.files[0], options)
    return {**held, "brought": _brought(options)} if options.verb == "combine" else held


def _named_in(
    path: str, options: argparse.Namespace
) -> tuple[str | None, Mapping[str, Sequence[str]]]:
    """What the setup in a file is called, and the names of each sort; none where it takes more."""
    plain = options.plain[path]
    if isinstance(plain, dict):
        return plain.get("name"), names_held(plain)
    from knobpack.tables.grid import Grid

    return names_in_table(plain) if isinstance(plain, Grid) else (None, {})


def _brought(options: argparse.Namespace) -> list[str]:
    """The voices of the sources, by name and as 'SETUP: VOICE'; none where that takes more."""
    named: list[tuple[str, Sequence[str]]] = []
    for path in options.files[1:]:
        name, held = _named_in(path, options)
        if not held:
            return []
        named.append((name or name_of(path), held["voices"]))
    voices = dict.fromkeys(voice for _, own in named for voice in own)
    return [*voices, *(f"{name}: {voice}" for name, own in named for voice in own)]


def names_held(plain: Mapping[str, Any]) -> Mapping[str, Sequence[str]]:
    """The names of each sort that stand in a file.

    Args:
        plain: what stands in it, in the shape of a request, a setup, an allocation or a set list.
    """
    plain = set_list_in(plain) or plain.get("request", plain)  # of an allocation
    voices, knobs = plain.get("voices", ()), plain.get("surface", {}).get("knobs", ())
    if isinstance(knobs, int):
        knobs = [{"name": f"K{number}"} for number in range(1, knobs + 1)]
    found = {
        kind: _names(plain.get(kind) or ()) for kind in ("voices", "groups", "snapshots", "songs")
    }
    return found | {
        "knobs": _names(knobs),
        "sources": [each["source"] for each in voices if isinstance(each.get("source"), str)],
        "destinations": [
            f"{each['name']}/{name}"
            for each in voices
            for name in _names(each.get("destinations", ()))
        ],
    }


def names_in_table(table: Grid) -> tuple[str | None, Mapping[str, Sequence[str]]]:
    """What a table says that its setup is called, None where it does not, and its names."""
    cells = [row.cells for row in table.rows]
    said = {
        head: [*dict.fromkeys(row[head] for row in cells if head in row)]
        for head in ("setup", "knob", "voice", "source")
    }
    pairs = (f"{r['voice']}/{r['destination']}" for r in cells if {"voice", "destination"} <= {*r})
    return next(iter(said["setup"]), None), {
        "voices": said["voice"],
        "groups": [],
        "snapshots": [*table.snapshots],
        "knobs": said["knob"],
        "sources": said["source"],
        "destinations": [*dict.fromkeys(pairs)],
    }


def _names(plain: Sequence[Mapping[str, Any]]) -> list[str]:
    """The names of things; what is no text the words refuse."""
    return [each["name"] for each in plain if isinstance(each["name"], str)]


def _songs(options: argparse.Namespace) -> list[str]:
    plains = [(path, options.plain.get(path)) for path in options.files]
    if not all(isinstance(each, dict) for _, each in plains):
        return []
    lists = [found for _, each in plains if (found := set_list_in(each))]
    songs = [(path, each.get("name")) for path, each in plains if set_list_in(each) is None]
    old = [name for each in lists for name in _names(each["songs"])]
    return old + song_names(songs, old)


def song_meant(option: str, name: str, songs: Sequence[str], right: str = "name a song") -> str:
    """The song that a name means: of that name, or the only one but for capitals.

    Args:
        option: where the name is given.
        name: the name.
        songs: the names of all songs.
        right: what is said else.

    Raises:
        InputError: it means none.
    """
    alike = [song for song in songs if song.casefold() == name.casefold()]
    if name not in songs and len(alike) == 1:
        return alike[0]
    return check_named(option, name, songs, right)


def song_names(
    held: Sequence[tuple[str, str | None]], taken: Sequence[str] = (), setups: Sequence[str] = ()
) -> list[str]:
    """What songs are called: a setup by its name, all else, and where two are alike, by its file.

    Args:
        held: the file of each, and the name of the setup that it holds; None: it is none.
        taken: the names of songs that they are put beside.
        setups: the names of the setups that those songs are played with.

    Raises:
        InputError: two have one name all the same.
    """
    times = Counter((*taken, *setups, *(name or called(path) for path, name in held)))
    names = [name if name and times[name] == 1 else called(path) for path, name in held]
    for at, name in enumerate(names):
        if name in taken or name in names[:at]:
            raise InputError(one_line(held[at][0]), name, "give each song a name of its own")
    return names


def called(path: str) -> str:
    """A song as its file is called, but for the number in front that a show gives it."""
    return re.sub(r"^\d{2,} (?=.)", "", name_of(path))


def name_of(path: str) -> str:
    """What the setup is called that a request in a file is laid out as."""
    stem = os.path.splitext(os.path.basename(path))[0]  # noqa: PTH119, PTH122 - pathlib takes time
    return "Request" if path == "-" else stem[:120] or "Request"
