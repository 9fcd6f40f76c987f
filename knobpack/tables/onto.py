"""Onto: a table laid onto the setup that it was written from, so that one cell is enough.

The panel of that setup stays: what no row says of a knob is as it was. Where a row names another
knob than the one that drove its destination, what the row still says of that one is passed over;
its travel goes along where nothing else is said of the new one.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import attrs

from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.tables.columns import BY_HEADING, COLUMNS, OF_KNOB, Said
from knobpack.tables.grid import Grid, Row, grid
from knobpack.tables.written import to_rows
from knobpack.words import Setup
from knobpack.words.names import close, near_to

_PAIRS: Final = (("knob row", "knob column"), ("start", "end"))
"""Headings that say one thing together."""

_HEADINGS: Final = {each.heading for each in COLUMNS if each.about in OF_KNOB}
_PARTS: Final = (*_PAIRS, *((each,) for each in _HEADINGS.difference({"knob"}, *_PAIRS)))
"""All headings of what a row may say of a knob, by what they say together."""


def laid_onto(table: Grid, rest: Setup) -> Grid:
    """A table whose rows say what is so of the knobs that they name, and with one for each other.

    Args:
        table: the table.
        rest: the setup that it is laid onto.

    Raises:
        InputError: a row names a knob that is not on the panel, and no place for a new one.
    """
    were = _were(table, rest)
    was = grouped((route.destination, route.knob) for route in rest.routes)
    rows, moved = [], []
    for row in table.rows:
        knob = row.cells.get("knob")
        before = was.get(f"{row.cells.get('voice')}/{row.cells.get('destination')}", [])
        if knob is None or (knob not in before and row.cells.get("destination")):
            moved.append(_moved(row, [were[each] for each in before if each in were]))
        else:
            rows.append(row)
    own = {row.cells["knob"] for row in rows}
    rows += [row for knob, row in were.items() if knob not in own]
    _check_known(table, (*rows, *moved), were)
    travelling = {row.cells["knob"] for row in rows if {"start", "end"} & set(row.cells)}
    for row in moved:  # its travel is left out where something else is said of its knob
        told = not rest.surface.per_route and row.cells.get("knob") in travelling
        gone = ("start", "end") if told else ()
        cells = {heading: cell for heading, cell in row.cells.items() if heading not in gone}
        rows.append(row._replace(cells=cells))
    order = {row.number: at for at, row in enumerate(table.rows)}
    rows.sort(key=lambda row: order.get(row.number, -1))
    return table._replace(rows=tuple(rows))


def perhaps_misspelt(before: Setup, after: Setup) -> tuple[str, ...]:
    """What is new in a setup and comes close to what is gone: it may be misspelt in its table.

    Args:
        before: the setup that the table was laid onto.
        after: what it says.

    Returns:
        Sentences.
    """
    old, new = (list(read(each).destinations) for each in (before, after))
    gone = [name for name in old if name not in new]
    return tuple(
        f"{name} is new, and {near[0]}, which comes close to it, is gone: if that is a slip, write "
        f"{near[0]} in the table."
        for name in new
        if name not in old and (near := close(name, gone))
    )


def _were(table: Grid, rest: Setup) -> dict[str, Row]:
    """What the setup says of each knob, as a row of this table that is nowhere in it."""
    bare = grid(to_rows(attrs.evolve(rest, voices=(), groups=(), routes=())))
    place = {name: at for at, name in enumerate(bare.snapshots)}
    found = {}
    for row in bare.rows:
        states = (row.states[place[name]] if name in place else Said() for name in table.snapshots)
        cells = {
            heading: cell
            for heading, cell in row.cells.items()
            if heading in table.columns and BY_HEADING[heading].about in OF_KNOB
        }
        if "knob" in cells:
            found[cells["knob"]] = Row(0, cells, tuple(states))
    return found


def _moved(row: Row, before: list[Row]) -> Row:
    """A row without what it still says of the knobs that drove its destination before."""
    stale = {
        heading
        for each in before
        for headings in _PARTS
        if all(_alike(heading, row, each) for heading in headings if heading in row.cells)
        for heading in headings
    }
    if "knob" in row.cells:
        stale -= {"start", "end"}
    cells = {heading: cell for heading, cell in row.cells.items() if heading not in stale}
    states = []
    for at, state in enumerate(row.states):
        there = [each.states[at] for each in before]
        position = None if state.position in [each.position for each in there] else state.position
        idle = True if state.idle and not any(each.idle for each in there) else None
        states.append(state._replace(position=position, idle=idle))
    return Row(row.number, cells, tuple(states))


def _alike(heading: str, row: Row, before: Row) -> bool:
    read = BY_HEADING[heading].read
    return heading in before.cells and read(row.cells[heading]) == read(before.cells[heading])


def _check_known(table: Grid, rows: tuple[Row, ...], were: Mapping[str, Row]) -> None:
    placed = {
        row.cells.get("knob") for row in rows if {"knob row", "knob column"} <= set(row.cells)
    }
    for row in sorted(rows, key=lambda row: row.number):
        knob = row.cells.get("knob")
        if knob is not None and knob not in were and knob not in placed:
            right = "name a knob of the panel, or give this one its knob row and knob column"
            near = near_to(knob, were)
            raise InputError(table.where(row.number, "knob"), knob, right + near)
