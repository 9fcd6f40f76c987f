"""Delimited: a table as text with a mark between cells (CSV), and as a file."""

from __future__ import annotations

import csv
import io
import os
from pathlib import Path

from knobpack.errors import InputError
from knobpack.storage.disk import of_file, read_bytes
from knobpack.tables.delimited_text import DELIMITERS, rows_of
from knobpack.tables.grid import Grid, grid
from knobpack.tables.read import NAME, setup_in
from knobpack.tables.written import to_rows
from knobpack.words import Setup, fields


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
    return setup_in(grid(rows_of(text)), rest, name)


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
    if rest is not None:
        fields.check_kind("load.rest", rest, Setup)
    content = read_bytes(path)
    with of_file(path):
        table = grid(rows_of(content))
    return setup_in_file(path, table, rest)


def setup_in_file(path: str | os.PathLike[str], table: Grid, rest: Setup | None) -> Setup:
    """The setup that a file holds, once it is taken apart.

    Args:
        path: the file, as the setup is called where nothing says how.
        table: what stands in it.
        rest: as for :func:`load`.

    Raises:
        InputError: a cell will not do; its ``file`` is the path.
    """
    try:
        stem = Path(path).stem.strip()
        fields.check_name("name", stem)
    except InputError:
        stem = NAME
    with of_file(path):
        return setup_in(table, rest, stem)
