"""Names: what a player typed, found or refused with what is close to it; what songs are called."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final

import attrs

from knobpack.command.streams import one_line
from knobpack.errors import InputError
from knobpack.words import Request, Rule
from knobpack.words.edits import only, without_knob, without_rule, without_snapshot, without_voice
from knobpack.words.fields import check_named
from knobpack.words.names import listed

PART: Final = "name a knob, voice, destination, snapshot or rule of the request"
"""What is right where a request is to be without something."""


@attrs.frozen
class RequestPart:
    """One thing of a request that it could be without.

    Args:
        word: ``knob``, ``voice``, ``destination``, ``snapshot`` or ``rule``.
        names: what a player may call it.
        told: what it is called in a heading.
        edit: takes it from a request.
        subject: what ``edit`` takes away.
    """

    word: str
    names: tuple[str, ...]
    told: str
    edit: Callable[[Request, Any], Request]
    subject: str | Rule

    def without(self, request: Request) -> Request:
        """The request without it."""
        return self.edit(request, self.subject)


def part(option: str, name: str, request: Request) -> RequestPart:
    """The part of a request that a player means.

    A knob and a voice may have one name. With its word before it, as in ``voice Pad`` or
    ``rule 2``, a name always means that one.

    Raises:
        InputError: there is none, or it could be more than one.
    """
    parts = _parts(request)
    found = [each for each in parts if any(name == f"{each.word} {own}" for own in each.names)]
    found = found or [each for each in parts if name in each.names]
    if len(found) == 1:
        return found[0]
    if not found:
        # One of each word first, to show what names look like here; no number of a rule.
        some = {each.word: each.names[0] for each in reversed(parts)}
        shown = [some[word] for word in dict.fromkeys(each.word for each in parts)]
        check_named(option, name, dict.fromkeys((*shown, *(e.names[0] for e in parts))), PART)
    raise ambiguous(option, name, [f"{each.word} {_own(each, parts)}" for each in found])


def ambiguous(option: str, name: str, ways: Iterable[str]) -> InputError:
    """The refusal of a name that could be more than one; ``ways`` name each of them alone."""
    quoted = listed([f"'{way}'" for way in ways])
    return InputError(option, name, f"it could be more than one; say which: {quoted}")


def _own(part: RequestPart, parts: Sequence[RequestPart]) -> str:
    """A name that tells a part from all others of its word."""
    others = [each for each in parts if each.word == part.word and each != part]
    return next(name for name in part.names if not any(name in other.names for other in others))


def _parts(request: Request) -> list[RequestPart]:
    sorts: tuple[tuple[str, str, Iterable[str], Callable[[Request, str], Request]], ...] = (
        ("knob", "the knob {}", request.surface.knob_names, without_knob),
        ("voice", "the voice {}", (each.name for each in request.voices), without_voice),
        ("destination", "{}", request.by_full_name, _without),
        ("snapshot", "the snapshot {}", (each.name for each in request.played), without_snapshot),
    )
    found = [
        RequestPart(word, (name,), told.format(name), edit, name)
        for word, told, names, edit in sorts
        for name in names
    ]
    for rule in dict.fromkeys(request.rules):
        numbers = [str(at) for at, each in enumerate(request.rules, 1) if each == rule]
        weight = "" if rule.weight is None else f", weight {rule.weight:,}"
        names = (str(rule), *numbers)
        found.append(RequestPart("rule", names, f"the rule {rule}{weight}", without_rule, rule))
    return found


def _without(request: Request, destination: str) -> Request:
    return only(request, [name for name in request.by_full_name if name != destination])


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


def songs_called(
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
    times = Counter((*taken, *setups, *(name or song_called(path) for path, name in held)))
    names = [name if name and times[name] == 1 else song_called(path) for path, name in held]
    for at, name in enumerate(names):
        if name in taken or name in names[:at]:
            raise InputError(one_line(held[at][0]), name, "give each song a name of its own")
    return names


def song_called(path: str) -> str:
    """A song as its file is called, but for the number in front that a show gives it."""
    return re.sub(r"^\d{2,} (?=.)", "", name_of_file(path))


def name_of_file(path: str) -> str:
    """What the setup is called that a request in a file is laid out as."""
    stem = os.path.splitext(os.path.basename(path))[0]  # noqa: PTH119, PTH122 - pathlib takes time
    return "Request" if path == "-" else stem[:120] or "Request"
