"""Trajectories narrowed down: which of all that are near can be in a show as good as the best?

The linear programme is solved over few of them and the others are priced by looking at each; its
dual prices, made whole, bound what every show with a certain trajectory costs (reduced-cost
fixing). It is made stronger by cuts: of three atoms a trajectory has two or three, or it does not;
those that do share an atom with each other, so there is one of them at most (subset-row
inequalities: M. Jepsen, B. Petersen, S. Spoorendonk, D. Pisinger, Operations Research 56, 2008,
from memory). Of prices that bound as well, those are looked for at which most of them are dear.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from typing import Any

import attrs
import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from knobpack.show.near_trajectories import Matrix, Near
from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_costs import Cost, Each
from knobpack.show.trajectory_families import QUANTUM
from knobpack.solver.watch import Watch

EFFORT_PER_STEP, EFFORT_PER_ENTRY = 2e-4, 2e-9
"""Effort that a step of the linear solver counts as, and one entry of the matrix looked through."""

ROUNDS, MOST_CUTS, MOST_ADDED = 30, 30, 100
"""Rounds of cuts, cuts that are added in each, and trajectories after each pricing, at most."""

MOST_ENTRIES = 40_000_000
"""Entries of the matrix up to which cuts are added."""

NUDGE = 0.05
"""By how much less is to be carried, of one mean trajectory."""

FEW, SHRUNK, PATIENCE = 200, 0.95, 3
"""Trajectories that are few enough; what part is left at most of those before where a round was
worth it; and how many that were not may follow each other."""

BROKEN, SOME = 0.02, 1e-6
"""By how much a cut is broken at least, to be added; and how much of a trajectory there is at least
where there is some."""


@attrs.define(eq=False)
class _Row:
    """A row of the linear programme.

    Args:
        row: the row.
        least: it is no less than this; None: it may be.
        most: it is no more than this; None: it may be.
        firm: whether it is held to just that.
    """

    row: pywraplp.Constraint
    least: int | None
    most: int | None
    firm: bool

    def price(self) -> int:
        """Its dual price in whole 1024ths, never on the wrong side."""
        dual = QUANTUM * self.row.dual_value()
        if self.most is None:
            return max(0, int(np.floor(dual)))
        return int(np.floor(dual)) if self.least is not None else min(0, int(np.floor(dual)))

    @property
    def side(self) -> int:
        """What it is held to; of one that is held on both sides that is the same."""
        return self.least if self.least is not None else self.most or 0

    def less(self, by: float) -> None:
        """Hold it to a little less."""
        if self.least is not None:
            self.row.SetLb(self.least - by)
        if self.most is not None:
            self.row.SetUb(self.most - by)


@attrs.frozen(eq=False)
class _Term:
    """A variable that is no less than some sums.

    Args:
        variable: the variable.
        rows: the numbers of the rows that say so.
    """

    variable: pywraplp.Variable
    rows: tuple[int, ...]


class Narrowing:
    """The linear programme over some of the trajectories, the cuts so far, and who may be in.

    Args:
        carried: what is to be carried.
        near: the trajectories that may be chosen.
        watch: how long the search may go on.
    """

    def __init__(self, carried: Carrying, near: Near, watch: Watch) -> None:
        self.near, self._watch = near, watch
        solver = self._solver = pywraplp.Solver.CreateSolver("CLP")
        self._infinity = solver.infinity()
        self._objective = solver.Objective()
        self._objective.SetMinimization()
        self._columns: dict[int, pywraplp.Variable] = {}
        self._rows: list[_Row] = []
        self._matrix = np.zeros((len(near.trajectories), 0))
        self._begun = False
        self._here: dict[int, float] = {}
        self._triples: set[tuple[int, int, int]] = set()
        self._terms: list[_Term] = []
        self._held: dict[int, tuple[_Term, ...]] = {}
        self._cost = Cost(near.points, -carried.value)
        self.alive = np.ones(len(near.trajectories), dtype=np.bool_)
        self._limit, self.bound = 0, 0
        atoms, self._knobs = len(carried.atoms), [len(knobs) for knobs, _ in carried.classes]
        self._add_rows(near.carries, [1] * atoms, [1] * atoms)
        self._add_rows(near.uses, carried.used, [None] * len(carried.used))
        self._missing = [solver.NumVar(0, self._infinity, "") for _ in self._rows]
        for row, missing in zip(self._rows, self._missing, strict=True):
            row.row.SetCoefficient(missing, 1)
        self._first_class = len(self._rows)
        classes = near.class_of[:, None] == np.arange(len(self._knobs))
        self._add_rows(classes, [None] * len(self._knobs), self._knobs)
        self._price_missing()

    @property
    def came(self) -> NDArray[np.bool_]:
        """Which of those that may be in came into the linear programme."""
        found = np.zeros(len(self.alive), dtype=np.bool_)
        found[list(self._columns)] = True
        return self.alive & found

    def _add_rows(
        self,
        own: NDArray[Any],
        least: Sequence[int | None],
        most: Sequence[int | None],
        *,
        firm: bool = False,
    ) -> range:
        """Add rows, of which ``own`` has the (T, R) coefficients; their numbers."""
        first = len(self._rows)
        for sums, low, high in zip(own.T, least, most, strict=True):
            row = self._solver.Constraint(
                -self._infinity if low is None else low, self._infinity if high is None else high
            )
            for number, column in self._columns.items():
                if sums[number]:
                    row.SetCoefficient(column, float(sums[number]))
            self._rows.append(_Row(row, low, high, firm))
        self._matrix = np.hstack((self._matrix, own))
        return range(first, len(self._rows))

    def _price_missing(self) -> None:
        """Let nothing be carried only at a price above all else."""
        cost = self._cost
        dear = 1 + cost.prices.max(initial=0) + len(cost.greatest) + len(cost.widest)
        for missing in self._missing:
            self._objective.SetCoefficient(missing, float(dear))

    def _add_column(self, number: int) -> None:
        column = self._columns[number] = self._solver.NumVar(0, self._infinity, "")
        self._objective.SetCoefficient(column, float(self._cost.prices[number]))
        for at in np.flatnonzero(self._matrix[number]):
            self._rows[at].row.SetCoefficient(column, float(self._matrix[number, at]))

    # One step after the other -------------------------------------------------------------------

    def begin(self, cost: Cost, known: Sequence[int]) -> None:
        """Make another cost least from now on.

        Args:
            cost: the cost.
            known: the positions of the trajectories of a show that may be chosen.
        """
        self._objective.Clear()
        self._objective.SetMinimization()
        self._cost, self._begun = cost, True
        self._price_missing()
        for number, column in self._columns.items():
            self._objective.SetCoefficient(column, float(cost.prices[number]))
        for number in known:
            if number not in self._columns:
                self._add_column(number)
        self._terms = [self._term(sums, 0) for sums in cost.greatest]
        self._terms += [self._term((term.met,), term.most) for term in cost.widest]
        for term in self._terms:
            self._objective.SetCoefficient(term.variable, 1)

    def _term(self, sums: Sequence[Each], less: int) -> _Term:
        """A variable that is no less than each of some sums, less so much."""
        variable, count = self._solver.NumVar(0, self._infinity, ""), len(sums)
        own = -np.stack(sums, axis=1)
        rows = self._add_rows(own, [-less] * count, [None] * count, firm=True)
        for row in rows:
            self._rows[row].row.SetCoefficient(variable, 1)
        return _Term(variable, tuple(rows))

    def hold(self, value: int) -> None:
        """Let what was made least be no more than this from now on."""
        own = self._cost.prices[:, None]
        (at,) = self._add_rows(own, [None], [value - self._cost.constant], firm=True)
        for term in self._terms:
            self._rows[at].row.SetCoefficient(term.variable, 1)
        self._held[at], self._terms = tuple(self._terms), []

    def below(self, value: int) -> NDArray[np.bool_]:
        """Which may be in a show of so much, or less; those that are out are not left out by it."""
        before = self.alive.copy()
        found, self.alive = self.narrow(value), before
        return found

    def narrow(self, value: int) -> NDArray[np.bool_]:
        """Leave out those that can be in no show of so much, or less; who is left.

        The bound is then what every show costs at least, that costs no more than this.
        """
        self._limit, self.bound = value, -(1 << 62)
        left, in_vain = len(self.alive) + 1, 0
        self._nudge(0)
        for _ in range(ROUNDS):
            if not self._solved() or self.bound > value:
                break
            if not self._begun:
                self._compact()
            before, left = left, int(self.alive.sum())
            in_vain = 0 if left < SHRUNK * before else in_vain + 1
            if left <= FEW or in_vain > PATIENCE or not (self._cut() or not in_vain):
                break
            self._nudge(NUDGE / max(1, left))
        return self.alive

    def _nudge(self, part: float) -> None:
        """Let a little less be carried of what those left carry.

        Dual prices are then, of those that bound as well, those at which these are worth least.
        """
        sums = self._matrix[self.alive].sum(axis=0) if part else np.zeros(len(self._rows))
        for row, own in zip(self._rows, sums, strict=True):
            if not row.firm:
                row.less(part * float(own))

    def _compact(self) -> None:
        """Forget those that are left out."""
        kept = np.flatnonzero(self.alive)
        if len(kept) > SHRUNK * len(self.alive):
            return
        place = {int(number): at for at, number in enumerate(kept)}
        for number, column in self._columns.items():
            if number not in place:
                column.SetUb(0)
        self._columns = {place[n]: each for n, each in self._columns.items() if n in place}
        self._here = {place[n]: much for n, much in self._here.items() if n in place}
        self.near, self._matrix = self.near.only(self.alive), self._matrix[kept]
        self._cost, self.alive = self._cost.only(kept), np.ones(len(kept), dtype=np.bool_)

    def _solved(self) -> bool:
        """Solve it over all trajectories, and leave out what is dear; whether there was time."""
        while not self._watch.over() and self._solver.Solve() == pywraplp.Solver.OPTIMAL:
            self._watch.spend(
                EFFORT_PER_STEP * (self._solver.iterations() + 10)
                + EFFORT_PER_ENTRY * self._matrix.size
            )
            prices = np.array([row.price() for row in self._rows], dtype=np.float64)
            self._make_dual(prices)
            classes = slice(self._first_class, self._first_class + len(self._knobs))
            limits, prices[classes] = -prices[classes], 0
            worth = self._matrix @ prices - QUANTUM * self._cost.prices
            self._leave_out(worth, int(prices @ np.array([row.side for row in self._rows])))
            over = np.where(self.alive, worth - limits[self.near.class_of], -np.inf)
            best = np.argsort(-over, kind="stable")[:MOST_ADDED]
            slack = len(self._rows) + 1
            new = [n for n in map(int, best) if over[n] > slack and n not in self._columns]
            if not new:
                told = ((n, each.solution_value()) for n, each in self._columns.items())
                self._here = {n: much for n, much in told if much > SOME}
                return True
            for each in new:
                self._add_column(each)
        return False

    def _make_dual(self, prices: Each) -> None:
        """Let no term be worth more than it costs."""
        for at, terms in [*self._held.items(), (None, self._terms)]:
            cap = QUANTUM if at is None else -prices[at]
            for term in terms:
                for row in term.rows:
                    over = sum(prices[each] for each in term.rows) - cap
                    prices[row] -= max(0, min(over, prices[row]))

    def _leave_out(self, worth: Matrix, fixed: int) -> None:
        """Leave out what is worth less than the most by more than there is to the limit."""
        class_of, most = self.near.class_of, np.zeros(len(self._knobs))
        for number, count in enumerate(self._knobs):
            own = worth[self.alive & (class_of == number)]
            most[number] = max(0.0, own.max(initial=0.0))
            fixed -= count * int(most[number])
        gap = QUANTUM * (self._limit - self._cost.constant) - fixed
        self.bound = max(self.bound, self._cost.constant - (-fixed // QUANTUM))
        self.alive &= most[class_of] - worth <= gap

    def _cut(self) -> bool:
        """Add the cuts that are broken most; whether there are any."""
        if self._matrix.size > MOST_ENTRIES:
            return False
        carries = self.near.carries[list(self._here)].astype(np.float64)
        every = _broken(carries, np.array(list(self._here.values())))
        broken = (each for each in every if each not in self._triples)
        new = list(islice(broken, MOST_CUTS))
        if new:
            self._triples.update(new)
            twice = [self.near.carries[:, triple].sum(axis=1) >= 2 for triple in new]
            self._add_rows(np.stack(twice, axis=1), [None] * len(new), [1] * len(new))
        return bool(new)


def _broken(carries: Matrix, here: Each) -> list[tuple[int, int, int]]:
    """Three atoms of which more than one trajectory has two or three, the most first.

    Args:
        carries: (T, A) whether a trajectory has an atom.
        here: (T,) how much of it there is.
    """
    found: list[tuple[float, tuple[int, int, int]]] = []
    both = (carries * here[:, None]).T @ carries
    for atom in range(carries.shape[1]):
        own = carries * carries[:, [atom]]
        all_three = (own * here[:, None]).T @ carries
        twice = both[atom][:, None] + both[atom][None, :] + both - 2 * all_three
        twice[: atom + 1] = 0
        twice = np.triu(twice, 1)
        for place in np.argsort(-twice, axis=None, kind="stable")[:5]:
            one, other = divmod(int(place), len(twice))
            if twice[one, other] > 1 + BROKEN:
                found.append((float(twice[one, other]), (atom, one, other)))
    return [triple for _, triple in sorted(found, key=lambda each: (-each[0], each[1]))]
