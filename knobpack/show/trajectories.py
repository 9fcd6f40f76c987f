"""Trajectories: what one knob carries through a whole show, for a bound on what is relearned.

A *trajectory* is a set of atoms of the songs that one knob may carry between them. It costs what
all destinations that it ever carries count, whichever songs they are in: the trajectories of all
knobs come to what destinations cost in *relearning*, and once more what each of them counts. Knobs
that are alike are one class, so that, unlike in a model indexed by knob, nothing is spread evenly
over them, and the linear relaxation is near the least there is.

That a destination is on one knob, or on two at least, is a cut: a trajectory that has it counts
once, and once more if it has it in all its songs; that comes to two at least. Without it knobs that
have it in all but one of many songs, a fraction of each, would cover all of them at hardly more
than once. (Of three songs it is a subset-row inequality: M. Jepsen, B. Petersen, S. Spoorendonk, D.
Pisinger, Operations Research 56, 2008, from memory.)

The relaxation is solved by column generation. Any dual prices give a bound, once no trajectory is
below its reduced cost (:mod:`knobpack.show.trajectory_pricing`); they are whole 1024ths, so it is
safe. Prices are held in a box round the best that are known, first without the cuts and that round
a first guess, what a destination counts in equal parts in each of its songs: O. du Merle, D.
Villeneuve, J. Desrosiers, P. Hansen, "Stabilized column generation", Discrete Mathematics 194,
1999 (from memory). That one column is all routes of one vehicle over the horizon is from D. Goeke,
R. Roberti, M. Schneider, "Exact and heuristic solution of the consistent vehicle-routing problem",
Transportation Science, 2019 (its abstract was read).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence

import attrs
import numpy as np
from ortools.linear_solver import pywraplp

from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_families import QUANTUM
from knobpack.show.trajectory_pricing import (
    PricedTrajectories,
    TrajectoryPrices,
    TrajectoryPricing,
    Whole,
)
from knobpack.solver.linear import solved
from knobpack.solver.watch import Watch

EFFORT_PER_STEP, EFFORT_PER_COLUMN = 2e-4, 1e-5
"""Effort that a step of the linear solver counts as, and a column each time it is called."""

MOST_ADDED = 16
"""Trajectories that are added after each pricing, at most."""

BOX, BOX_WITH_CUTS, NARROWEST, WIDER, NARROWER, PATIENCE = 0.5, 0.15, 0.12, 1.5, 0.7, 8
"""How wide the box is to begin with, in mean prices, without the cuts and with them, and at least;
by what it grows where the bound rises at once, and shrinks after so many pricings in which it does
not."""

RISE = 0.1
"""The part of the way from bound to value that a bound has to make for the box to follow."""

CLOSE = QUANTUM // 20
"""How near the value of the linear programme a bound is as good as any, in 1024ths."""


def least_points(carried: Carrying, value: int, watch: Watch) -> Bound | None:
    """What destinations cost in *relearning* at least.

    Args:
        carried: what is to be carried.
        value: what they cost in the best show that is known: a bound that is as high is enough.
        watch: how long the search may go on.

    Returns:
        A bound; None: too much may share a knob for this way.
    """
    pricing = TrajectoryPricing(carried.weights, carried.atoms, len(carried.used))
    if not pricing.small_enough:
        return None
    enough = QUANTUM * (value - carried.step + carried.value)
    return _Ascent(carried, pricing).climbed(enough, watch)


@attrs.frozen(eq=False)
class Dual:
    """Dual prices, and the bound at them.

    Args:
        worth: what destinations count on all knobs together at least, in 1024ths.
        prices: the prices.
        most: for each class of knobs, what no trajectory is worth more than.
    """

    worth: int
    prices: Whole
    most: tuple[int, ...]


@attrs.frozen(eq=False)
class Bound:
    """A bound on what destinations cost.

    Args:
        carried: what is to be carried.
        pricing: the pricing of its trajectories.
        worth: what they count on all knobs together at least, in 1024ths, at some prices.
        prices: these prices.
        most: for each class of knobs, what no trajectory is worth more than at these.
    """

    carried: Carrying
    pricing: TrajectoryPricing
    worth: int
    prices: TrajectoryPrices
    most: tuple[int, ...]

    @property
    def points(self) -> int:
        """What destinations cost in *relearning* at least, in points."""
        return self.carried.in_points(self.worth)


class _Ascent:
    """Column generation over the trajectories known so far, prices held in a box."""

    def __init__(self, carried: Carrying, pricing: TrajectoryPricing) -> None:
        self._carried, self._pricing = carried, pricing
        solver = self._solver = pywraplp.Solver.CreateSolver("GLOP")
        infinity = solver.infinity()
        self._songs = [0] * len(carried.weights)
        for atom in carried.atoms:
            for each in atom.destinations:
                self._songs[each] += 1
        self._whole = [n for n in pricing.told_apart if carried.weights[n] and self._songs[n] > 2]
        self._cover = [solver.Constraint(1, 1) for _ in carried.atoms]
        self._least = [*carried.used, *(2 for _ in self._whole)]
        self._more = [solver.Constraint(least, infinity) for least in self._least]
        self._knobs = [solver.Constraint(-infinity, len(knobs)) for knobs, _ in carried.classes]
        self._objective = solver.Objective()
        self._objective.SetMinimization()
        self._sides = []
        for row in (*self._cover, *self._more):
            over, under = (solver.NumVar(0, infinity, "") for _ in range(2))
            row.SetCoefficient(over, 1)
            row.SetCoefficient(under, -1)
            self._sides.append((over, under))
        # That a destination is carried in no song is worth no more than it counts: pricing takes it
        # that what a knob may ever carry it does carry. To begin with it is worth nothing.
        self._enough = [solver.NumVar(0, infinity, "") for _ in self._whole]
        for row, enough in zip(self._more[len(carried.used) :], self._enough, strict=True):
            row.SetCoefficient(enough, 1)
        self._known: set[tuple[int, tuple[int, ...]]] = set()
        self._centre = self._first_guess()
        self._best = Dual(-(1 << 62), self._centre, ())
        self._width = 0.0

    def _first_guess(self) -> Whole:
        """What each destination counts, in equal parts in each of its songs; no other price."""
        weights = self._carried.weights
        worth = [
            sum(weights[n] * QUANTUM // self._songs[n] for n in atom.destinations)
            for atom in self._carried.atoms
        ]
        return np.array([*worth, *(0 for _ in self._more)], dtype=np.int64)

    def climbed(self, enough: int, watch: Watch) -> Bound:
        """The best bound that is found; one above ``enough`` 1024ths is looked for no more."""
        self._bound_at(self._centre, watch)
        self._in_a_box(BOX, enough, watch)
        for slack, each in zip(self._enough, self._whole, strict=True):
            self._objective.SetCoefficient(slack, self._carried.weights[each])
        if self._whole:
            self._in_a_box(BOX_WITH_CUTS, enough, watch)
        best = self._best
        told = self._told(best.prices)
        return Bound(self._carried, self._pricing, best.worth, told, best.most)

    def _in_a_box(self, width: float, enough: int, watch: Watch) -> None:
        """Look for a better bound, prices held in a box of such a width round the best."""
        self._centre, best, since = self._best.prices, self._best.worth, 0
        mean = float(self._centre.sum()) / max(1, len(self._carried.atoms))
        self._width = width * mean
        self._box()
        while best <= enough and (solved := self._solved(watch)):
            value, boxed = solved
            prices = self._prices()
            priced = self._priced(prices, self._limits(), watch)
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
                self._width = max(NARROWEST * mean, NARROWER * self._width)
                self._box()
            if not boxed and value - best < CLOSE:
                break

    def _solved(self, watch: Watch) -> tuple[float, bool] | None:
        """The value of the linear programme, in 1024ths, and whether the box holds it; or none."""
        if watch.over() or not solved(self._solver, warm=True):
            return None
        columns = self._solver.NumVariables()
        watch.spend(
            EFFORT_PER_STEP * (self._solver.iterations() + 10) + EFFORT_PER_COLUMN * columns
        )
        boxed = any(side.solution_value() > 1e-9 for each in self._sides for side in each)
        return self._objective.Value() * QUANTUM, boxed

    def _limits(self) -> list[float]:
        """What a trajectory of each class has to be worth more than, to be of use."""
        return [-row.dual_value() * QUANTUM for row in self._knobs]

    def _box(self) -> None:
        """Let no price be further from the centre than the width."""
        atoms = len(self._cover)
        for at, (over, under) in enumerate(self._sides):
            centre = float(self._centre[at])
            low = centre - self._width
            self._objective.SetCoefficient(over, (centre + self._width) / QUANTUM)
            # That there is more than there has to be is worth nothing, box or no box.
            held = at < atoms or low > 0
            under.SetUb(self._solver.infinity() if held else 0)
            self._objective.SetCoefficient(under, -low / QUANTUM if held else 0)

    def _prices(self) -> Whole:
        """Dual prices of atoms, then of what has to be enough, in whole 1024ths."""
        more = [max(0.0, row.dual_value()) for row in self._more]
        prices = [*(row.dual_value() for row in self._cover), *more]
        return np.array([math.floor(each * QUANTUM) for each in prices], dtype=np.int64)

    def _priced(
        self, prices: Whole, limits: Iterable[float], watch: Watch
    ) -> list[PricedTrajectories]:
        """For each class of knobs, what the trajectories of most worth come to."""
        told = self._told(prices)
        return [
            self._pricing.priced(told, may, limit, watch)
            for (_, may), limit in zip(self._carried.classes, limits, strict=True)
        ]

    def _told(self, prices: Whole) -> TrajectoryPrices:
        """Such prices, each by what it is of."""
        atoms, songs = len(self._cover), len(self._carried.used)
        used, whole = prices[atoms : atoms + songs], np.zeros(len(self._songs), np.int64)
        whole[self._whole] = prices[atoms + songs :]
        return TrajectoryPrices(prices[:atoms], used, whole)

    def _bound(self, prices: Whole, priced: Iterable[PricedTrajectories]) -> int:
        """The Lagrangian bound at some prices, in 1024ths."""
        atoms = len(self._cover)
        worth = int(prices[:atoms].sum()) + int(prices[atoms:] @ np.array(self._least))
        counts = (len(knobs) for knobs, _ in self._carried.classes)
        most = tuple(each.most for each in priced)
        bound = worth - sum(n * each for n, each in zip(counts, most, strict=True))
        if bound > self._best.worth:
            self._best = Dual(bound, prices, most)
        return bound

    def _bound_at(self, prices: Whole, watch: Watch) -> int:
        """The bound at prices that are none of the linear programme's."""
        priced = self._priced(prices, [0.0] * len(self._knobs), watch)
        self._add(priced)
        return self._bound(prices, priced)

    def _add(self, priced: Iterable[PricedTrajectories]) -> int:
        """Add trajectories to the linear programme; says how many of them were not there."""
        added = 0
        for number, each in enumerate(priced):
            new = [told for told in each.trajectories if (number, told) not in self._known]
            for atoms in new[:MOST_ADDED]:
                self._known.add((number, atoms))
                self._add_column(number, atoms)
                added += 1
        return added

    def _add_column(self, number: int, atoms: Sequence[int]) -> None:
        carried = self._carried
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        met = Counter(each for atom in atoms for each in carried.atoms[atom].destinations)
        self._objective.SetCoefficient(column, sum(carried.weights[each] for each in met))
        self._knobs[number].SetCoefficient(column, 1)
        for atom in atoms:
            self._cover[atom].SetCoefficient(column, 1)
        for song in {carried.atoms[atom].song for atom in atoms}:
            self._more[song].SetCoefficient(column, 1)
        for at, each in enumerate(self._whole, len(carried.used)):
            if each in met:
                self._more[at].SetCoefficient(column, 1 + (met[each] == self._songs[each]))
