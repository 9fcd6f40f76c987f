"""The catalogue: every set of atoms of a family that may be on one knob, priced."""

from __future__ import annotations

from collections.abc import Iterable

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.problem import Problem, bits
from knobpack.solver.costs import Whole, indicator, set_costs
from knobpack.solver.watch import Watch

MOST_SETS = 1 << 20
"""Sets in the catalogue of one family, at most; a larger one is left incomplete."""

_CHUNK = 1 << 15


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


@attrs.frozen(eq=False)
class Catalogue:
    """The sets of one family, one a row.

    Args:
        atoms: the numbers of the family's atoms.
        members: which atoms (columns) each set holds.
        slots: which slots (columns) each set may be on.
        sizes: how many items each set holds.
        breaks: what each costs in the tier *independence*.
        sharing: what each costs in the tier *sharing*, each spread counted on every knob.
        complete: whether every set that may be on one knob is there.
    """

    atoms: tuple[int, ...]
    members: NDArray[np.bool_]
    slots: NDArray[np.bool_]
    sizes: Whole
    breaks: Whole
    sharing: Whole
    complete: bool

    def column(self, problem: Problem, row: int) -> Column:
        """One set as a column of the general model."""
        atoms = sum(1 << self.atoms[place] for place in np.nonzero(self.members[row])[0])
        price = int(self.breaks[row]), int(self.sharing[row])
        return Column(problem.items_of(atoms), atoms, problem.knobs_of(atoms), *price)


def columns_of(problem: Problem, sets: Iterable[int]) -> tuple[Column, ...]:
    """Price sets of atoms, given as masks, that may each be on one knob."""
    wanted = sorted(set(sets))
    masks = [problem.items_of(atoms) for atoms in wanted]
    items = [item for item in range(problem.items) if any(mask >> item & 1 for mask in masks)]
    if not items:
        return ()
    breaks, sharing = set_costs(problem, items, indicator(masks, items).T)
    return tuple(
        Column(mask, atoms, problem.knobs_of(atoms), int(own_breaks), int(own_sharing))
        for mask, atoms, own_breaks, own_sharing in zip(masks, wanted, breaks, sharing, strict=True)
    )


def knob_slots(problem: Problem) -> tuple[int, ...]:
    """Classes of knobs, as masks, that all sets see alike: same atoms admitted, same pins."""
    classes: dict[tuple[bool, ...], int] = {}
    for knob in range(problem.knobs):
        seen = tuple(
            (atom.pinned == knob) if problem.pinned_knobs >> knob & 1 else bool(atom.knobs >> knob & 1)
            for atom in problem.atoms
        )
        classes[seen] = classes.get(seen, 0) | 1 << knob
    return tuple(classes.values())


def catalogue_of(
    problem: Problem,
    atoms: tuple[int, ...],
    slots: tuple[int, ...],
    watch: Watch,
    most: int = MOST_SETS,
) -> Catalogue:
    """Every set of some atoms that may be on one knob, small sets first, up to ``most`` of them.

    The sets grow by one atom at a time, each after the last it holds, so none is made twice.
    """
    count = len(atoms)
    own = [problem.atoms[number] for number in atoms]
    goes_with = np.array([[not problem.clashes[a] >> b & 1 for b in atoms] for a in atoms], dtype=bool)
    sizes = np.array([atom.size for atom in own], dtype=np.int64)
    open_to = np.array([[bool(atom.knobs & slot) for slot in slots] for atom in own], dtype=bool)
    members = np.eye(count, dtype=bool)
    later = np.triu(np.ones((count, count), dtype=bool), 1)
    layer = (members, later & goes_with, open_to, sizes)
    fits = (sizes <= problem.per_knob) & open_to.any(axis=1)
    found = [tuple(part[fits] for part in layer)]
    total, complete = len(found[0][0]), True
    while len(found[-1][0]):
        grown = _grown(found[-1], (later, goes_with, open_to, sizes), problem.per_knob)
        total += len(grown[0])
        if total > most or watch.over():
            complete = False
            break
        found.append(grown)
    sets, _, where, held = (np.concatenate(parts) for parts in zip(*found, strict=True))
    reachable = _reachable(problem, atoms, slots, sets, where)
    sets, where, held = sets[reachable.any(axis=1)], reachable[reachable.any(axis=1)], held[reachable.any(axis=1)]
    breaks, sharing = _priced(problem, atoms, sets)
    return Catalogue(atoms, sets, where, held, breaks, sharing, complete)


def _grown(layer: tuple[NDArray, ...], facts: tuple[NDArray, ...], per_knob: int) -> tuple[NDArray, ...]:
    """Every set of a layer with one atom more."""
    members, may_add, where, held = layer
    later, goes_with, open_to, sizes = facts
    grows, added = np.nonzero(may_add)
    fits = held[grows] + sizes[added] <= per_knob
    fits &= (where[grows] & open_to[added]).any(axis=1)
    grows, added = grows[fits], added[fits]
    larger = members[grows]
    larger[np.arange(len(added)), added] = True
    still = may_add[grows] & goes_with[added] & later[added]
    return larger, still, where[grows] & open_to[added], held[grows] + sizes[added]


def _reachable(problem, atoms, slots, sets, where):
    """A pinned knob takes only the sets that hold the atom pinned to it."""
    where = where.copy()
    for column, slot in enumerate(slots):
        if slot & problem.pinned_knobs:
            holders = [at for at, number in enumerate(atoms) if problem.atoms[number].pinned is not None and 1 << problem.atoms[number].pinned == slot]
            where[:, column] &= sets[:, holders].any(axis=1)
    return where


def _priced(problem: Problem, atoms: tuple[int, ...], sets: NDArray[np.bool_]) -> tuple[Whole, Whole]:
    items = [item for number in atoms for item in bits(problem.atoms[number].items)]
    owner = [at for at, number in enumerate(atoms) for _ in range(problem.atoms[number].size)]
    breaks, sharing = [], []
    for start in range(0, len(sets), _CHUNK):
        part = sets[start : start + _CHUNK][:, owner].astype(np.float64)
        own = set_costs(problem, items, part)
        breaks.append(own[0])
        sharing.append(own[1])
    empty = np.zeros(0, dtype=np.int64)
    return np.concatenate([empty, *breaks]), np.concatenate([empty, *sharing])
