"""Gathered: what all rows of a table say of one thing, and of each snapshot."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Final, TypeAlias

import attrs

from knobpack.errors import MISSING, InputError
from knobpack.setups.as_read import Reading
from knobpack.tables.columns import BY_HEADING, IDLE, MOVES, OF_KNOB, SILENT, SNAPSHOT, About, Said
from knobpack.tables.grid import Grid, Row, cell_place
from knobpack.words import KnobPosition, Setup, Snapshot

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
        if About.KNOB in about and About.VOICE in about and About.DESTINATION not in about:
            right = f"say what of {row.cells['voice']} the knob drives, or leave the knob out"
            raise InputError(grid.where(row.number, "destination"), MISSING, right)
        for heading, text in row.cells.items():
            column = BY_HEADING[heading]
            called = _CALLED.get(column.about, column.about)
            if column.about not in about:
                # A destination is known by its voice too.
                missing = About.VOICE if row.cells.get(called) else called
                right = f"this is said of a {missing}; name the {missing} in this row"
                if column.about == About.TRAVEL and per_route and About.KNOB in about:
                    right = "this surface sets the travel on each route, and this row has none"
                raise InputError(grid.where(row.number, heading), text, right)
            cell = Cell(column.read(text), row.number)
            if heading in _POSITIONS:
                positions.check(grid.where(row.number, heading), cell.value)
            into = found.setdefault((column.about, about[column.about]), {})
            before = into.setdefault(heading, cell)
            if before.value != cell.value:
                said = f"{told_by(before.row)} says {str(before.value)!r}"
                right = f"{said} of the same {called}; all rows say the same"
                raise InputError(grid.where(row.number, heading), text, right)
        for each, key in about.items():
            found.setdefault((each, key), {})
    return found


def keys(row: Row, per_route: bool) -> dict[str, Hashable]:
    """Which of what columns are about this row names."""
    knob, voice, inner = (row.cells.get(each) for each in ("knob", "voice", "destination"))
    found: dict[str, Hashable] = {About.SETUP: "", About.SURFACE: ""}
    if knob:
        found |= dict.fromkeys((About.KNOB, About.PLACE, About.LABEL, About.SENDING), knob)
    if voice:
        found[About.VOICE] = voice
    if voice and inner:
        found[About.DESTINATION] = (voice, inner)
    if knob and (inner or not per_route):
        found[About.TRAVEL] = row.number if per_route else knob
    return found


def told_by(row: int) -> str:
    """Who says something: a row, or the setup that the table is laid onto."""
    return f"row {row}" if row else "the setup"


_CALLED: Final = {About.SURFACE: "panel"} | dict.fromkeys(OF_KNOB, "knob")
"""What that is called which a column is about, where it is not called so."""

POSITION: Final = "position"
_Heard: TypeAlias = dict[tuple[str, str], tuple[int, int]]
"""What is said of whom in a column, and in which row first; yes or no as 1 or 0."""


def snapshots_of(
    grid: Grid, setup: Setup, rest: Mapping[str, Snapshot], positions: Range
) -> Iterator[Snapshot]:
    """The snapshots of a table, in the order of their columns.

    Args:
        grid: the table.
        setup: what else it holds.
        rest: snapshots by name, for what a table cannot say of them.
        positions: which positions there are.

    Raises:
        InputError: a cell says what its row has not got, or two cells differ.
    """
    reading, panel = Reading(setup), setup.surface.knob_names
    for at, name in enumerate(grid.snapshots):
        heard: _Heard = {}
        for row in grid.rows:
            where = grid.state(row.number, name)
            if row.states[at].position is not None:
                positions.check(where, row.states[at].position)
            _hear(where, row, row.states[at], heard)
        yes = {key for key, (value, _) in heard.items() if value}
        moves, old = _moves(setup, {who for what, who in yes if what == MOVES}), rest.get(name)
        if old is not None and _same(reading, moves, old.moves):
            moves = old.moves
        stood = ((knob, heard[POSITION, knob][0]) for knob in panel if (POSITION, knob) in heard)
        try:
            yield Snapshot(
                name,
                moves,
                None if old is None else old.break_weight,
                tuple(KnobPosition(*each) for each in stood),
                tuple(voice.name for voice in setup.voices if (SILENT, voice.name) in yes),
                tuple(knob for knob in panel if (IDLE, knob) in yes),
            )
        except InputError as error:
            head = cell_place(1, grid.snapshots[name], f"{SNAPSHOT} {name}")
            raise InputError(head, name, error.right) from None


def _hear(where: str, row: Row, state: Said, heard: _Heard) -> None:
    knob, voice, inner = (row.cells.get(each) for each in ("knob", "voice", "destination"))
    if voice is None and (state.moves or state.silent):
        right = "this row names no voice: write held at a position, or idle"
        raise InputError(where, "moves" if state.moves else "silent", right)
    if knob is None and (state.position is not None or state.idle):
        right = "this row names no knob, and only a knob stands somewhere or is idle; name it"
        raise InputError(where, "idle" if state.position is None else state.position, right)
    full = f"{voice}/{inner}" if inner else voice
    for what, who, value in (
        (MOVES, full if voice else None, state.moves),
        (SILENT, voice, state.silent),
        (IDLE, knob, state.idle),
        (POSITION, knob, state.position),
    ):
        if who is None or value is None:
            continue
        said, first = heard.setdefault((what, who), (value, row.number))
        if said != value:
            right = f"{told_by(first)} says otherwise of {who}"
            raise InputError(where, value, f"{right}; all rows say the same of it, or nothing")


def _moves(setup: Setup, moving: set[str]) -> tuple[str, ...]:
    """What moves, by voice where all of it does."""
    found: list[str] = []
    for voice in setup.voices:
        names = [*voice.by_full_name] or [voice.name]
        found += [voice.name] if moving.issuperset(names) else [n for n in names if n in moving]
    return tuple(found)


def _same(reading: Reading, one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether two ways to name what moves mean the same, the voices without destinations too."""
    empty = {voice.name for voice in reading.setup.voices if not voice.destinations}
    mine, theirs = ((reading.named(names), empty.intersection(names)) for names in (one, other))
    return mine == theirs
