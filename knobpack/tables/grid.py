"""Grid: the rows of a table under their headings, and what all of them say of one thing."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping
from string import ascii_uppercase
from typing import Final, NoReturn, TypeAlias

import attrs

from knobpack.errors import MISSING, InputError
from knobpack.tables.cells import Said, cell_text, snapshot_said
from knobpack.tables.columns import (
    BY_HEADING,
    DESTINATION,
    KNOB,
    LABEL,
    PLACE,
    REQUIRED,
    SENDING,
    SETUP,
    SNAPSHOT,
    SURFACE,
    TRAVEL,
    VOICE,
)
from knobpack.words.fields import MOST_ITEMS
from knobpack.words.names import listed, near_to


@attrs.frozen
class Row:
    """A row of a table.

    Args:
        number: as a spreadsheet counts it: the headings are row 1.
        cells: what its cells say, under their headings; only those that say anything.
        states: what the cells of the snapshots say, in order.
    """

    number: int
    cells: dict[str, str]
    states: tuple[Said, ...]


@attrs.frozen
class Grid:
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
            heading, or a cell of a snapshot says what it cannot.
    """
    rows = [[cell_text(cell) for cell in cells] for cells in _given(table)]
    if not rows:
        raise InputError("row 1", MISSING, f"give the headings, at least {listed(REQUIRED)}")
    heads, names = _headings(rows[0])
    found = []
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
            found.append(
                Row(
                    number,
                    {head: cells[at] for head, at in heads.items() if cells[at]},
                    tuple(
                        snapshot_said(cell_place(number, at, f"{SNAPSHOT} {name}"), cells[at])
                        for name, at in names.items()
                    ),
                )
            )
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
    for at, cell in enumerate(cells):
        folded = " ".join(cell.casefold().replace("_", " ").split())
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


Key: TypeAlias = tuple[str, Hashable]
"""What a column is about, and which of them: the name of a knob, of a voice, of both, or none."""

NOT_SAID: Final = 7
"""The resolution in bits where a table does not say it."""

_POSITIONS: Final = ("start", "end", "wanted start", "wanted end")


@attrs.frozen
class Cell:
    """What is said of something, and in which row."""

    value: object
    row: int


@attrs.frozen
class Range:
    """Which positions there are.

    Args:
        top: the highest one.
        said: whether anything says what the resolution is.
        there: those beyond it that the setup has already.
    """

    top: int
    said: bool = True
    there: frozenset[int] = frozenset()

    def check(self, where: str, position: object) -> None:
        """Refuse what is no such position.

        Raises:
            InputError: it is none; ``where`` says which cell it is.
        """
        if isinstance(position, int) and (0 <= position <= self.top or position in self.there):
            return
        right = f"give a whole number from 0 to {self.top}"
        if isinstance(position, int) and not self.said:
            right = f"{right}, or say in a column 'bits' that there are more positions"
        raise InputError(where, position, right)


def gathered(grid: Grid, *, per_route: bool, positions: Range) -> Mapping[Key, Mapping[str, Cell]]:
    """What is said of each thing under each heading.

    Args:
        grid: the table.
        per_route: whether a travel is of the route, and so of its row, and not of the knob.
        positions: which positions there are.

    Raises:
        InputError: two rows say different things, something is said of what the row does not
            name, or a position is none.
    """
    found: dict[Key, dict[str, Cell]] = {}
    for row in grid.rows:
        about = keys(row, per_route)
        if KNOB in about and VOICE in about and DESTINATION not in about:
            right = f"say what of {row.cells['voice']} the knob drives, or leave the knob out"
            raise InputError(grid.where(row.number, "destination"), MISSING, right)
        for heading, text in row.cells.items():
            column = BY_HEADING[heading]
            if column.about not in about:
                missing = _NEEDS[column.about]
                if row.cells.get(missing):  # a destination is known by its voice too
                    missing = VOICE
                right = f"this is said of a {missing}; name the {missing} in this row"
                if column.about == TRAVEL and per_route and KNOB in about:
                    right = "this surface sets the travel on each route, and this row has none"
                raise InputError(grid.where(row.number, heading), text, right)
            cell = Cell(column.read(text), row.number)
            if heading in _POSITIONS:
                positions.check(grid.where(row.number, heading), cell.value)
            into = found.setdefault((column.about, about[column.about]), {})
            before = into.setdefault(heading, cell)
            if before.value != cell.value:
                _differ(grid.where(row.number, heading), text, before, column.about)
        for each, key in about.items():
            found.setdefault((each, key), {})
    return found


def keys(row: Row, per_route: bool) -> dict[str, Hashable]:
    """Which of what columns are about this row names."""
    knob, voice, inner = (row.cells.get(each) for each in ("knob", "voice", "destination"))
    found: dict[str, Hashable] = {SETUP: "", SURFACE: ""}
    if knob:
        found |= dict.fromkeys((KNOB, PLACE, LABEL, SENDING), knob)
    if voice:
        found[VOICE] = voice
    if voice and inner:
        found[DESTINATION] = (voice, inner)
    if knob and (inner or not per_route):
        found[TRAVEL] = row.number if per_route else knob
    return found


def told_by(row: int) -> str:
    """Who says something: a row, or the setup that the table is laid onto."""
    return f"row {row}" if row else "the setup"


def _differ(where: str, text: str, before: Cell, about: str) -> NoReturn:
    what = {SURFACE: "panel", SETUP: "setup"}.get(about) or _NEEDS[about]
    said = f"{told_by(before.row)} says {str(before.value)!r} of the same {what}"
    right = f"{said}; all rows say the same"
    raise InputError(where, text, right)


_NEEDS: Final = dict.fromkeys((KNOB, PLACE, LABEL, SENDING, TRAVEL), "knob") | {
    VOICE: "voice",
    DESTINATION: "destination",
}
