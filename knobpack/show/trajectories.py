"""Trajectories: what one knob carries through a whole show, for a bound on what is relearned.

A *trajectory* is a set of atoms of the songs that one knob may carry between them. It costs what
all destinations that it ever carries count, whichever songs they are in: the trajectories of all
knobs come to what destinations cost in *relearning*, and once more what each of them counts. Knobs
that are alike are one class, so that, unlike in a model indexed by knob, nothing is spread evenly
over them, and the linear relaxation is near the least there is.

The relaxation is solved by column generation. Any dual prices give a bound, once no trajectory is
below its reduced cost (:mod:`knobpack.show.trajectory_pricing`); they are whole 1024ths, so it is
safe. Prices are held in a box round the best that are known, and that round a first guess, what a
destination counts in equal parts in each of its songs: O. du Merle, D. Villeneuve, J. Desrosiers,
P. Hansen, "Stabilized column generation", Discrete Mathematics 194, 1999 (from memory). That one
column is all routes of one vehicle over the horizon is from D. Goeke, R. Roberti, M. Schneider,
"Exact and heuristic solution of the consistent vehicle-routing problem", Transportation Science,
2019 (its abstract was read).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np
from ortools.linear_solver import pywraplp

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.trajectory_pricing import QUANTUM, Carried, Priced, TrajectoryPricing, Whole
from knobpack.solver.watch import Watch

EFFORT_PER_STEP, EFFORT_PER_COLUMN = 2e-4, 4e-5
"""Effort that a step of the linear solver counts as, and a column each time it is called."""

MOST_ADDED = 16
"""Trajectories that are added after each pricing, at most."""

BOX, WIDER, NARROWER, PATIENCE = 0.5, 1.5, 0.7, 8
"""How wide the box is to begin with, in mean prices; by what it grows where the bound rises at
once, and shrinks after so many pricings in which it does not."""

RISE = 0.1
"""The part of the way from bound to value that a bound has to make for the box to follow."""

CLOSE = QUANTUM // 20
"""How near the value of the linear programme a bound is as good as any, in 1024ths."""


@attrs.frozen(eq=False)
class Carrying:
    """All that is to be carried through a show, and by how many knobs.

    Args:
        weights: what each destination counts, in points.
        atoms: what is to be carried.
        classes: knobs that are alike: how many they are, and which atoms they may carry.
        used: for each song, how many knobs carry something at least.
        value: what destinations count if each is on one knob only.
    """

    weights: tuple[int, ...]
    atoms: tuple[Carried, ...]
    classes: tuple[tuple[int, tuple[bool, ...]], ...]
    used: tuple[int, ...]

    @property
    def value(self) -> int:
        """What destinations count if each is on one knob only."""
        return sum(self.weights)


def carrying(
    songs: Sequence[Numbered], as_they_are: Mapping[int, Placed], weights: Mapping[Key, int]
) -> Carrying:
    """What is to be carried through a show. What may be left out of a song is not looked at.

    Args:
        songs: the songs.
        as_they_are: the position of each that is not to be laid out, and how it stays.
        weights: what each destination of the show counts.
    """
    number = {key: at for at, key in enumerate(weights)}
    atoms: list[Carried] = []
    knobs: list[int] = []
    used = []
    for at, song in enumerate(songs):
        of_item = {item: number[key] for key, item in song.item_of.items()}
        sets: list[tuple[int, int, int]] = []  # items, knobs, mask of the others that are apart
        if at in as_they_are:
            on: dict[int, int] = {}
            for item, knob in as_they_are[at].knobs.items():
                on[knob] = on.get(knob, 0) | 1 << item
            sets = [(items, 1 << knob, (1 << len(on)) - 1) for knob, items in on.items()]
            used.append(0)
        else:
            problem, most_out = song.problem, song.held["unplaced"]
            for atom, clashes in zip(problem.atoms, problem.clashes, strict=True):
                open_to = atom.knobs if atom.pinned is None else 1 << atom.pinned
                sets.append((atom.items, open_to, clashes))
            must = [atom.needed or atom.omission > most_out for atom in problem.atoms]
            there = sum(atom.items for atom, here in zip(problem.atoms, must, strict=True) if here)
            used.append(sum(1 for load in song.loads if load & there) - song.most_joined)
            place = {old: new for new, old in enumerate(n for n, here in enumerate(must) if here)}
            sets = [
                (items, open_to, sum(1 << place[n] for n in bits(apart) if n in place))
                for n, (items, open_to, apart) in enumerate(sets)
                if n in place
            ]
        first = len(atoms)
        for items, open_to, apart in sets:
            destinations = tuple(sorted(of_item[item] for item in bits(items)))
            atoms.append(Carried(at, destinations, apart << first))
            knobs.append(open_to)
    counted = {each for atom in atoms for each in atom.destinations}
    alike: dict[tuple[bool, ...], int] = {}
    for knob in range(songs[0].problem.knobs):
        may = tuple(bool(open_to >> knob & 1) for open_to in knobs)
        alike[may] = alike.get(may, 0) + 1
    return Carrying(
        tuple(weight if at in counted else 0 for at, weight in enumerate(weights.values())),
        tuple(atoms),
        tuple((count, may) for may, count in alike.items() if any(may)),
        tuple(max(0, least) for least in used),
    )


def least_points(carried: Carrying, value: int, watch: Watch) -> int | None:
    """What destinations cost in *relearning* at least.

    Args:
        carried: what is to be carried.
        value: what they cost in the best show that is known: a bound that is as high is enough.
        watch: how long the search may go on.

    Returns:
        A bound, in points; None: too much may share a knob for this way.
    """
    pricing = TrajectoryPricing(carried.weights, carried.atoms, len(carried.used))
    if not pricing.small_enough:
        return None
    step = math.gcd(*carried.weights) or 1
    enough = QUANTUM * (value - step + carried.value)
    best = _Ascent(carried, pricing).climbed(enough, watch)
    points = -(-best // QUANTUM) - carried.value
    return max(0, -(-points // step) * step)


class _Ascent:
    """Column generation over the trajectories known so far, prices held in a box."""

    def __init__(self, carried: Carrying, pricing: TrajectoryPricing) -> None:
        self._carried, self._pricing = carried, pricing
        solver = self._solver = pywraplp.Solver.CreateSolver("CLP")
        infinity = solver.infinity()
        self._cover = [solver.Constraint(1, 1) for _ in carried.atoms]
        self._used = [solver.Constraint(least, infinity) for least in carried.used]
        self._knobs = [solver.Constraint(-infinity, count) for count, _ in carried.classes]
        self._objective = solver.Objective()
        self._objective.SetMinimization()
        self._sides = []
        for row in (*self._cover, *self._used):
            over, under = (solver.NumVar(0, infinity, "") for _ in range(2))
            row.SetCoefficient(over, 1)
            row.SetCoefficient(under, -1)
            self._sides.append((over, under))
        self._known: set[tuple[int, tuple[int, ...]]] = set()
        self._centre = self._first_guess()
        self._width = BOX * float(self._centre.sum()) / max(1, len(carried.atoms))

    def _first_guess(self) -> Whole:
        """What each destination counts, in equal parts in each of its songs; no price of use."""
        carried = self._carried
        songs = [0] * len(carried.weights)
        for atom in carried.atoms:
            for each in atom.destinations:
                songs[each] += 1
        worth = [
            sum(carried.weights[each] * QUANTUM // songs[each] for each in atom.destinations)
            for atom in carried.atoms
        ]
        return np.array([*worth, *(0 for _ in carried.used)], dtype=np.int64)

    def climbed(self, enough: int, watch: Watch) -> int:
        """The best bound that is found, in 1024ths; one above ``enough`` is looked for no more."""
        best, since = self._bound_at(self._centre, watch), 0
        self._box()
        while best <= enough and not watch.over():
            if self._solver.Solve() != pywraplp.Solver.OPTIMAL:
                break
            columns = self._solver.NumVariables()
            watch.spend(
                EFFORT_PER_STEP * (self._solver.iterations() + 10) + EFFORT_PER_COLUMN * columns
            )
            value = self._objective.Value() * QUANTUM
            boxed = any(side.solution_value() > 1e-9 for each in self._sides for side in each)
            prices = self._prices()
            priced = self._priced(prices, watch)
            bound, since = self._bound(prices, priced), since + 1
            added = self._add(priced)
            if bound > best + RISE * (value - best) or (not added and bound > best):
                if since < 3:
                    self._width *= WIDER
                self._centre, best, since = prices, bound, 0
                self._box()
            elif not added:
                if not boxed:
                    break
                self._centre, since = prices, 0
                self._box()
            elif not since % PATIENCE:
                self._width *= NARROWER
                self._box()
            if not boxed and value - best < CLOSE:
                break
        return best

    def _box(self) -> None:
        """Let no price be further from the centre than the width."""
        atoms = len(self._cover)
        for at, (over, under) in enumerate(self._sides):
            centre = float(self._centre[at])
            low = centre - self._width
            self._objective.SetCoefficient(over, (centre + self._width) / QUANTUM)
            # That more knobs are in use than have to be is worth nothing.
            low = low if at < atoms else max(0.0, low)
            self._objective.SetCoefficient(under, -low / QUANTUM)

    def _prices(self) -> Whole:
        """Dual prices of atoms, then of the use of songs, in whole 1024ths."""
        used = [max(0.0, row.dual_value()) for row in self._used]
        prices = [*(row.dual_value() for row in self._cover), *used]
        return np.array([math.floor(each * QUANTUM) for each in prices], dtype=np.int64)

    def _priced(self, prices: Whole, watch: Watch) -> list[Priced]:
        """For each class of knobs, what the trajectories of most worth come to."""
        least = [-row.dual_value() * QUANTUM for row in self._knobs]
        return [
            self._pricing.priced(prices, may, limit, watch)
            for (_, may), limit in zip(self._carried.classes, least, strict=True)
        ]

    def _bound(self, prices: Whole, priced: Iterable[Priced]) -> int:
        """The Lagrangian bound at some prices, in 1024ths."""
        atoms = len(self._cover)
        worth = int(prices[:atoms].sum())
        worth += sum(int(p) * n for p, n in zip(prices[atoms:], self._carried.used, strict=True))
        counts = (count for count, _ in self._carried.classes)
        return worth - sum(n * each.most for n, each in zip(counts, priced, strict=True))

    def _bound_at(self, prices: Whole, watch: Watch) -> int:
        """The bound at prices that are none of the linear programme's."""
        priced = [self._pricing.priced(prices, may, 0.0, watch) for _, may in self._carried.classes]
        self._add(priced)
        return self._bound(prices, priced)

    def _add(self, priced: Iterable[Priced]) -> int:
        """Add trajectories to the linear programme; says how many of them were not there."""
        added = 0
        for number, each in enumerate(priced):
            for atoms in each.trajectories[:MOST_ADDED]:
                if (number, atoms) not in self._known:
                    self._known.add((number, atoms))
                    self._add_column(number, atoms)
                    added += 1
        return added

    def _add_column(self, number: int, atoms: Sequence[int]) -> None:
        carried = self._carried
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        met = {each for atom in atoms for each in carried.atoms[atom].destinations}
        self._objective.SetCoefficient(column, sum(carried.weights[each] for each in met))
        self._knobs[number].SetCoefficient(column, 1)
        for atom in atoms:
            self._cover[atom].SetCoefficient(column, 1)
        for song in {carried.atoms[atom].song for atom in atoms}:
            self._used[song].SetCoefficient(column, 1)
