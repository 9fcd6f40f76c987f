"""Read: the rows of a table as a setup."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, TypeVar

import attrs

from knobpack.errors import InputError
from knobpack.tables.cells import whole
from knobpack.tables.columns import (
    COLUMNS,
    DESTINATION,
    KNOB,
    LABEL,
    PLACE,
    SENDING,
    SETUP,
    SURFACE,
    TRAVEL,
    VOICE,
    Place,
    places,
)
from knobpack.tables.gathered import NOT_SAID, Cell, Key, Range, gathered, keys
from knobpack.tables.grid import Grid, grid
from knobpack.tables.onto import laid_onto
from knobpack.tables.states import snapshots
from knobpack.words import (
    Destination,
    Knob,
    KnobLabel,
    KnobSending,
    KnobTravel,
    Route,
    Setup,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.fields import check_kind
from knobpack.words.surface import ON_ROUTE
from knobpack.words.travel import HIGHEST_POSITION

_Word = TypeVar("_Word")

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
        check_kind("from_rows(rest)", rest, Setup)
    return setup_of(grid(table), rest, NAME)


def setup_of(table: Grid, rest: Setup | None, name: str, *, faulty: bool = False) -> Setup:
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
    sheet = _Sheet(table, cells, old)
    surface, voices = sheet.surface(), sheet.voices()
    made = sheet.build(
        Setup,
        (SETUP, ""),
        old,
        name=sheet.given((SETUP, ""), old).get("name", old.name),
        surface=surface,
        voices=voices,
        groups=old.groups,
        routes=sheet.routes(voices, per_route),
        travels=sheet.travels(surface.knob_names, per_route),
        arrivals=old.arrivals,
        agreed=old.agreed,
        broken=old.broken,
        home=old.home,
        edits=old.edits,
        labels=sheet.of_knobs(surface.knob_names, old.labels, LABEL, KnobLabel),
        sending=sheet.of_knobs(surface.knob_names, old.sending, SENDING, KnobSending),
    )
    before = {each.name: each for each in old.snapshots}
    stored = snapshots(table, made, before, positions)
    return attrs.evolve(made, snapshots=tuple(sheet.ordered(each, before) for each in stored))


def _positions(table: Grid, rest: Setup | None) -> Range:
    """Which positions there are, as the table or the rest says."""
    told = [whole(row.cells["bits"]) for row in table.rows if "bits" in row.cells]
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


@attrs.frozen(eq=False)
class _Sheet:
    """A table, what its cells say, and the setup that says the rest."""

    table: Grid
    cells: Mapping[Key, Mapping[str, Cell]]
    old: Setup

    def names(self, about: str) -> list[Any]:
        """All knobs, voices or destinations that rows name, as they are first named."""
        return [key for what, key in self.cells if what == about]

    def given(self, key: Key, old: object) -> dict[str, Any]:
        """What is said of something, field by field; what has no column is as it was."""
        found: dict[str, Any] = {}
        said = self.cells.get(key, {})
        for column in COLUMNS:
            if column.about != key[0]:
                continue
            if column.heading in said:
                found[column.field] = said[column.heading].value
            elif column.heading not in self.table.columns and old is not None:
                value = old
                for part in column.field.split("."):
                    value = getattr(value, part, None)
                found[column.field] = value
        return found

    def build(self, kind: Callable[..., _Word], key: Key, old: object, **more: object) -> _Word:
        """A word of what is said of it.

        Raises:
            InputError: it will not do, told by its row and column.
        """
        fields = self.given(key, old) | more
        start, end = fields.pop("travel.start", None), fields.pop("travel.end", None)
        if (start, end) != (None, None):
            fields["travel"] = self.travel(key, start, end, "travel.")
        try:
            return kind(**fields)
        except InputError as error:
            raise self.at(key, error, error.field.partition(".")[2]) from None

    def travel(self, key: Key, start: Any, end: Any, under: str = "") -> Travel:
        """A travel of what two cells say."""
        for value, field in ((start, "start"), (end, "end")):
            if value is None:
                right = "a travel has both ends; give this one as well"
                raise self.at(key, InputError(field, attrs.NOTHING, right), f"{under}{field}")
        try:
            return Travel(start, end)
        except InputError as error:
            raise self.at(key, error, under + error.field.partition(".")[2]) from None

    def at(self, key: Key, error: InputError, field: str) -> InputError:
        """An error, told by the row and column in which the field stands."""
        said = self.cells.get(key, {})
        rows = [cell.row for cell in said.values()]
        bare = field.partition("[")[0]
        for column in COLUMNS:
            if column.about == key[0] and column.field == bare:
                row = said[column.heading].row if column.heading in said else min(rows, default=1)
                where = self.table.where(row, column.heading)
                return InputError(where, error.value, error.right)
        return InputError(f"row {min(rows, default=1)}", error.value, error.right)

    def surface(self) -> Surface:
        """The panel: its knobs by their places, those without one after the last."""
        old = {each.name: each for each in self.old.surface.knobs}
        placed: dict[tuple[int, int], Knob] = {}
        left: list[Knob] = []
        for name in self.names(KNOB):
            key = (KNOB, name)
            knob = self.build(Knob, key, old.get(name), name=name)
            row, column = map(self.given(key, old.get(name)).get, ("row", "column"))
            if row is None and column is None:
                left.append(knob)
                continue
            if column is None:
                right = "a place has a row and a column; give this one as well"
                raise self.at(key, InputError("column", attrs.NOTHING, right), "column")
            other = placed.setdefault((knob.row, knob.column), knob)
            if other is not knob:
                right = f"{other.name} lies at row {knob.row}, column {knob.column} too"
                raise self.at(key, InputError("column", column, right), "column")
        row, column = max(placed, default=(1, 0))
        for far, knob in enumerate(left, start=1):
            placed[row, column + far] = attrs.evolve(knob, row=row, column=column + far)
        knobs = tuple(placed[each] for each in sorted(placed))
        reserved, favoured = self.places(tuple(knob.name for knob in knobs))
        return self.build(
            Surface,
            (SURFACE, ""),
            self.old.surface,
            knobs=knobs,
            reserved=reserved,
            favoured=favoured,
        )

    def places(self, panel: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """The knobs that are reserved, and those that are favoured, the best first."""
        old = places(self.old.surface)
        found = {name: self.build(Place, (PLACE, name), old.get(name)) for name in panel}
        ranks: dict[int, str] = {}
        for name, each in found.items():
            if each.favoured is not None and ranks.setdefault(each.favoured, name) != name:
                right = f"{ranks[each.favoured]} has this rank too; give each its own"
                error = InputError("favoured", each.favoured, right)
                raise self.at((PLACE, name), error, "favoured")
        reserved = [name for name, each in found.items() if each.reserved]
        return (
            _in_order(reserved, self.old.surface.reserved, str),
            tuple(ranks[rank] for rank in sorted(ranks)),
        )

    def voices(self) -> tuple[Voice, ...]:
        """The voices with their destinations."""
        old = {voice.name: voice for voice in self.old.voices}
        inner: dict[str, list[str]] = {name: [] for name in self.names(VOICE)}
        for voice, name in self.names(DESTINATION):
            inner[voice].append(name)
        made = (
            self.build(
                Voice,
                (VOICE, name),
                old.get(name),
                name=name,
                destinations=tuple(self.destinations(name, inner[name], old.get(name))),
            )
            for name in inner
        )
        return _in_order(made, self.old.voices, lambda voice: voice.name)

    def destinations(
        self, voice: str, names: list[str], old: Voice | None
    ) -> Iterable[Destination]:
        before = {} if old is None else {each.name: each for each in old.destinations}
        made = (
            self.build(Destination, (DESTINATION, (voice, name)), before.get(name), name=name)
            for name in names
        )
        return _in_order(made, tuple(before.values()), lambda each: each.name)

    def routes(self, voices: tuple[Voice, ...], per_route: bool) -> tuple[Route, ...]:
        """The routes, voice by voice; those of the rest that lead from or to nothing stay."""
        left: dict[tuple[str, str], list[Route]] = {}
        for route in self.old.routes:
            left.setdefault((route.destination, route.knob), []).append(route)
        made = []
        for row in self.table.rows:
            about = keys(row, per_route)
            if KNOB not in about or DESTINATION not in about:
                continue
            full = f"{row.cells['voice']}/{row.cells['destination']}"
            knob = row.cells["knob"]
            before = left.get((full, knob))
            travel = before.pop(0).travel if before else None
            if per_route:
                ends = self.given((TRAVEL, row.number), travel)
                both = ends.get("start"), ends.get("end")
                said = both != (None, None)
                travel = self.travel((TRAVEL, row.number), *both) if said else None
            made.append(Route(full, knob, travel))
        places = (voice.full_name(inner) for voice in voices for inner in voice.destinations)
        order = {name: place for place, name in enumerate(places)}
        made.sort(key=lambda route: order[route.destination])
        panel = set(self.old.surface.knob_names)
        there = {voice.full_name(d) for voice in self.old.voices for d in voice.destinations}
        return _in_order(
            made,
            self.old.routes,
            lambda route: (route.destination, route.knob),
            lambda route: route.knob in panel and route.destination in there,
        )

    def travels(self, panel: tuple[str, ...], per_route: bool) -> tuple[KnobTravel, ...]:
        """The travels of the knobs; those of the rest that are of no knob stay."""
        old = {each.knob: each.travel for each in self.old.travels}
        made = []
        for knob in () if per_route else panel:
            ends = self.given((TRAVEL, knob), old.get(knob))
            both = ends.get("start"), ends.get("end")
            if both != (None, None):
                made.append(KnobTravel(knob, self.travel((TRAVEL, knob), *both)))
        return self.kept(made, self.old.travels, also=per_route)

    def of_knobs(
        self, panel: tuple[str, ...], old: Sequence[Any], about: str, kind: Callable[..., Any]
    ) -> tuple[Any, ...]:
        """Labels, or what knobs send; those of the rest that are of no knob stay."""
        before = {each.knob: each for each in old}
        made = []
        for knob in panel:
            given = self.given((about, knob), before.get(knob))
            if any(value is not None and value is not False for value in given.values()):
                made.append(self.build(kind, (about, knob), before.get(knob), knob=knob))
        return self.kept(made, old)

    def kept(
        self, made: Iterable[_Word], old: Sequence[Any], also: bool = False
    ) -> tuple[Any, ...]:
        """What is said of knobs, in the order of the rest, with what that says of others."""
        panel = set(self.old.surface.knob_names)
        return _in_order(
            made, old, lambda each: each.knob, lambda each: each.knob in panel and not also
        )

    def ordered(self, made: Any, before: Mapping[str, Any]) -> Any:
        """A snapshot whose lists stand in the order of the rest, with what that says of others."""
        old = before.get(made.name)
        if old is None:
            return made
        voices = {voice.name for voice in self.old.voices}
        panel = set(self.old.surface.knob_names)
        return attrs.evolve(
            made,
            positions=self.kept(made.positions, old.positions),
            silent=_in_order(made.silent, old.silent, str, voices.__contains__),
            idle=_in_order(made.idle, old.idle, str, panel.__contains__),
        )


def _in_order(
    made: Iterable[Any],
    old: Sequence[Any],
    key: Callable[[Any], Hashable],
    held: Callable[[Any], bool] = lambda _: True,
) -> tuple[Any, ...]:
    """What was made, in an older order, new things last; what no table holds stays where it was.

    Args:
        made: what the table says.
        old: what there was.
        key: which of them are the same.
        held: whether a table holds something of what there was.
    """
    new: dict[Hashable, list[Any]] = {}
    for each in made:
        new.setdefault(key(each), []).append(each)
    found = []
    for each in old:
        same = new.get(key(each))
        if same and held(each):
            found.append(same.pop(0))
        elif not held(each):
            found.append(each)
    return (*found, *(each for left in new.values() for each in left))
