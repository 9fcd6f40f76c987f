"""A bound on what is broken: the knobs as centres of what moves together.

What a knob breaks is the least, over all ways to follow and to hold, of how far what is on it is
from that. So the tier *independence* is the weighted k-modes problem of binary vectors (Kulkarni
and Fathi 2005, "q-mode problem"), a p-median problem over all ways to follow. Its Lagrangian dual,
the assignment relaxed (Cornuéjols, Fisher, Nemhauser 1977, "Location of bank accounts to optimize
float", from memory), is climbed by subgradients in whole 64ths: any prices give a bound that holds.
Where there are too many ways to follow, those that are wanted stand for all: the wanted one nearest
to a centre costs at most twice as much, so half of that bound holds.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from knobpack.problem import Problem
from knobpack.solver.costs import Whole
from knobpack.solver.families import families
from knobpack.solver.watch import Watch

QUANTUM = 64
"""Prices are whole numbers of one 64th of a point."""

MOST_ENTRIES = 2_000_000
"""Destinations times centres up to which all ways to follow are looked at."""

MOST_ROUNDS = 300
"""Steps of the climb, at most."""

PATIENCE = 12
"""Steps without a better bound after which they become half as long."""

EFFORT_PER_ENTRY = 1e-8
"""Effort that an entry counts as in each step: about what it takes in seconds."""


def least_broken(problem: Problem, unplaced: int, most: int, watch: Watch) -> tuple[int, list[int]]:
    """What no placement breaks less than.

    Args:
        problem: the problem.
        unplaced: how much is left out at most, in points of the tier *unplaced*.
        most: what some placement breaks: a bound as high ends the search.
        watch: what may cut it short.

    Returns:
        The bound, and sets, as masks of atoms, that break little more: what is nearest to each of
        the centres that were the best.
    """
    columns = _columns(problem)
    parts = [part for part in families(problem) if _held_to(problem, part)]
    if not columns or not parts:
        return 0, []
    whole, bound = True, 0
    rows = [_row(atom.items, columns) for atom in problem.atoms]
    sizes = np.array([atom.size for atom in problem.atoms], dtype=np.int64)
    weights = np.array([weight for _, weight in columns], dtype=np.int64)
    moving = np.array(rows, dtype=np.int64).reshape(len(rows), len(columns))
    centres = _every_way(len(columns), len(rows))
    if centres is None:
        whole, centres = False, _wanted_ways(problem, columns)
    distances = (moving * weights) @ (1 - centres.T) + (
        (sizes[:, None] - moving) * weights
    ) @ centres.T
    dual = _Dual(problem, parts, distances, unplaced)
    knobs = 0
    for atom in problem.atoms:
        knobs |= atom.knobs
    bound, chosen = dual.climb(knobs.bit_count(), most if whole else 2 * most, watch)
    sets = []
    for part, own in zip(parts, chosen, strict=True):
        nearest = distances[list(part)][:, own].argmin(axis=1) if len(own) else ()
        sets += [
            sum(1 << number for number, at in zip(part, nearest, strict=True) if at == centre)
            for centre in range(len(own))
        ]
    return (bound if whole else -(-bound // 2)), [atoms for atoms in sets if atoms]


def _columns(problem: Problem) -> list[tuple[int, int]]:
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


def _every_way(columns: int, rows: int) -> Whole | None:
    """(C, S) each way to follow and to hold; None where there are too many."""
    if columns > 20 or rows << columns > MOST_ENTRIES:
        return None
    ways: Whole = np.arange(1 << columns)[:, None] >> np.arange(columns) & 1
    return ways


def _wanted_ways(problem: Problem, columns: Sequence[tuple[int, int]]) -> Whole:
    """(C, S) the ways in which some destination follows and is held."""
    rows = [_row(1 << item, columns) for item in range(problem.items)]
    ways: Whole = np.unique(np.array(rows, dtype=np.int64), axis=0)
    return ways


def _held_to(problem: Problem, part: Sequence[int]) -> bool:
    return any(problem.atoms[number].omission or problem.atoms[number].needed for number in part)


class _Dual:
    """The Lagrangian dual: what each destination pays to be near a centre.

    Args:
        problem: the problem.
        parts: the families.
        distances: (atoms, C) what each atom breaks on a knob of each centre.
        unplaced: how much may be left out.
    """

    def __init__(
        self, problem: Problem, parts: Sequence[Sequence[int]], distances: Whole, unplaced: int
    ) -> None:
        self._unplaced = unplaced
        self._points: list[tuple[Whole, Whole, Whole]] = []
        for part in parts:
            # What costs nothing to leave out need not be near anything.
            own = [n for n in part if problem.atoms[n].omission or problem.atoms[n].needed]
            omissions = [
                -1 if problem.atoms[n].needed or not unplaced else problem.atoms[n].omission
                for n in own
            ]
            table = np.column_stack([np.array(omissions, dtype=np.int64), distances[own]])
            rows, counts = np.unique(table, axis=0, return_counts=True)
            self._points.append((rows[:, 0], rows[:, 1:], counts))
        self.entries = sum(rows.size for _, rows, _ in self._points)

    def climb(self, knobs: int, most: int, watch: Watch) -> tuple[int, list[Whole]]:
        """The best bound found, and for each family the centres chosen there.

        Args:
            knobs: how many there are.
            most: a bound as high ends the climb.
            watch: what may cut it short.
        """
        best, step, since = -1, 1.0, 0
        chosen: list[Whole] = [np.zeros(0, dtype=np.int64) for _ in self._points]
        prices = [self._first(rows) for _, rows, _ in self._points]
        leaving = 0
        for _ in range(MOST_ROUNDS):
            value, slopes, left_out, own = self._at(prices, leaving, knobs)
            watch.spend(self.entries * EFFORT_PER_ENTRY)
            bound = -(-value // QUANTUM)
            since += 1
            if bound > best:
                best, since, chosen = bound, 0, own
            if best >= most or watch.over():
                break
            if since > PATIENCE:
                step, since = step / 2, 0
            length = sum(int((slope * slope).sum()) for slope in slopes) + left_out * left_out
            if not length or step < 1e-3:
                break
            stride = step * max(QUANTUM, QUANTUM * most - value) / length
            prices = [
                price + np.rint(stride * slope).astype(np.int64)
                for price, slope in zip(prices, slopes, strict=True)
            ]
            leaving = max(0, leaving + round(stride * left_out))
        return max(0, best), chosen

    @staticmethod
    def _first(rows: Whole) -> Whole:
        """To begin with, each pays what its second nearest centre costs."""
        second = np.partition(rows, 1, axis=1)[:, 1] if rows.shape[1] > 1 else rows[:, 0]
        prices: Whole = QUANTUM * second
        return prices

    def _at(
        self, prices: Sequence[Whole], leaving: int, knobs: int
    ) -> tuple[int, list[NDArray[np.float64]], float, list[Whole]]:
        """The bound at some prices, in 64ths, which way it rises, and the centres chosen.

        Args:
            prices: for each family, what each of its points pays, each of a point's atoms.
            leaving: what a point of the tier *unplaced* costs.
            knobs: how many there are.
        """
        gains, nearest = [], []
        value, slopes, left_out = -leaving * self._unplaced, [], 0.0
        for (omission, rows, counts), own in zip(self._points, prices, strict=True):
            spare = np.maximum(0, own[:, None] - QUANTUM * rows)
            gains.append(counts @ spare)
            nearest.append(spare)
            out = (omission > 0) & (leaving * omission < own)
            paid = np.where(out, leaving * omission, own)
            value += int((counts * paid).sum())
            # One that is left out is paid for once, and what it would gain at centres as well.
            slopes.append(np.where(out, 0, counts).astype(np.float64))
            left_out += float((counts * omission)[out].sum())
        every = np.concatenate(gains)
        chosen = np.argsort(-every, kind="stable")[:knobs]
        value -= int(every[chosen].sum())
        ends = np.cumsum([0, *(len(each) for each in gains)])
        centres = []
        for at, spare in enumerate(nearest):
            centres.append(chosen[(chosen >= ends[at]) & (chosen < ends[at + 1])] - ends[at])
            slopes[at] -= self._points[at][2] * (spare[:, centres[at]] > 0).sum(axis=1)
        return value, slopes, left_out - self._unplaced, centres
