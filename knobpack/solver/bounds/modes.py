"""A bound on what is broken: the knobs as centres of what moves together.

What a knob breaks is the least, over all ways to follow and to hold, of how far what is on it is
from that. So the tier *independence* is the weighted k-modes problem of binary vectors (Kulkarni
and Fathi 2005, "q-mode problem"), a p-median problem over all ways to follow. Its Lagrangian dual,
the assignment relaxed (Cornuéjols, Fisher, Nemhauser 1977, "Location of bank accounts to optimize
float", from memory), is climbed by subgradients in whole 64ths: any prices give a bound that holds.
Where there are too many ways to follow, those that are wanted stand for all: the wanted one nearest
to a centre costs at most twice as much, so half of that bound holds, and what differs from the
nearest (``ways.py``) mostly gives a better one.

Centres that are near to many points are exchanged for others while that helps: vertex substitution
(Teitz and Bart 1968, "Heuristic methods for estimating the generalized vertex median of a weighted
graph"; each exchange priced from the nearest and second nearest centre as by Whitaker 1983, both
from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.grouped import grouped
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.bounds.ways import Points, every_way, nearest_bound, sides, wanted_ways
from knobpack.solver.costs import FAR, Whole
from knobpack.solver.families import families
from knobpack.solver.watch import Watch

QUANTUM = 64
"""Prices are whole numbers of one 64th of a point."""

MOST_EXCHANGED = 10_000_000
"""Destinations times centres times knobs up to which centres are exchanged."""

MOST_ROUNDS = 300
"""Steps of the climb, at most."""

PATIENCE = 12
"""Steps without a better bound after which they become half as long."""

EFFORT_PER_ENTRY = 1e-8
"""Effort that an entry counts as in each step: about what it takes in seconds."""


def interchanged(costs: Whole, chosen: Sequence[int]) -> list[int]:
    """Exchange centres until no exchange of one for another makes it cheaper.

    Args:
        costs: (points, centres) what each point pays at each centre; each pays at the nearest.
        chosen: the numbers of the centres to begin with, one or more.

    Returns:
        As many numbers.
    """
    found = list(chosen)
    while True:
        order = np.argsort(costs[:, found], axis=1, kind="stable")
        own = np.take_along_axis(costs[:, found], order, axis=1)
        nearest, first, second = order[:, 0], own[:, 0], own[:, min(1, len(found) - 1)]
        best, exchange = int(first.sum()), None
        for place in range(len(found)):
            # A centre alone has no second: whatever comes instead is paid for in full.
            without = np.where(nearest == place, second, first)
            if len(found) == 1:
                with_each = costs.sum(axis=0)
            else:
                with_each = np.minimum(without[:, None], costs).sum(axis=0)
            number = int(with_each.argmin())
            if with_each[number] < best:
                best, exchange = int(with_each[number]), (place, number)
        if exchange is None:
            return found
        found[exchange[0]] = exchange[1]


_Sorts: TypeAlias = tuple[Whole, Whole, Whole]
"""For each sort of atoms what it costs to leave one out (-1: it may not be), what it breaks at each
centre, (sorts, C), and how many there are."""


class Medians:
    """The p-median problem of what is broken.

    Args:
        problem: the problem.
        held: the values of the tiers *unplaced* and *bundles*, which may not be worse.

    Attributes:
        columns: the breakable snapshots, what each moves and its weight.
        firm: for each atom, whether it is placed wherever the earlier tiers are as good as that.
        parts: of each family the atoms that count: those it costs something to leave out.
        every: whether ``ways``, (C, S), are all ways to follow, or those that are wanted.
        sorts: for each family its sorts of atoms, and for each of the atoms its sort.
    """

    def __init__(self, problem: Problem, held: Sequence[int]) -> None:
        self.columns = sides(problem)
        self.firm = firm_atoms(problem, held[1])
        parts = [
            [n for n in part if self.firm[n] or problem.atoms[n].omission]
            for part in families(problem)
        ]
        self.parts = [part for part in parts if part] if self.columns else []
        every = every_way(len(self.columns), len(problem.atoms))
        self.every = every is not None
        self.ways = wanted_ways(problem, self.columns) if every is None else every
        self.points = Points.of(problem, [n for part in self.parts for n in part], self.columns)
        self.ends = np.cumsum([0, *(len(part) for part in self.parts)])
        distances = self.points.distances(self.ways)
        self.sorts, self.sort_of = [], []
        for part, start, end in zip(self.parts, self.ends, self.ends[1:], strict=False):
            sorts, of = _sorts(problem, part, self.firm, distances[start:end], held[0])
            self.sorts.append(sorts)
            self.sort_of.append(of)
        self.dual = Dual(self.sorts, held[0])


def least_broken(
    problem: Problem, held: Sequence[int], most: int, watch: Watch
) -> tuple[int, list[int]]:
    """What no placement breaks less than.

    Args:
        problem: the problem.
        held: the values of the tiers *unplaced* and *bundles*, which may not be worse.
        most: what some placement breaks: a bound as high ends the search.
        watch: what may cut it short.

    Returns:
        The bound, and sets, as masks of atoms, that break little, each of which may be on a knob:
        what is nearest to each of some good centres.
    """
    medians = Medians(problem, held)
    parts, points, ways, every = medians.parts, medians.points, medians.ways, medians.every
    if not parts:
        return 0, []
    knobs = problem.open_knobs
    bound, chosen = medians.dual.climb(knobs.bit_count(), most if every else 2 * most, watch)
    family = np.repeat(np.arange(len(parts)), np.diff(medians.ends))
    begun = _Centres(
        np.concatenate([ways[own] for own in chosen]),
        np.repeat(np.arange(len(parts)), [len(own) for own in chosen]),
    )
    costs = _near(points, family, begun, knobs.bit_count(), watch)
    if not every:
        placed = [
            medians.firm[n] or atom.omission > held[0] for n, atom in enumerate(problem.atoms)
        ]
        nearest = nearest_bound(problem, placed, medians.columns, knobs.bit_count())
        bound = max(-(-bound // 2), nearest)
    return bound, _dealt(problem, points.numbers, costs)


def firm_atoms(problem: Problem, bundles: int) -> list[bool]:
    """Whether each atom is placed wherever the tier *bundles* comes to no more than so much.

    What is left out counts once for each of its items that is of a bundle, and the rest of the
    bundle, wherever that is, outweighs what each bundle counts less.
    """
    by_first = grouped((mask & -mask, mask) for mask in problem.bundles)

    def whole(items: int) -> int:
        return sum(not mask & ~items for n in bits(items) for mask in by_first.get(1 << n, ()))

    return [
        atom.needed or (bool(atom.knobs) and atom.strays - whole(atom.items) > bundles)
        for atom in problem.atoms
    ]


@attrs.frozen(eq=False)
class _Centres:
    """Ways to follow, (C, S), and the family that each is for, (C,)."""

    ways: Whole
    family: Whole

    def with_all(self, ways: Whole, family: Whole) -> _Centres:
        """These, then others, each once."""
        rows = np.column_stack([np.append(self.family, family), np.vstack([self.ways, ways])])
        _, first = np.unique(rows, axis=0, return_index=True)
        kept = rows[np.sort(first)]
        return _Centres(kept[:, 1:], kept[:, 0])


def _near(points: Points, family: Whole, begun: _Centres, knobs: int, watch: Watch) -> Whole:
    """(atoms, centres) what each atom breaks at each of as many centres as there are knobs.

    Centres are exchanged for the ways that atoms want, and for those that suit what is nearest.
    """
    wants = (points.moving > points.held).astype(np.int64)
    centres = begun.with_all(wants, family)
    chosen = list(range(min(knobs, len(centres.family))))
    while True:
        costs = np.where(
            family[:, None] == centres.family, points.distances(centres.ways), FAR // len(family)
        )
        if costs.size * len(chosen) > MOST_EXCHANGED:
            return costs[:, chosen]
        chosen = interchanged(costs, chosen)
        watch.spend(costs.size * len(chosen) * EFFORT_PER_ENTRY)
        nearest = costs[:, chosen].argmin(axis=1)
        suits = [
            (points.moving[nearest == at] - points.held[nearest == at]).sum(axis=0) > 0
            for at in range(len(chosen))
        ]
        more = centres.with_all(np.array(suits, dtype=np.int64), centres.family[chosen])
        if len(more.family) == len(centres.family) or watch.over():
            return costs[:, chosen]
        centres = more


def _dealt(problem: Problem, numbers: Sequence[int], costs: Whole) -> list[int]:
    """What goes to each centre: each atom to the nearest that takes it, if one does."""
    sets = [0] * costs.shape[1]
    room = problem.routes

    def turn(row: int) -> tuple[bool, int]:
        atom = problem.atoms[numbers[row]]
        return not atom.needed, -atom.omission

    for row in sorted(range(len(numbers)), key=turn):
        atom, number = problem.atoms[numbers[row]], numbers[row]
        for at in np.argsort(costs[row], kind="stable").tolist():
            fits = problem.items_of(sets[at]).bit_count() + atom.size <= problem.per_knob
            lone = not problem.clashes[number] & sets[at]
            if fits and lone and atom.size <= room and problem.knobs_of(sets[at] | 1 << number):
                sets[at] |= 1 << number
                room -= atom.size
                break
    return [atoms for atoms in sets if atoms]


def _sorts(
    problem: Problem, part: Sequence[int], firm: Sequence[bool], distances: Whole, unplaced: int
) -> tuple[_Sorts, Whole]:
    """The atoms of a family, those together that cost the same wherever they are; and its sort."""
    omissions = [
        -1 if firm[number] or not unplaced else problem.atoms[number].omission for number in part
    ]
    table = np.column_stack([np.array(omissions, dtype=np.int64), distances])
    rows, of, counts = np.unique(table, axis=0, return_inverse=True, return_counts=True)
    return (rows[:, 0], rows[:, 1:], counts), of.reshape(-1)


class Dual:
    """The Lagrangian dual: what each destination pays to be near a centre.

    Args:
        points: for each family its sorts of atoms.
        unplaced: how much may be left out.

    Attributes:
        best: the best prices found: what each of a family's sorts pays, each of its atoms, and what
            a point of the tier *unplaced* costs, in 64ths.
    """

    def __init__(self, points: Sequence[_Sorts], unplaced: int) -> None:
        self._points, self._unplaced = points, unplaced
        self.entries = sum(rows.size for _, rows, _ in points)
        self.best: tuple[Sequence[Whole], int] = [self._first(rows) for _, rows, _ in points], 0

    def climb(
        self, knobs: int, most: int, watch: Watch, *, whole: bool = True
    ) -> tuple[int, list[Whole]]:
        """The best bound found, and for each family the centres chosen there.

        Args:
            knobs: how many there are.
            most: a bound as high ends the climb.
            watch: what may cut it short.
            whole: whether a bound that is as high once rounded up does so too.
        """
        best, step, since = -1, 1.0, 0
        enough = QUANTUM * (most - whole) + whole
        chosen: list[Whole] = [np.zeros(0, dtype=np.int64) for _ in self._points]
        prices, leaving = self.best
        for _ in range(MOST_ROUNDS):
            value, slopes, left_out, own = self.at(prices, leaving, knobs)
            watch.spend(self.entries * EFFORT_PER_ENTRY)
            since += 1
            if value > best:
                best, since, chosen, self.best = value, 0, own, (prices, leaving)
            if best >= enough or watch.over():
                break
            if since > PATIENCE:
                step, since, (prices, leaving) = step / 2, 0, self.best
                continue
            length = sum(int((slope * slope).sum()) for slope in slopes) + left_out * left_out
            if not length or step < 1e-3:
                break
            stride = step * max(QUANTUM, QUANTUM * most - value) / length
            prices = [
                price + np.rint(stride * slope).astype(np.int64)
                for price, slope in zip(prices, slopes, strict=True)
            ]
            leaving = max(0, leaving + round(stride * left_out))
        return max(0, -(-best // QUANTUM)), chosen

    @staticmethod
    def _first(rows: Whole) -> Whole:
        """To begin with, each pays what its second nearest centre costs."""
        second = np.partition(rows, 1, axis=1)[:, 1] if rows.shape[1] > 1 else rows[:, 0]
        prices: Whole = QUANTUM * second
        return prices

    def at(
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
