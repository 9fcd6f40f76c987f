"""Read: the rows of a table as a setup."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from operator import attrgetter
from typing import Any, Final

import attrs

from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.tables.cell_words import (
    CellWords,
    in_older_order,
    panel_of,
    said_of_knobs,
    travels_of,
)
from knobpack.tables.columns import About, number
from knobpack.tables.gathered import NOT_SAID, Range, gathered, keys, snapshots_of
from knobpack.tables.grid import Grid, grid
from knobpack.tables.onto import laid_onto
from knobpack.tables.written import to_rows
from knobpack.words import (
    Destination,
    KnobLabel,
    KnobSending,
    Route,
    Setup,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.fields import check_kind
from knobpack.words.names import listed
from knobpack.words.surface import ON_ROUTE
from knobpack.words.travel import HIGHEST_POSITION

NAME: Final = "Table"
"""What a setup is called whose table gives no name."""


def from_rows(table: Iterable[Iterable[object]], rest: Setup | None = None) -> Setup:
    """The setup that the rows of a table hold: ``from_rows(to_rows(setup), setup) == setup``.

    Rows and columns may stand in any order. ``knob``, ``voice`` and ``destination`` must be there.
    All rows of one knob, voice or destination say the same of it, or nothing; an empty cell is
    the default. A cell of a snapshot says ``moves`` (or ``x``), ``held``, ``held at 64`` (or 64),
    ``silent`` or ``idle``, several with a comma between; an empty one is held.

    Args:
        table: its rows, the headings first. A cell is text, a number, true, false or None, as the
            readers of spreadsheets give them.
        rest: the setup that says all that the table does not: what has no column there, what no
            row says of a knob of its panel, groups, what edits and combinations remember, and the
            order of everything. Where a row then names another knob than the one that drove its
            destination, what it still says of that one is passed over. None: nothing does.

    Returns:
        The setup.

    Raises:
        InputError: a heading or cell will not do; the field is its row and column, as a spreadsheet
            counts them.

    Example:
        >>> from knobpack.tables import from_rows
        >>> setup = from_rows(
        ...     [
        ...         ["knob", "voice", "destination", "start", "end", "snapshot: Solo"],
        ...         ["K1", "Organ", "level", 0, 64, "x"],
        ...         ["K1", "Organ", "brightness", None, None, "x"],
        ...         ["K2", "Bass", "level", None, None, 96],
        ...     ]
        ... )
        >>> setup.snapshots[0].moves, setup.snapshots[0].stored
        (('Organ',), {'K2': 96})
    """
    if rest is not None:
        check_kind("from_rows.rest", rest, Setup)
    return setup_in(grid(table), rest, NAME)


def setup_in(table: Grid, rest: Setup | None, name: str, *, faulty: bool = False) -> Setup:
    """The setup that a table holds.

    Args:
        table: the table.
        rest: the setup that says what it does not.
        name: what the setup is called where neither says so.
        faulty: whether positions may lie beyond the resolution.

    Raises:
        InputError: a cell will not do.
    """
    old = Setup(name, Surface(())) if rest is None else rest
    table = table if rest is None else laid_onto(table, rest)
    positions = Range(HIGHEST_POSITION) if faulty else _positions(table, rest)
    per_route = old.surface.per_route
    if "travel on" in table.columns:
        per_route = any(row.cells.get("travel on", "") == ON_ROUTE for row in table.rows)
    cells = gathered(table, per_route=per_route, positions=positions)
    words = CellWords(table, cells, old)
    surface, voices = panel_of(words), _voices(words)
    panel = surface.knob_names
    kept = {field.name: getattr(old, field.name) for field in attrs.fields(Setup)}
    said: dict[str, object] = {
        "name": words.given((About.SETUP, ""), old).get("name", old.name),
        "surface": surface,
        "voices": voices,
        "routes": _routes(words, voices, per_route),
        "travels": travels_of(words, panel, per_route),
        "snapshots": (),
        "labels": said_of_knobs(words, panel, old.labels, About.LABEL, KnobLabel),
        "sending": said_of_knobs(words, panel, old.sending, About.SENDING, KnobSending),
    }
    made = words.build(Setup, (About.SETUP, ""), old, **kept | said)
    before = {each.name: each for each in old.snapshots}
    stored = snapshots_of(table, made, before, positions)
    return attrs.evolve(made, snapshots=tuple(_ordered(words, each, before) for each in stored))


def _positions(table: Grid, rest: Setup | None) -> Range:
    """Which positions there are, as the table or the rest says."""
    told = [number(row.cells["bits"]) for row in table.rows if "bits" in row.cells]
    if not told and rest is not None and "bits" not in table.columns:
        told = [rest.surface.bits]
    bits = told[0] if told else NOT_SAID
    if not isinstance(bits, int) or not 2 <= bits <= 32:
        return Range(HIGHEST_POSITION)  # it is refused itself
    return Range(2**bits - 1, bool(told), frozenset(() if rest is None else _stored(rest)))


def _stored(setup: Setup) -> Iterator[int]:
    """The positions that a setup, which may be faulty, has."""
    travels: list[Travel | None] = [each.travel for each in setup.travels]
    travels += [each.travel for each in setup.routes]
    travels += [inner.travel for voice in setup.voices for inner in voice.destinations]
    for travel in travels:
        yield from () if travel is None else (travel.start, travel.end)
    for snapshot in setup.snapshots:
        yield from snapshot.stored.values()


def _voices(words: CellWords) -> tuple[Voice, ...]:
    """The voices with their destinations."""
    old = {voice.name: voice for voice in words.old.voices}
    inner = grouped(words.names(About.DESTINATION))
    made = []
    for voice in words.names(About.VOICE):
        before = () if voice not in old else old[voice].destinations
        was = {each.name: each for each in before}
        destinations = (
            words.build(Destination, (About.DESTINATION, (voice, name)), was.get(name), name=name)
            for name in inner.get(voice, ())
        )
        fields = {"name": voice, "destinations": in_older_order(destinations, before, _name)}
        made.append(words.build(Voice, (About.VOICE, voice), old.get(voice), **fields))
    return in_older_order(made, words.old.voices, _name)


_name = attrgetter("name")


def _routes(words: CellWords, voices: tuple[Voice, ...], per_route: bool) -> tuple[Route, ...]:
    """The routes, voice by voice; those of the rest that lead from or to nothing stay."""
    left = grouped(((route.destination, route.knob), route) for route in words.old.routes)
    made = []
    for row in words.table.rows:
        about = keys(row, per_route)
        if About.KNOB not in about or About.DESTINATION not in about:
            continue
        full = f"{row.cells['voice']}/{row.cells['destination']}"
        knob = row.cells["knob"]
        before = left.get((full, knob))
        travel = before.pop(0).travel if before else None
        if per_route:
            ends = words.given((About.TRAVEL, row.number), travel)
            both = ends.get("start"), ends.get("end")
            said = both != (None, None)
            travel = words.travel((About.TRAVEL, row.number), *both) if said else None
        made.append(Route(full, knob, travel))
    places = (full for voice in voices for full in voice.by_full_name)
    order = {name: place for place, name in enumerate(places)}
    made.sort(key=lambda route: order[route.destination])
    panel = set(words.old.surface.knob_names)
    there = {full for voice in words.old.voices for full in voice.by_full_name}
    return in_older_order(
        made,
        words.old.routes,
        lambda route: (route.destination, route.knob),
        lambda route: route.knob in panel and route.destination in there,
    )


def _ordered(words: CellWords, made: Any, before: Mapping[str, Any]) -> Any:
    """A snapshot whose lists stand in the order of the rest, with what that says of others."""
    old = before.get(made.name)
    if old is None:
        return made
    voices = {voice.name for voice in words.old.voices}
    panel = set(words.old.surface.knob_names)
    return attrs.evolve(
        made,
        positions=words.kept(made.positions, old.positions),
        silent=in_older_order(made.silent, old.silent, str, voices.__contains__),
        idle=in_older_order(made.idle, old.idle, str, panel.__contains__),
    )


def not_held(setup: Setup, *, order: bool = True) -> tuple[str, ...]:
    """What of a setup a table does not hold, found by reading its table back.

    It is there again where the table is read with the setup as the ``rest``.

    Args:
        setup: the setup.
        order: whether to tell also of lists that are there again in another order, which changes
            nothing of what is played.

    Returns:
        Sentences; with the order, none if ``from_rows(to_rows(setup)) == setup``.

    Raises:
        InputError: ``setup`` is no Setup, or ``order`` not true or false.

    Example:
        >>> from knobpack import Destination, Group, Setup, Surface, Voice
        >>> from knobpack.tables import not_held
        >>> organ = Voice("Organ", (Destination("level"), Destination("brightness")))
        >>> low = Group("Ground", ("Organ",))
        >>> setup = Setup("Evening set", Surface.row(2), (organ,), groups=(low,))
        >>> not_held(setup)
        ('Not in the table: group Ground.',)
    """
    reading = read(setup, "not_held.setup")
    check_kind("not_held.order", order, bool)
    back = setup_in(grid(to_rows(setup)), None, NAME, faulty=True)
    missing = _missing(reading, back)
    told = (what for what in missing if order or not what.startswith(_ORDER))
    return tuple(f"Not in the table: {what}." for what in told)


_WHOLE: Final = {
    "arrivals": "what is remembered of the sources that came",
    "agreed": "the rules that edits laid down",
    "broken": "the knobs that are out of use",
    "home": "the panel that the setup comes from",
}
_ORDER: Final = "the order of"
_LISTED: Final = ("routes", "travels", "labels", "sending")


def _missing(reading: Reading, back: Setup) -> Iterator[str]:
    setup = reading.setup
    if setup.groups:
        names = [group.name for group in setup.groups]
        yield f"{'groups' if len(names) > 1 else 'group'} {listed(names)}"
    yield from (what for field, what in _WHOLE.items() if getattr(setup, field))
    for field in _LISTED:
        yield from _lost(field, getattr(setup, field), getattr(back, field))
    if back.surface.reserved != setup.surface.reserved:
        yield f"{_ORDER} the reserved knobs"
    for there, kept in zip(setup.snapshots, back.snapshots, strict=True):
        of = f"of snapshot '{there.name}'"
        if there.break_weight is not None:
            yield f"the price of breaking snapshot '{there.name}'"
        if reading.unknown(there.moves):
            yield f"what is to move and is not there {of}"
        elif there.moves != kept.moves:
            yield f"by what names it is said what moves {of}"
        for field in ("positions", "silent", "idle"):
            yield from _lost(f"{field} {of}", getattr(there, field), getattr(kept, field))


def _lost(what: str, there: tuple[object, ...], kept: tuple[object, ...]) -> Iterator[str]:
    lost = Counter(there) - Counter(kept)
    if lost:
        yield f"{lost.total()} of {len(there)} {what}, where something is named that is not there"
    elif there != kept:
        yield f"{_ORDER} {what}"
