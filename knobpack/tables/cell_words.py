"""Cell words: what the cells of a table say, made into words, with what a setup says besides."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import Any, TypeVar

import attrs

from knobpack.errors import InputError
from knobpack.tables.columns import COLUMNS
from knobpack.tables.gathered import Cell, Key
from knobpack.tables.grid import Grid
from knobpack.words import Setup, Travel

_Word = TypeVar("_Word")


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
