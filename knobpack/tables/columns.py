"""Columns: what a table holds, one column for each field of a word; and what their cells say.

Spreadsheets run what begins with a sign of a formula, and rewrite what looks like a number or a
date. So text that they would not leave alone has an apostrophe before it, which is taken off again.
Dates in English alone are known; all this is common practice, no source.
To import it takes next to no time.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import StrEnum
from typing import Final, NamedTuple

from knobpack.errors import InputError
from knobpack.words.names import near_to

MOVES, HELD, SILENT, IDLE = "moves", "held", "silent", "idle"
"""What a cell of a snapshot says."""

_NUMBER: Final = re.compile(r"0|[1-9][0-9]{0,14}")
_MONTH: Final = re.compile(
    r"(jan(uary)?|feb(ruary)?|mar(ch)?|apr(il)?|may|june?|july?|aug(ust)?|sept?(ember)?"
    r"|oct(ober)?|nov(ember)?|dec(ember)?)[\s./-]*\d.*",
    re.IGNORECASE,
)
_WHOLE: Final = re.compile(r"([+-]?[0-9]{1,20})(?:[.,]0+)?")
_SPAN: Final = re.compile(r"([0-9]+) *(?:to|-) *([0-9]+)")
_POSITION: Final = re.compile(r"(?:held )?(?:at )?([0-9]{1,20})(?:[.,]0+)?")
_YES: Final = frozenset(("yes", "true", "x", "1"))
_NO: Final = frozenset(("no", "false", "-", "0"))
_MEANT: Final = {MOVES: MOVES, "x": MOVES, "yes": MOVES, "true": MOVES} | dict.fromkeys(
    (HELD, "no", "false", "-"), HELD
)


def guarded(text: str) -> str:
    """Text as a spreadsheet leaves it alone: see :func:`cell_text`."""
    return f"'{text}" if _risky(text.lstrip("'")) else text


def cell_text(cell: object) -> str:
    """The text of a cell, its apostrophe taken off: ``cell_text(guarded(text)) == text``.

    Args:
        cell: text, a number, true, false or None, as the readers of spreadsheets give them.
    """
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    text = str(cell).strip()
    return text[1:] if text.startswith("'") and _risky(text.lstrip("'")) else text


def _risky(text: str) -> bool:
    if not text or _NUMBER.fullmatch(text):
        return False
    return not text[0].isalpha() or bool(
        _MONTH.fullmatch(text) or text.casefold() in {"true", "false"}
    )


def shown(value: object) -> str:
    """A value as it stands in a cell."""
    match value:
        case None:
            return ""
        case bool():
            return "yes" if value else "no"
        case tuple():
            return guarded("/".join(value))  # no name holds one
        case str():
            return guarded(value)
    return str(value)


def text(cell: str) -> object:
    """What a cell says that holds a name: the text itself."""
    return cell


def number(cell: str) -> object:
    """The number that a cell says, ``64.0`` and ``64,0`` too; else its text, to be refused."""
    found = _WHOLE.fullmatch(cell)
    return int(found[1]) if found else cell


def yes_or_no(cell: str) -> object:
    """Whether a cell says yes; else its text, to be refused."""
    said = cell.casefold()
    return True if said in _YES else False if said in _NO else cell


def span(cell: str) -> object:
    """The keys or velocities that a cell says, ``36 to 59``; else its text, to be refused."""
    from knobpack.words import Span

    found = _SPAN.fullmatch(cell)
    return Span(int(found[1]), int(found[2])) if found else cell


def name_list(cell: str) -> object:
    """The names that a cell says, a slash between them."""
    return tuple(part.strip() for part in cell.split("/"))


class Said(NamedTuple):
    """What a cell of a snapshot says.

    Args:
        moves: whether what the row is about moves; None: the cell is empty.
        position: where the knob of the row stands; None: not said.
        silent: whether the voice of the row is silent; None: the cell is empty.
        idle: whether the knob is switched to follow and drives nothing; None: the cell is empty.
    """

    moves: bool | None = None
    position: int | None = None
    silent: bool | None = None
    idle: bool | None = None


def snapshot_cell(*, moves: bool | None, position: int | None, silent: bool, idle: bool) -> str:
    """How a cell of a snapshot says this: ``moves``, ``held at 64``, ``held, silent``.

    ``moves`` is None where the row is about a knob alone.
    """
    at = [] if position is None else [f"at {position}"]
    held = [" ".join([HELD, *at])] if at or moves is not None else []
    told = [MOVES, *at] if moves else held
    return ", ".join([*told, *[SILENT] * silent, *[IDLE] * idle])


def snapshot_said(where: str, cell: str) -> Said:
    """What a cell of a snapshot says.

    Raises:
        InputError: it says anything else; ``where`` says which cell it is.
    """
    if not cell:
        return Said()
    found: dict[str, object] = {}
    for part in cell.split(","):
        word = " ".join(part.casefold().split())
        at = _POSITION.fullmatch(word)
        if at:
            found["position"] = int(at[1])
        elif word in (SILENT, IDLE):
            found[word] = True
        elif word in _MEANT:
            found["moves"] = _MEANT[word] == MOVES
        else:
            right = "write moves, held, held at a position, silent or idle, a comma between two"
            raise InputError(where, cell, right + near_to(word, (MOVES, HELD, SILENT, IDLE)))
    return Said(
        moves=bool(found.get("moves", False)),
        position=found.get("position"),  # type: ignore[arg-type]
        silent=SILENT in found,
        idle=IDLE in found,
    )


class About(StrEnum):
    """What a column is about."""

    SETUP = "setup"
    SURFACE = "surface"
    KNOB = "knob"
    PLACE = "place"
    LABEL = "label"
    SENDING = "sends"
    TRAVEL = "travel"
    VOICE = "voice"
    DESTINATION = "destination"


OF_KNOB: Final = (About.KNOB, About.PLACE, About.LABEL, About.SENDING, About.TRAVEL)
"""What is said of a knob."""


SNAPSHOT: Final = "snapshot:"
"""What the heading of the column of a snapshot starts with, before its name."""


class TableColumn(NamedTuple):
    """A column of a table.

    Args:
        heading: what stands at its head, in small letters.
        about: what it is about; all rows of the same knob, voice or destination say the same.
        field: the field of that word that it holds.
        read: what a cell says, for the word to refuse if it will not do.
        always: whether it is there even where every row has the default.
        default: the cell that says what is so by default, if that is not an empty one.
    """

    heading: str
    about: About
    field: str
    read: Callable[[str], object] = text
    always: bool = False
    default: str = ""


COLUMNS: Final = (
    TableColumn("knob", About.KNOB, "name", always=True),
    TableColumn("knob row", About.KNOB, "row", number, always=True),
    TableColumn("knob column", About.KNOB, "column", number, always=True),
    TableColumn("label", About.LABEL, "label"),
    TableColumn("layer", About.VOICE, "layer", number, always=True),
    TableColumn("voice", About.VOICE, "name", always=True),
    TableColumn("destination", About.DESTINATION, "name", always=True),
    TableColumn("kind", About.DESTINATION, "kind", always=True),
    TableColumn("priority", About.DESTINATION, "priority", number, always=True),
    TableColumn("start", About.TRAVEL, "start", number, always=True),
    TableColumn("end", About.TRAVEL, "end", number, always=True),
    # Here stand the snapshots.
    TableColumn("wanted start", About.DESTINATION, "travel.start", number),
    TableColumn("wanted end", About.DESTINATION, "travel.end", number),
    TableColumn("movable", About.DESTINATION, "movable", yes_or_no, default="yes"),
    TableColumn("steps", About.DESTINATION, "steps", number),
    TableColumn("must place", About.DESTINATION, "must_place", yes_or_no, default="no"),
    TableColumn("source", About.VOICE, "source"),
    TableColumn("source knob", About.DESTINATION, "source_knob"),
    TableColumn("source place", About.DESTINATION, "source_place", number),
    TableColumn("channel", About.VOICE, "channel", number),
    TableColumn("keys", About.VOICE, "keys", span),
    TableColumn("velocities", About.VOICE, "velocities", span),
    TableColumn("transposition", About.VOICE, "transposition", number),
    TableColumn("program", About.VOICE, "program", number),
    TableColumn("controller", About.SENDING, "number", number),
    TableColumn("fine", About.SENDING, "fine", yes_or_no, default="no"),
    TableColumn("controller channel", About.SENDING, "channel", number),
    TableColumn("turning", About.SENDING, "turning"),
    TableColumn("usual", About.KNOB, "usual", name_list),
    TableColumn("reserved", About.PLACE, "reserved", yes_or_no, default="no"),
    TableColumn("favoured", About.PLACE, "favoured", number),
    TableColumn("travel on", About.SURFACE, "travel_on", default="knob"),
    TableColumn("most on a knob", About.SURFACE, "destinations_per_knob", number),
    TableColumn("most routes", About.SURFACE, "routes", number),
    TableColumn("most layers", About.SURFACE, "layers", number),
    TableColumn("most snapshots", About.SURFACE, "snapshots", number),
    TableColumn("label length", About.SURFACE, "label_length", number),
    TableColumn("bits", About.SURFACE, "bits", number, always=True),
    TableColumn("setup", About.SETUP, "name", always=True),
)

AFTER_SNAPSHOTS: Final = "wanted start"
"""The heading before which the columns of the snapshots stand."""

BY_HEADING: Final = {column.heading: column for column in COLUMNS}

WORDS: Final = {
    About.SETUP: "SetupFile",
    About.SURFACE: "Surface",
    About.KNOB: "Knob",
    About.LABEL: "KnobLabel",
    About.SENDING: "KnobSending",
    About.VOICE: "Voice",
    About.DESTINATION: "Destination",
}
"""What the schema of files calls the word that a column is about; positions it cannot know."""

REQUIRED: Final = ("knob", "voice", "destination")
"""Headings that must be there."""
