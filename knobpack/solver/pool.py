"""The pool: sets of items that may be on one knob, priced, for the general model to choose from."""

from __future__ import annotations

from collections.abc import Iterable

import attrs
import numpy as np

from knobpack.problem import Problem, bits
from knobpack.solver.costs import indicator, set_costs
from knobpack.solver.families import families
from knobpack.solver.frontier import LARGEST, sets_of


@attrs.frozen
class Column:
    """A set of items that may be on one knob.

    Args:
        items: mask of the items.
        atoms: mask of the atoms they make up.
        knobs: mask of the knobs the set may be on.
        breaks: what it costs in the tier *independence*.
        sharing: what it costs in the tier *sharing*, each spread counted on every knob.
    """

    items: int
    atoms: int
    knobs: int
    breaks: int
    sharing: int


@attrs.frozen
class Pool:
    """Columns to choose from.

    Args:
        columns: in a fixed order.
        complete: whether no column is missing that a best placement could need.
    """

    columns: tuple[Column, ...]
    complete: bool


def every_column(problem: Problem) -> Pool | None:
    """All the columns there are, or None where some family is too large to go through."""
    parts = families(problem)
    if any(len(part) > LARGEST for part in parts):
        return None
    columns: list[Column] = []
    for part in parts:
        sets = sets_of(problem, part)
        for found in np.nonzero(sets.free | sets.pinned)[0]:
            atoms = sum(1 << part[place] for place in bits(int(found)))
            price = int(sets.breaks[found]), int(sets.sharing[found])
            columns.append(_column(problem, atoms, *price))
    return Pool(tuple(columns), complete=True)


def columns_of(problem: Problem, sets: Iterable[int]) -> tuple[Column, ...]:
    """Price sets of atoms, given as masks, that may each be on one knob."""
    wanted = sorted(set(sets))
    if not wanted:
        return ()
    involved = 0
    for atoms in wanted:
        involved |= atoms
    masks = [_items(problem, atoms) for atoms in wanted]
    items = list(bits(_items(problem, involved)))
    breaks, sharing = set_costs(problem, items, indicator(masks, items).T)
    priced = zip(wanted, breaks, sharing, strict=True)
    return tuple(_column(problem, atoms, int(b), int(s)) for atoms, b, s in priced)


def _column(problem: Problem, atoms: int, breaks: int, sharing: int) -> Column:
    return Column(_items(problem, atoms), atoms, common_knobs(problem, atoms), breaks, sharing)


def common_knobs(problem: Problem, atoms: int) -> int:
    """Mask of the knobs that every one of some atoms may be on."""
    knobs = (1 << problem.knobs) - 1
    for number in bits(atoms):
        knobs &= problem.atoms[number].knobs
    return knobs


def _items(problem: Problem, atoms: int) -> int:
    items = 0
    for number in bits(atoms):
        items |= problem.atoms[number].items
    return items
