"""Cell words: what the cells of a table say, made into words, with what a setup says besides."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

import attrs

from knobpack.errors import MISSING, InputError
from knobpack.grouped import grouped
from knobpack.tables.columns import COLUMNS, About
from knobpack.tables.gathered import Cell, Key
from knobpack.tables.grid import Grid
from knobpack.words import Knob, KnobTravel, Setup, Surface, Travel, fields

_Word = TypeVar("_Word")


@attrs.frozen
class KnobPlace:
    """What the surface says of a knob beside where it lies.

    Args:
        reserved: whether it takes no new route.
        favoured: its rank among the knobs that are the best to reach, counted from 1; None: none.
    """

    reserved: bool = attrs.field(default=False, validator=fields.flag())
    favoured: int | None = attrs.field(
        default=None, validator=fields.whole(1, fields.MOST_ITEMS, optional=True)
    )


def knob_places(surface: Surface) -> dict[str, KnobPlace]:
    """What the surface says of each of its knobs, by name, in panel order."""
    rank = {knob: at for at, knob in enumerate(surface.favoured, start=1)}
    reserved = set(surface.reserved)
    return {knob: KnobPlace(knob in reserved, rank.get(knob)) for knob in surface.knob_names}


@attrs.frozen(eq=False)
class CellWords:
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
                raise self.at(key, InputError(field, MISSING, right), f"{under}{field}")
        return Travel(start, end)

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

    def kept(
        self, made: Iterable[_Word], old: Sequence[Any], also: bool = False
    ) -> tuple[Any, ...]:
        """What is said of knobs, in the order of the rest, with what that says of others."""
        panel = set(self.old.surface.knob_names)
        return in_older_order(
            made, old, lambda each: each.knob, lambda each: each.knob in panel and not also
        )


def in_older_order(
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
    new = grouped((key(each), each) for each in made)
    found = []
    for each in old:
        same = new.get(key(each))
        if same and held(each):
            found.append(same.pop(0))
        elif not held(each):
            found.append(each)
    return (*found, *(each for left in new.values() for each in left))


def panel_of(words: CellWords) -> Surface:
    """The panel: its knobs by their places, those without one after the last."""
    old = {each.name: each for each in words.old.surface.knobs}
    placed: dict[tuple[int, int], Knob] = {}
    left: list[Knob] = []
    for name in words.names(About.KNOB):
        key = (About.KNOB, name)
        knob = words.build(Knob, key, old.get(name), name=name)
        row, column = map(words.given(key, old.get(name)).get, ("row", "column"))
        if row is None and column is None:
            left.append(knob)
            continue
        if column is None:
            right = "a place has a row and a column; give this one as well"
            raise words.at(key, InputError("column", MISSING, right), "column")
        other = placed.setdefault((knob.row, knob.column), knob)
        if other is not knob:
            right = f"{other.name} lies at row {knob.row}, column {knob.column} too"
            raise words.at(key, InputError("column", column, right), "column")
    row, column = max(placed, default=(1, 0))
    for far, knob in enumerate(left, start=1):
        placed[row, column + far] = attrs.evolve(knob, row=row, column=column + far)
    knobs = tuple(placed[each] for each in sorted(placed))
    reserved, favoured = _places(words, tuple(knob.name for knob in knobs))
    return words.build(
        Surface,
        (About.SURFACE, ""),
        words.old.surface,
        knobs=knobs,
        reserved=reserved,
        favoured=favoured,
    )


def travels_of(words: CellWords, panel: tuple[str, ...], per_route: bool) -> tuple[KnobTravel, ...]:
    """The travels of the knobs; those of the rest that are of no knob stay."""
    old = {each.knob: each.travel for each in words.old.travels}
    made = []
    for knob in () if per_route else panel:
        ends = words.given((About.TRAVEL, knob), old.get(knob))
        both = ends.get("start"), ends.get("end")
        if both != (None, None):
            made.append(KnobTravel(knob, words.travel((About.TRAVEL, knob), *both)))
    return words.kept(made, words.old.travels, also=per_route)


def said_of_knobs(
    words: CellWords,
    panel: tuple[str, ...],
    old: Sequence[Any],
    about: str,
    kind: Callable[..., Any],
) -> tuple[Any, ...]:
    """Labels, or what knobs send; those of the rest that are of no knob stay."""
    before = {each.knob: each for each in old}
    made = []
    for knob in panel:
        given = words.given((about, knob), before.get(knob))
        if any(value is not None and value is not False for value in given.values()):
            made.append(words.build(kind, (about, knob), before.get(knob), knob=knob))
    return words.kept(made, old)


def _places(words: CellWords, panel: tuple[str, ...]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The knobs that are reserved, and those that are favoured, the best first."""
    old = knob_places(words.old.surface)
    found = {name: words.build(KnobPlace, (About.PLACE, name), old.get(name)) for name in panel}
    ranks: dict[int, str] = {}
    for name, each in found.items():
        if each.favoured is not None and ranks.setdefault(each.favoured, name) != name:
            right = f"{ranks[each.favoured]} has this rank too; give each its own"
            error = InputError("favoured", each.favoured, right)
            raise words.at((About.PLACE, name), error, "favoured")
    reserved = [name for name, each in found.items() if each.reserved]
    return (
        in_older_order(reserved, words.old.surface.reserved, str),
        tuple(ranks[rank] for rank in sorted(ranks)),
    )
