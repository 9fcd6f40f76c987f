"""States: what the columns of the snapshots say, as snapshots."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, TypeAlias

from knobpack.errors import InputError
from knobpack.setups.as_read import Reading
from knobpack.tables.cells import IDLE, MOVES, SILENT, Said
from knobpack.tables.columns import SNAPSHOT
from knobpack.tables.gathered import Range, told_by
from knobpack.tables.grid import Grid, cell_place
from knobpack.words import KnobPosition, Setup, Snapshot

POSITION: Final = "position"
_Heard: TypeAlias = dict[tuple[str, str], tuple[int, int]]
"""What is said of whom in a column, and in which row first; yes or no as 1 or 0."""


def snapshots_of(
    grid: Grid, setup: Setup, rest: Mapping[str, Snapshot], positions: Range
) -> tuple[Snapshot, ...]:
    """The snapshots of a table, in the order of their columns.

    Args:
        grid: the table.
        setup: what else it holds.
        rest: snapshots by name, for what a table cannot say of them.
        positions: which positions there are.

    Raises:
        InputError: a cell says what its row has not got, or two cells differ.
    """
    reading = Reading(setup)
    return tuple(
        _snapshot(grid, reading, at, name, rest.get(name), positions)
        for at, name in enumerate(grid.snapshots)
    )


def _snapshot(
    grid: Grid, reading: Reading, at: int, name: str, rest: Snapshot | None, positions: Range
) -> Snapshot:
    heard: _Heard = {}
    for row in grid.rows:
        where = grid.state(row.number, name)
        state = row.states[at]
        if state.position is not None:
            positions.check(where, state.position)
        _hear(where, row.number, row.cells, state, heard)
    moves = tuple(_moves(reading, heard))
    if rest is not None and _same(reading, moves, rest.moves):
        moves = rest.moves
    voices = (voice.name for voice in reading.setup.voices)
    head = cell_place(1, grid.snapshots[name], f"{SNAPSHOT} {name}")
    stored = []
    panel = reading.setup.surface.knob_names
    for knob in panel:
        position, said_in = heard.get((POSITION, knob), (None, 0))
        try:
            stored += [] if position is None else [KnobPosition(knob, position)]
        except InputError as error:
            raise InputError(grid.state(said_in, name), position, error.right) from None
    try:
        return Snapshot(
            name,
            moves,
            None if rest is None else rest.break_weight,
            tuple(stored),
            tuple(voice for voice in voices if heard.get((SILENT, voice), (False, 0))[0]),
            tuple(knob for knob in panel if heard.get((IDLE, knob), (False, 0))[0]),
        )
    except InputError as error:
        raise InputError(head, name, error.right) from None


def _hear(where: str, row: int, cells: Mapping[str, str], state: Said, heard: _Heard) -> None:
    knob, voice, inner = (cells.get(each) for each in ("knob", "voice", "destination"))
    if voice is None and (state.moves or state.silent):
        right = "this row names no voice: write held at a position, or idle"
        raise InputError(where, "moves" if state.moves else "silent", right)
    if knob is None and (state.position is not None or state.idle):
        right = "this row names no knob, and only a knob stands somewhere or is idle; name it"
        raise InputError(where, "idle" if state.position is None else state.position, right)
    told: list[tuple[str, str, int | None]] = []
    if voice is not None:
        full = f"{voice}/{inner}" if inner else voice
        told += [(MOVES, full, state.moves), (SILENT, voice, state.silent)]
    if knob is not None:
        told += [(IDLE, knob, state.idle), (POSITION, knob, state.position)]
    for what, who, value in told:
        if value is not None and heard.setdefault((what, who), (value, row))[0] != value:
            other = told_by(heard[what, who][1])
            right = f"{other} says otherwise of {who}; all rows say the same of it, or nothing"
            raise InputError(where, value, right)


def _moves(reading: Reading, heard: _Heard) -> Sequence[str]:
    """What moves, by voice where all of it does."""
    moving = {name for (what, name), (moves, _) in heard.items() if what == MOVES and moves}
    found: list[str] = []
    for voice in reading.setup.voices:
        names = [*voice.by_full_name] or [voice.name]
        found += [voice.name] if moving.issuperset(names) else [n for n in names if n in moving]
    return found


def _same(reading: Reading, one: tuple[str, ...], other: tuple[str, ...]) -> bool:
    """Whether two ways to name what moves mean the same, the voices without destinations too."""
    empty = {voice.name for voice in reading.setup.voices if not voice.destinations}
    mine, theirs = ((reading.named(names), empty.intersection(names)) for names in (one, other))
    return mine == theirs
