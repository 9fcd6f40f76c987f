"""Ways to follow, and a bound on what is broken from how destinations differ in what they want.

A knob follows or holds in each breakable snapshot. What it breaks is the least, over all ways to
follow, of how far what is on it is from that.

How much each destination differs from those nearest to it gives a bound without centres. Of n
destinations on a knob, m moving and h held in a snapshot, m·h pairs differ, and m·h is at most
n - 1 times what is broken there, min(m, h). So what a knob breaks is at least the mean difference
of each from its n - 1 mates, halved and added up, and each mean is at least that of its n - 1
nearest. How many there are on the knob of each is not known, but each takes a share 1/n of a knob,
and the shares come to no more than there are knobs: that is relaxed by a price for a knob, and any
price gives a bound that holds. So it is what there is where snapshots are many.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import Whole

MOST_ITEMS = 600
"""Destinations up to which all pairs are compared."""

STEPS = 40
"""Prices of a knob that are tried: the bound has one top, and each halves where it may be."""

_SAFE = 1e-6
"""What is taken off before a sum of some hundred doubles is rounded up."""

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


def nearest_bound(
    problem: Problem, firm: Sequence[bool], sides: Sequence[tuple[int, int]], knobs: int
) -> int:
    """What no placement breaks less than.

    Args:
        problem: the problem.
        firm: for each atom, whether it is on a knob in each placement that is asked about.
        sides: the breakable snapshots, what each moves and its weight.
        knobs: how many there are that anything may be on.
    """
    if problem.items > MOST_ITEMS:
        return 0
    rows = [
        _means(problem, number, item, differences)
        for number, item, differences in _compared(problem, firm, sides)
    ]
    if not rows:
        return 0
    longest = max(len(row) for row in rows)
    means = np.full((len(rows), longest), np.inf)
    for at, row in enumerate(rows):
        means[at, : len(row)] = row
    shares = 1 / np.arange(1, longest + 1)

    def bound(price: float) -> float:
        found: float = (means + price * shares).min(axis=1).sum() - price * knobs
        return found

    low, high = 0.0, float(2 * max(row[-1] for row in rows) * longest + 1)
    best = bound(low)
    for _ in range(STEPS):
        one, other = low + (high - low) / 3, high - (high - low) / 3
        left, right = bound(one), bound(other)
        best = max(best, left, right)
        if left < right:
            low = one
        else:
            high = other
    return max(0, math.ceil(best - _SAFE))


def _compared(
    problem: Problem, firm: Sequence[bool], sides: Sequence[tuple[int, int]]
) -> list[tuple[int, int, Whole]]:
    """For each item that is placed its atom, itself, and how much it differs from each item."""
    moves = np.array([[moved >> item & 1 for moved, _ in sides] for item in range(problem.items)])
    weights = np.array([weight for _, weight in sides], dtype=np.int64)
    return [
        (number, item, (moves != moves[item]) @ weights)
        for number, atom in enumerate(problem.atoms)
        if firm[number]
        for item in bits(atom.items)
    ]


def _means(problem: Problem, number: int, item: int, differences: Whole) -> list[float]:
    """For 1, 2, … on its knob, half of how much an item differs from its nearest mates, in mean.

    The rest of its atom is on its knob in any case.
    """
    atom = problem.atoms[number]
    own = [other for other in bits(atom.items) if other != item]
    others = sorted(
        int(differences[other])
        for at, mate in enumerate(problem.atoms)
        if at != number and not problem.clashes[number] >> at & 1 and mate.knobs & atom.knobs
        for other in bits(mate.items)
    )
    total, found = int(differences[own].sum()), [math.inf] * len(own)
    room = max(0, problem.per_knob - atom.size)
    for mates, more in enumerate([0, *others[:room]], len(own)):
        total += more
        found.append(total / mates / 2 if mates else 0.0)
    return found
