"""Parser: what may follow a verb, and how it is told where it will not do.

Nothing here takes time to import: a wrong word is refused before anything else is loaded.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any, Final, NoReturn

from knobpack.command.streams import Refused, output, width
from knobpack.command.takes import Takes, Verb
from knobpack.command.verbs import MEANT, SHARED, VERBS
from knobpack.text.columns import listing, paragraph

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

_FILES: Final = ("files", "panel", "after", "recording", "drawing")
"""What is a file, though it is called otherwise in help."""

VIEWS: Final = ("panel", "routes", "snapshots")
"""What can be drawn of a setup."""

MOST_CHANNELS: Final = 16
"""Channels of MIDI 1.0."""

_DESTS: Final = {
    "FILE": "files",
    "BASE": "files",
    "EDIT": "words",
    "QUESTION": "words",
    "SNAPSHOT": "snapshots",
    "PICTURE": "drawing",
    "TABLE": "after",
}
"""What is called otherwise in the program than in help."""


class Parser(argparse.ArgumentParser):
    """Refuses wrong words in one line, and does not hide that help cannot be written."""

    def error(self, message: str) -> NoReturn:
        """Refuse; argparse calls it."""
        _, needed, names = message.partition("arguments are required: ")
        told = f"{names}: is missing" if needed else message.removeprefix("argument ")
        told = told.replace("expected one argument", "what it takes is missing")
        choices = [each.name for each in VERBS[self.prog.split()[-1]].words]
        if needed and choices:
            told += f"; give one of {', '.join(choices)}"
        raise Refused(f"{told}; {self.prog} --help tells more")

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        """Print help; argparse calls it."""
        (output() if file is None else file).write(self.format_help())


def parsed(name: str, words: Sequence[str]) -> argparse.Namespace:
    """What was said after a verb; after ``--help``, that it was printed is a SystemExit.

    Raises:
        Refused: something will not do.
    """
    made = parser(name)
    if name == "draw":  # the picture is what it is about, so it may go without the option
        words = [word.removeprefix("--picture=") for word in words if word != "--picture"]
    found, rest = made.parse_known_intermixed_args(list(words))
    if rest:
        from knobpack.words.names import close, hint

        known = [row.name for rows in SHARED.values() for row in rows] if VERBS[name].shared else []
        known += [row.name for row in VERBS[name].takes if row.name]
        option = rest[0].startswith("-")
        typed = rest[0].partition("=")[0]
        meant = [MEANT[typed]] if MEANT.get(typed) in known else close(typed, known)[:1]
        near = hint(meant) if option else ""
        what = "there is no such option" if option else "this is one word too many"
        made.error(f"{rest[0]}: {what}{near}")
    if name == "draw":
        found.picture = found.drawing
    if name == "move" and found.panel == "home" and not os.path.exists("home"):  # noqa: PTH110
        found.panel, found.home = None, True
    return found


def parser(name: str) -> Parser:
    """The parser of a verb."""
    verb, wide = VERBS[name], width(sys.stdout)
    made = Parser(
        prog=f"knobpack {name}",
        usage="\n".join(paragraph(f"knobpack {name} {verb.usage}", 7, 4, wide)).lstrip(),
        description=_description(verb, wide),
        formatter_class=lambda prog: argparse.RawDescriptionHelpFormatter(
            prog, max_help_position=min(24, wide // 3), width=wide
        ),
        allow_abbrev=False,
    )
    setattr(made, "color", False)  # noqa: B010 - Python 3.14 colours help, and no older one knows it
    own = made.add_argument_group("of this verb")
    for row in verb.takes:
        (own if row.name else made).add_argument(*_names(row), **_given(row))
    for title, rows in SHARED.items() if verb.shared else ():
        group = made.add_argument_group("\n".join(paragraph(title, page=wide - 1)))
        for row in rows:
            hidden = {"help": argparse.SUPPRESS} if row.name in verb.silent else {}
            group.add_argument(*_names(row), **_given(row) | hidden)
    return made


def every_parser(places: Mapping[str, Any]) -> Parser:
    """One parser of all verbs, for what completes words in a shell.

    Args:
        places: what completes a ``FILE`` and a ``FOLDER``.
    """
    made = Parser(prog="knobpack", allow_abbrev=False)
    verbs = made.add_subparsers(dest="verb")
    for name, verb in VERBS.items():
        own = parser(name)
        for action in own._actions:
            kind = "FILE" if action.dest in _FILES else action.metavar
            if kind in places:
                action.complete = places[kind]  # type: ignore[attr-defined,index]
        verbs.add_parser(name, parents=[own], add_help=False, help=verb.told)
    return made


def _names(row: Takes) -> tuple[str, ...]:
    first = row.values[0] if row.values else ""
    return (row.name or _DESTS.get(first, first.lower()),)


def dest(row: Takes) -> str:
    """What the parser calls the values of a row."""
    return _names(row)[0].removeprefix("--").replace("-", "_")


def _given(row: Takes) -> dict[str, Any]:
    """What argparse is to know of a row."""
    given: dict[str, Any] = {"help": row.told.replace("%", "%%")}
    if row.name and not row.values:
        return given | {"action": "store_true"}
    given["metavar"] = " ".join(row.values)
    if row.name:
        kind = {"type": _TYPES[row.values[0]]} if row.values[0] in _TYPES else {}
        many = {"action": "append", "default": []} if row.most is None else {}
        return given | kind | many
    if row.most is None:
        return given | {"nargs": "+" if row.least else "*"}
    if not row.least:
        return given | {"nargs": "?"}
    return given | ({"nargs": 1} if _names(row) == ("files",) else {})


def _description(verb: Verb, wide: int) -> str:
    lines = paragraph(f"{verb.told[:1].upper()}{verb.told[1:]}.", page=wide)
    lines += ["", "examples:"]
    for each in verb.examples:
        lines += paragraph(each, 2, 4, wide)
    if verb.words:
        lines += ["", *paragraph(verb.words_told, page=wide)]
        lines += listing([(each.usage, each.told) for each in verb.words], page=wide)
    return "\n".join(lines)


def split(
    words: Sequence[str], known: Sequence[Takes], where: str
) -> tuple[tuple[Takes, tuple[str, ...]], ...]:
    """Words that follow one another, ``then`` between them, each with what it takes.

    Raises:
        Refused: one is not known, or takes more or less.
    """
    steps: list[list[str]] = [[]]
    for word in words:
        if word == "then":
            steps.append([])
        else:
            steps[-1].append(word)
    return tuple(_step(step, known, where) for step in steps)


def _step(step: Sequence[str], known: Sequence[Takes], where: str) -> tuple[Takes, tuple[str, ...]]:
    if not step:
        raise Refused(f"then: nothing stands on one side of it; {where} --help tells what can")
    name, *values = step
    takes = next((each for each in known if each.name == name), None)
    if takes is None:
        raise Refused(f"{name!r}: will not do; {_instead(name, known, where)}")
    longer = f"{name}-{values[0]}" if values else ""
    if any(each.name == longer for each in known):
        raise Refused(f"{name} {values[0]}: is one word: {longer}")
    if len(values) < takes.least or (takes.most is not None and len(values) > takes.most):
        told = f"takes {takes.wants}, and has {len(values)}"
        raise Refused(f"{name}: {told}; {where} FILE {takes.usage}")
    return takes, tuple(values)


def _instead(word: str, known: Sequence[Takes], where: str) -> str:
    """What is right where a word is none of those that may stand there."""
    from knobpack.words.names import close, hint

    names = [each.name for each in known]
    if "/" in word:
        first = next(each for each in known if each.least)
        return f"say first what about it: {where} FILE {first.name} {word}"
    near = [MEANT[word]] if MEANT.get(word) in names else close(word, names)
    return f"give one of {', '.join(names)}{hint(near)}"


def _number(right: str, kind: Callable[[str], float], most: float, *, least: float = 0) -> Any:
    """What reads a number from ``least`` to ``most``, or refuses it with what is right."""

    def read(text: str) -> float:
        with suppress(ValueError):
            # Numbers are typed in plain digits.
            if text.isascii() and "_" not in text and least <= (number := kind(text)) <= most:
                return number
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give {right}")

    return read


def _view(text: str) -> str:
    if text not in VIEWS:
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give {', '.join(VIEWS)}")
    return text


_TYPES: Final[Mapping[str, Callable[[str], Any]]] = {
    "SECONDS": _number("seconds, 0 or more", float, sys.float_info.max),
    "EFFORT": _number("a number above 0", float, sys.float_info.max, least=sys.float_info.min),
    "NUMBER": _number("a whole number", int, 10**9 - 1),
    "CHANNEL": _number(f"a whole number from 1 to {MOST_CHANNELS}", int, MOST_CHANNELS, least=1),
    "VIEW": _view,
}
"""How the values of options are read that are no text."""
