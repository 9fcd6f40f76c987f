"""Written: a setup as the rows of a table."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import attrs

from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.tables.cell_words import knob_places
from knobpack.tables.columns import (
    AFTER_SNAPSHOTS,
    COLUMNS,
    SNAPSHOT,
    About,
    TableColumn,
    shown,
    snapshot_cell,
)
from knobpack.words import Destination, Route, Setup, Snapshot, Voice


@attrs.frozen
class _Line:
    """What a row is about."""

    knob: str | None = None
    voice: Voice | None = None
    destination: Destination | None = None
    route: Route | None = None


def to_rows(setup: Setup) -> tuple[tuple[str, ...], ...]:
    """A setup as the rows of a table, the headings first.

    There is a row for each route, voice by voice, and one for each destination that no knob drives,
    each voice without destinations and each knob that drives nothing. Columns that would say
    nothing but what is so by default are left out. Text that a spreadsheet would run or rewrite,
    such as ``=a`` or ``1-2``, has an apostrophe before it; :func:`from_rows` takes it off.

    Args:
        setup: the setup. Its faults stand in the table too, but for what names what is not there.

    Returns:
        The rows, all of the same length, each cell as text; ``pandas.DataFrame(rows[1:],
        columns=rows[0])`` takes them.

    Raises:
        InputError: it is no Setup.

    Example:
        >>> from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice
        >>> from knobpack.tables import to_rows
        >>> organ = Voice("Organ", (Destination("level", priority=1),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(1),
        ...     voices=(organ,),
        ...     routes=(Route("Organ/level", "K1"),),
        ...     snapshots=(Snapshot("Solo", ("Organ",)),),
        ... )
        >>> headings, row = to_rows(setup)
        >>> headings[:4], row[:4]
        (('knob', 'knob row', 'knob column', 'layer'), ('K1', '1', '1', '1'))
        >>> row[headings.index("snapshot: Solo")]
        'moves'
    """
    reading = read(setup, "to_rows.setup")
    lines = list(_lines(reading)) or [_Line()]
    known = _known(setup)
    columns = []
    for column in COLUMNS:
        if column.heading == AFTER_SNAPSHOTS:
            columns += [
                (f"{SNAPSHOT} {each.name}", *_snapshot(reading, each, lines))
                for each in setup.snapshots
            ]
        cells = [shown(_value(column, line, known)) for line in lines]
        if column.always or not {"", column.default}.issuperset(cells):
            columns.append((column.heading, *cells))
    return tuple(zip(*columns, strict=True))


def _lines(reading: Reading) -> Iterator[_Line]:
    setup = reading.setup
    panel = set(setup.surface.knob_names)
    routes = grouped((route.destination, route) for route in setup.routes if route.knob in panel)
    for voice in setup.voices:
        for inner in voice.destinations:
            led = routes.get(voice.full_name(inner), [])
            yield from (_Line(route.knob, voice, inner, route) for route in led)
            if not led:
                yield _Line(None, voice, inner)
        if not voice.destinations:
            yield _Line(None, voice)
    yield from (_Line(knob) for knob, names in reading.carries.items() if not names)


def _known(setup: Setup) -> dict[str, Mapping[str, object]]:
    """What is known of each knob, under what a column is about and its name."""
    return {
        About.KNOB: {each.name: each for each in setup.surface.knobs},
        About.PLACE: knob_places(setup.surface),
        About.LABEL: {each.knob: each for each in setup.labels},
        About.SENDING: {each.knob: each for each in setup.sending},
        About.TRAVEL: {each.knob: each.travel for each in setup.travels},
        About.SURFACE: {"": setup.surface},
        About.SETUP: {"": setup},
    }


def _value(column: TableColumn, line: _Line, known: Mapping[str, Mapping[str, object]]) -> object:
    """What stands in a cell; None: nothing."""
    word: object
    match column.about:
        case About.VOICE:
            word = line.voice
        case About.DESTINATION:
            word = line.destination
        case About.SETUP | About.SURFACE:
            word = known[column.about][""]
        case About.TRAVEL if known[About.SURFACE][""].per_route:  # type: ignore[attr-defined]
            word = line.route.travel if line.route else None
        case _:
            word = known[column.about].get(line.knob or "")
    for field in column.field.split("."):
        word = getattr(word, field, None)
    return word


def _snapshot(reading: Reading, snapshot: Snapshot, lines: list[_Line]) -> Iterator[str]:
    named, stored = reading.named(snapshot.moves), snapshot.stored
    for line in lines:
        voice, moves = line.voice, None
        if voice is not None and line.destination is not None:
            moves = voice.full_name(line.destination) in named
        elif voice is not None:
            moves = voice.name in snapshot.moves
        yield snapshot_cell(
            moves=moves,
            position=stored.get(line.knob or ""),
            silent=voice is not None and voice.name in snapshot.silent,
            idle=line.knob in snapshot.idle,
        )
