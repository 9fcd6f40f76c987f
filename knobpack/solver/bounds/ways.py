"""Ways to follow: what a knob does in each breakable snapshot, and what that breaks of each atom.

What a knob breaks is the least, over all ways to follow and to hold, of how far what is on it is
from that.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem
from knobpack.solver.costs import Whole

MOST_ENTRIES = 2_000_000
"""Atoms times ways up to which all ways to follow are looked at."""


def sides(problem: Problem) -> list[tuple[int, int]]:
    """The breakable snapshots, those together that move the same or the opposite."""
    everything = (1 << problem.items) - 1
    found: dict[int, int] = {}
    for moved, weight in problem.breakable:
        side = min(moved, everything & ~moved)
        if side and weight:
            found[side] = found.get(side, 0) + weight
    return list(found.items())


def _row(items: int, columns: Sequence[tuple[int, int]]) -> list[int]:
    """How many of some items each snapshot moves."""
    return [(items & moved).bit_count() for moved, _ in columns]


def every_way(columns: int, rows: int) -> Whole | None:
    """(C, S) each way to follow and to hold; None where there are too many."""
    if columns > 20 or rows << columns > MOST_ENTRIES:
        return None
    ways: Whole = np.arange(1 << columns)[:, None] >> np.arange(columns) & 1
    return ways


def wanted_ways(problem: Problem, columns: Sequence[tuple[int, int]]) -> Whole:
    """(C, S) the ways in which some destination follows and is held."""
    rows = [_row(1 << item, columns) for item in range(problem.items)]
    ways: Whole = np.unique(np.array(rows, dtype=np.int64), axis=0)
    return ways


@attrs.frozen(eq=False)
class Points:
    """Atoms, and what each wants of each snapshot.

    Args:
        numbers: their numbers.
        moving: (atoms, S) how many of its items each snapshot moves.
        held: (atoms, S) how many it holds.
        weights: (S,) of the snapshots.
    """

    numbers: tuple[int, ...]
    moving: Whole
    held: Whole
    weights: Whole

    @classmethod
    def of(
        cls, problem: Problem, numbers: Sequence[int], columns: Sequence[tuple[int, int]]
    ) -> Points:
        """The atoms of these numbers, and the snapshots that :func:`sides` gives."""
        atoms = [problem.atoms[number] for number in numbers]
        rows = [_row(atom.items, columns) for atom in atoms]
        moving = np.array(rows, dtype=np.int64).reshape(len(rows), len(columns))
        sizes = np.array([atom.size for atom in atoms], dtype=np.int64)
        weights = np.array([weight for _, weight in columns], dtype=np.int64)
        return cls(tuple(numbers), moving, sizes[:, None] - moving, weights)

    def distances(self, ways: Whole) -> Whole:
        """(atoms, C) what each atom breaks on a knob that follows in some ways, (C, S)."""
        found: Whole = (self.moving * self.weights) @ (1 - ways.T)
        return found + (self.held * self.weights) @ ways.T
