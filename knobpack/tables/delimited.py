"""Delimited: a table as text with a mark between cells (CSV), and as a file."""

from __future__ import annotations

import codecs
import csv
import io
import os
from pathlib import Path
from typing import Final

from knobpack.errors import InputError
from knobpack.storage import strict_json
from knobpack.storage.disk import read_bytes
from knobpack.tables.columns import BY_HEADING, SNAPSHOT
from knobpack.tables.grid import grid
from knobpack.tables.read import NAME, setup_in
from knobpack.tables.written import to_rows
from knobpack.words import Setup, fields

DELIMITERS: Final = (",", ";", "\t")
"""What may stand between two cells. Where commas are in numbers, spreadsheets write semicolons."""


def dumps(setup: Setup, delimiter: str = ",") -> str:
    r"""A setup as the text of a table, its rows ending in ``\r\n`` (RFC 4180).

    Args:
        setup: the setup.
        delimiter: what stands between two cells: a comma, a semicolon or a tab.

    Returns:
        The text.

    Raises:
        InputError: it is no Setup, or no such delimiter.

    Example:
        >>> from knobpack import Setup, Surface, tables
        >>> tables.dumps(Setup("Evening set", Surface.row(2)))[:25]
        'knob,knob row,knob column'
    """
    if delimiter not in DELIMITERS:
        right = "give a comma, a semicolon or a tab"
        raise InputError("dumps.delimiter", delimiter, right)
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=delimiter).writerows(to_rows(setup))
    return text.getvalue()


def loads(text: str | bytes, rest: Setup | None = None, name: str = NAME) -> Setup:
    """The setup that the text of a table holds.

    Args:
        text: at most 8 MB; as bytes UTF-8, or UTF-16 with a byte order mark. Which delimiter it has
            is seen from the headings. A first line such as ``sep=;`` is passed over.
        rest: the setup that says all that the table does not; None: nothing does.
        name: what the setup is called where neither says so.

    Returns:
        The setup.

    Raises:
        InputError: it is no text of a table, or a heading or cell will not do; the field is its row
            and column, as a spreadsheet counts them.
    """
    fields.check_name("loads.name", name)
    if rest is not None:
        fields.check_kind("loads.rest", rest, Setup)
    return setup_in(grid(_rows(_decoded(text))), rest, name)


def load(path: str | os.PathLike[str], rest: Setup | None = None) -> Setup:
    r"""Read a setup from a file that holds it as a table.

    Args:
        path: the file; at most 8 MB.
        rest: the setup that says all that the table does not; None: nothing does.

    Returns:
        The setup; called as the file, where nothing says how.

    Raises:
        InputError: as :func:`loads`; its ``file`` is the path.
        FileError: the file cannot be read.

    Example:
        >>> from pathlib import Path
        >>> from knobpack import tables
        >>> _ = Path("late.csv").write_text("knob;voice;destination\r\nK1;Organ;level\r\n")
        >>> setup = tables.load("late.csv")
        >>> setup.name, setup.routes[0].destination
        ('late', 'Organ/level')
    """
    content = read_bytes(path)
    try:
        stem = Path(path).stem.strip()
        fields.check_name("name", stem)
    except InputError:
        stem = NAME
    try:
        return loads(content, rest, stem)
    except InputError as error:
        error.file = os.fspath(path)
        raise


def _decoded(text: object) -> str:
    if not isinstance(text, str | bytes):
        raise InputError("text", text, "give text or bytes")
    if len(text) > strict_json.MOST_BYTES:
        raise InputError("size", len(text), f"give at most {strict_json.MOST_BYTES:,} bytes")
    if isinstance(text, bytes):
        wide = text.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
        try:
            text = text.decode("utf-16" if wide else "utf-8-sig")
        except UnicodeDecodeError as error:
            right = "save the table as UTF-8 (in spreadsheets: 'CSV UTF-8')"
            where = f"byte {error.start + 1}"
            raise InputError(where, error.object[error.start : error.end], right) from None
    if "\0" in text:
        raise InputError("text", "\0", "a table is text; save it as 'CSV UTF-8'")
    return text.removeprefix("\ufeff")


def _rows(text: str) -> list[list[str]]:
    first, _, after = text.partition("\n")
    told = first.strip().strip('"')
    if told.casefold().startswith("sep=") and len(told) == 5:
        text = after
    return _parted(text, max(DELIMITERS, key=lambda mark: _headed(text, mark)))


def _headed(text: str, delimiter: str) -> int:
    """How many of the headings are known if this stands between them."""
    heads = next(iter(_parted(text.partition("\n")[0], delimiter, strict=False)), [])
    known = (head.strip().casefold().replace("_", " ") for head in heads)
    return sum(head in BY_HEADING or head.startswith(SNAPSHOT) for head in known)


def _parted(text: str, delimiter: str, strict: bool = True) -> list[list[str]]:
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=strict)
    try:
        rows.extend(reader)
    except csv.Error as error:
        right = "a cell that begins with a quotation mark ends with one, and doubles those within"
        raise InputError(f"row {len(rows) + 1}", str(error), right) from None
    return rows
