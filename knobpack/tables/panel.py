"""Panel: what a table says of the knobs, as words."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import attrs

from knobpack.errors import InputError
from knobpack.tables.cell_words import CellWords, in_older_order
from knobpack.tables.columns import KNOB, PLACE, SURFACE, TRAVEL, KnobPlace, knob_places
from knobpack.words import Knob, KnobTravel, Surface


def panel_of(words: CellWords) -> Surface:
    """The panel: its knobs by their places, those without one after the last."""
    old = {each.name: each for each in words.old.surface.knobs}
    placed: dict[tuple[int, int], Knob] = {}
    left: list[Knob] = []
    for name in words.names(KNOB):
        key = (KNOB, name)
        knob = words.build(Knob, key, old.get(name), name=name)
        row, column = map(words.given(key, old.get(name)).get, ("row", "column"))
        if row is None and column is None:
            left.append(knob)
            continue
        if column is None:
            right = "a place has a row and a column; give this one as well"
            raise words.at(key, InputError("column", attrs.NOTHING, right), "column")
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
        (SURFACE, ""),
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
        ends = words.given((TRAVEL, knob), old.get(knob))
        both = ends.get("start"), ends.get("end")
        if both != (None, None):
            made.append(KnobTravel(knob, words.travel((TRAVEL, knob), *both)))
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
    found = {name: words.build(KnobPlace, (PLACE, name), old.get(name)) for name in panel}
    ranks: dict[int, str] = {}
    for name, each in found.items():
        if each.favoured is not None and ranks.setdefault(each.favoured, name) != name:
            right = f"{ranks[each.favoured]} has this rank too; give each its own"
            error = InputError("favoured", each.favoured, right)
            raise words.at((PLACE, name), error, "favoured")
    reserved = [name for name, each in found.items() if each.reserved]
    return (
        in_older_order(reserved, words.old.surface.reserved, str),
        tuple(ranks[rank] for rank in sorted(ranks)),
    )
