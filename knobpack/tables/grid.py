"""Grid: the rows of a table under their headings, each cell looked at by itself.

To import it takes next to no time: a table that will not do is refused at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from string import ascii_uppercase
from typing import NamedTuple

from knobpack.errors import MISSING, InputError
from knobpack.file_shapes import check_field
from knobpack.tables.columns import (
    BY_HEADING,
    REQUIRED,
    SNAPSHOT,
    WORDS,
    Said,
    cell_text,
    snapshot_said,
)
from knobpack.words.fields import MOST_ITEMS
from knobpack.words.names import listed, near_to


class Row(NamedTuple):
    """A row of a table.

    Args:
        number: as a spreadsheet counts it: the headings are row 1.
        cells: what its cells say, under their headings; only those that say anything.
        states: what the cells of the snapshots say, in order.
    """

    number: int
    cells: dict[str, str]
    states: tuple[Said, ...]


class Grid(NamedTuple):
    """A table taken apart.

    Args:
        columns: where each heading stands, counted from 0.
        snapshots: where the column of each snapshot stands, by name, in order.
        rows: the rows that say anything.
    """

    columns: dict[str, int]
    snapshots: dict[str, int]
    rows: tuple[Row, ...]

    def where(self, row: int, heading: str) -> str:
        """Where a cell stands, in words."""
        at = self.columns.get(heading)
        return f"row {row} ({heading})" if at is None else cell_place(row, at, heading)

    def state(self, row: int, snapshot: str) -> str:
        """Where the cell of a snapshot stands, in words."""
        return cell_place(row, self.snapshots[snapshot], f"{SNAPSHOT} {snapshot}")


def cell_place(row: int, column: int, heading: str = "") -> str:
    """Where a cell stands: ``row 3, column F (priority)``; ``column`` is counted from 0."""
    letters, left = "", column + 1
    while left:
        left, digit = divmod(left - 1, len(ascii_uppercase))
        letters = ascii_uppercase[digit] + letters
    return f"row {row}, column {letters}" + (f" ({heading})" if heading else "")


def grid(table: Iterable[Iterable[object]]) -> Grid:
    """Take a table apart.

    Args:
        table: its rows, the headings first; each cell text, a number, true, false or None.

    Raises:
        InputError: there are no rows, too many of them, or no such columns; a cell stands under no
            heading, or says what it cannot, whatever the other cells say.
    """
    rows = [[cell_text(cell) for cell in cells] for cells in _given(table)]
    if not rows:
        raise InputError("row 1", MISSING, f"give the headings, at least {listed(REQUIRED)}")
    heads, names = _headings(rows[0])
    found, known = list[Row](), set[tuple[str, str]]()
    for number, given in enumerate(rows[1:], start=2):
        if any(given[len(rows[0]) :]):
            right = (
                f"the headings are {len(rows[0])}; take away what is too much, such as a comma "
                "within a number, or put it in quotation marks"
            )
            raise InputError(f"row {number}", f"{len(given)} cells", right)
        # Spreadsheets leave the last ones out.
        cells = given + [""] * (len(rows[0]) - len(given))
        for at, cell in enumerate(cells):
            if cell and not rows[0][at]:
                raise InputError(cell_place(number, at), cell, "give this column a heading")
        if any(cells):
            said = {head: cells[at] for head, at in heads.items() if cells[at]}
            for head, cell in said.items():
                column = BY_HEADING[head]
                if (head, cell) not in known and column.about in WORDS and "." not in column.field:
                    where = cell_place(number, heads[head], head)
                    check_field(WORDS[column.about], column.field, column.read(cell), where)
                known.add((head, cell))
            states = (
                snapshot_said(cell_place(number, at, f"{SNAPSHOT} {name}"), cells[at])
                for name, at in names.items()
            )
            found.append(Row(number, said, tuple(states)))
    return Grid(heads, names, tuple(found))


def _given(table: object) -> Iterator[list[object]]:
    right = "give the rows of a table, each a list of cells"
    if isinstance(table, str | bytes | dict) or not isinstance(table, Iterable):
        raise InputError("table", table, right)
    for number, row in enumerate(table, start=1):
        if isinstance(row, str | bytes | dict) or not isinstance(row, Iterable):
            raise InputError(f"row {number}", row, right)
        cells = list(row)
        if number > MOST_ITEMS + 1 or len(cells) > MOST_ITEMS:
            right = f"give at most {MOST_ITEMS:,} rows below the headings, and as many columns"
            raise InputError(f"row {number}", f"{len(cells)} cells", right)
        yield cells


def _headings(cells: list[str]) -> tuple[dict[str, int], dict[str, int]]:
    """Where each known heading stands, and where each snapshot has its column."""
    heads: dict[str, int] = {}
    names: dict[str, int] = {}
    every = [" ".join(cell.casefold().replace("_", " ").split()) for cell in cells]
    if BY_HEADING.keys().isdisjoint(every):
        right = f"no table begins so; give the headings, at least {listed(REQUIRED)}"
        if cells[0][:1] in ("{", "["):
            right += "; what is JSON is read by files.load"
        raise InputError("row 1", ", ".join(filter(None, cells)) or MISSING, right)
    for at, (cell, folded) in enumerate(zip(cells, every, strict=True)):
        mark, colon, name = cell.partition(":")
        if not folded:
            continue
        if colon and f"{mark.strip().casefold()}:" == SNAPSHOT:
            into, what = names, name.strip()
        elif folded in BY_HEADING:
            into, what = heads, folded
        else:
            near = near_to(folded, BY_HEADING)
            near = near or f"; the others are {listed(tuple(BY_HEADING), len(BY_HEADING))}"
            right = f"no column is called so; that of a snapshot is '{SNAPSHOT} {cell}'"
            raise InputError(cell_place(1, at), cell, right + near)
        if what in into:
            right = f"{cell_place(1, into[what])} is called so too; keep one"
            raise InputError(cell_place(1, at), cell, right)
        into[what] = at
    for heading in REQUIRED:
        if heading not in heads:
            right = f"give a column of this heading; needed are {listed(REQUIRED)}"
            raise InputError(f"row 1, '{heading}'", MISSING, right)
    return heads, names
