"""Cuts over near trajectories: with each more of them can be in no show as good as the best known.

Of three atoms a trajectory has two or three, or it does not; those that do share an atom with each
other, so there is one of them at most (subset-row inequalities: M. Jepsen, B. Petersen, S.
Spoorendonk, D. Pisinger, Operations Research 56, 2008, from memory). All trajectories are known, so
the linear programme is solved over few of them and the others are priced by looking at each; its
dual prices, in whole 1024ths, bound what every show with a certain trajectory costs.
"""

from __future__ import annotations

from collections.abc import Iterable

import attrs
import numpy as np
from numpy.typing import NDArray
from ortools.linear_solver import pywraplp

from knobpack.show.carrying import Carrying
from knobpack.show.near_trajectories import Trajectory
from knobpack.show.trajectory_families import QUANTUM
from knobpack.solver.watch import Watch

EFFORT_PER_STEP, EFFORT_PER_ENTRY = 2e-4, 2e-9
"""Effort that a step of the linear solver counts as, and one entry of the matrix looked through."""

ROUNDS, MOST_CUTS, MOST_ADDED = 30, 30, 100
"""Rounds of cuts, cuts that are added in each, and trajectories after each pricing, at most."""

NUDGE = 0.05
"""By how much less is to be carried, of one mean trajectory."""

FEW, SHRUNK, PATIENCE = 200, 0.95, 3
"""Trajectories that are few enough; what part is left at most of those before where a round was
worth it; and how many that were not may follow each other."""

BROKEN = 0.02
"""By how much a cut is broken at least, to be added."""

Matrix = NDArray[np.float64]


@attrs.frozen(eq=False)
class Near:
    """Trajectories, any of which may be in a show that is as good as the best known.

    Args:
        trajectories: the atoms of each.
        class_of: the class of knobs that it is for.
        carries: (T, A) whether it has an atom.
        uses: (T, S) whether it has any of a song.
        points: (T,) what all that it ever carries counts.
    """

    trajectories: tuple[Trajectory, ...]
    class_of: NDArray[np.intp]
    carries: Matrix
    uses: Matrix
    points: Matrix

    @classmethod
    def of(cls, carried: Carrying, listed: Iterable[tuple[int, Trajectory]]) -> Near:
        """Such trajectories, each with the class of knobs that it is for."""
        pairs = list(listed)
        trajectories = tuple(trajectory for _, trajectory in pairs)
        carries = np.zeros((len(pairs), len(carried.atoms)))
        for row, trajectory in zip(carries, trajectories, strict=True):
            row[list(trajectory)] = 1
        songs, ever = (
            np.zeros((len(carried.atoms), n)) for n in (len(carried.used), len(carried.weights))
        )
        for number, atom in enumerate(carried.atoms):
            songs[number, atom.song] = 1
            ever[number, list(atom.destinations)] = 1
        return cls(
            trajectories,
            np.array([number for number, _ in pairs], dtype=np.intp),
            carries,
            (carries @ songs > 0).astype(np.float64),
            (carries @ ever > 0).astype(np.float64) @ np.array(carried.weights, dtype=np.float64),
        )

    def only(self, kept: NDArray[np.bool_]) -> Near:
        """Some of them."""
        at = np.flatnonzero(kept)
        some = tuple(self.trajectories[each] for each in at)
        return Near(some, self.class_of[at], self.carries[at], self.uses[at], self.points[at])


def narrowed(carried: Carrying, near: Near, value: int, watch: Watch) -> tuple[Near, Near, int]:
    """Leave out those that can be in no show in which destinations cost no more than ``value``.

    Args:
        carried: what is to be carried.
        near: all that may be in one.
        value: that, in points.
        watch: how long the search may go on.

    Returns:
        Those that are left, those of them that came into the linear programme, and what
        destinations count on all knobs together at least, in 1024ths.
    """
    cuts = _Cuts(carried, near, value, watch)
    left, in_vain = len(cuts.alive) + 1, 0
    for _ in range(ROUNDS):
        if not cuts.solved() or cuts.bound > cuts.enough:
            break
        before, left = left, int(cuts.alive.sum())
        in_vain = 0 if left < SHRUNK * before else in_vain + 1
        if left <= FEW or in_vain > PATIENCE or not (cuts.added() or not in_vain):
            break
        cuts.towards(left)
    came = np.zeros(len(cuts.alive), dtype=np.bool_)
    came[list(cuts.columns)] = True
    return near.only(cuts.alive), near.only(cuts.alive & came), cuts.bound


class _Cuts:
    """The linear programme over some of the trajectories, and the cuts so far."""

    def __init__(self, carried: Carrying, near: Near, value: int, watch: Watch) -> None:
        self._carried, self._near, self._watch = carried, near, watch
        self.enough = QUANTUM * (value + carried.value)
        self.alive = np.ones(len(near.trajectories), dtype=np.bool_)
        self.bound = 0
        solver = self._solver = pywraplp.Solver.CreateSolver("CLP")
        infinity = solver.infinity()
        self._cover = [solver.Constraint(1, 1) for _ in carried.atoms]
        self._used = [solver.Constraint(least, infinity) for least in carried.used]
        self._knobs = [solver.Constraint(0, len(knobs)) for knobs, _ in carried.classes]
        self._cuts: dict[tuple[int, int, int], pywraplp.Constraint] = {}
        self._twice = np.zeros((len(near.trajectories), 0))
        solver.Objective().SetMinimization()
        self.columns: dict[int, pywraplp.Variable] = {}
        dear = float(1 + sum(carried.weights))
        for row in (*self._cover, *self._used):  # to begin with nothing is carried, at a price
            missing = solver.NumVar(0, infinity, "")
            row.SetCoefficient(missing, 1)
            solver.Objective().SetCoefficient(missing, dear)

    def _add_column(self, number: int) -> None:
        near = self._near
        column = self.columns[number] = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(column, float(near.points[number]))
        for atom in near.trajectories[number]:
            self._cover[atom].SetCoefficient(column, 1)
        for song in np.flatnonzero(near.uses[number]):
            self._used[song].SetCoefficient(column, 1)
        self._knobs[near.class_of[number]].SetCoefficient(column, 1)
        for cut, twice in zip(self._cuts.values(), self._twice[number], strict=True):
            if twice:
                cut.SetCoefficient(column, 1)

    def solved(self) -> bool:
        """Solve it over all trajectories, and leave out what is dear; whether there was time."""
        near = self._near
        while not self._watch.over() and self._solver.Solve() == pywraplp.Solver.OPTIMAL:
            self._watch.spend(
                EFFORT_PER_STEP * (self._solver.iterations() + 10)
                + EFFORT_PER_ENTRY * (near.carries.size + near.uses.size + self._twice.size)
            )
            worth, fixed = self._worth()
            limits = np.array([-row.dual_value() * QUANTUM for row in self._knobs])
            self._leave_out(worth, fixed)
            over = np.where(self.alive, worth - limits[near.class_of], -np.inf)
            best = np.argsort(-over, kind="stable")[:MOST_ADDED]
            new = [
                int(each)
                for each in best
                if over[each] > len(self._cover) + 1 and int(each) not in self.columns
            ]
            if not new:
                return True
            for each in new:
                self._add_column(each)
        return False

    def towards(self, left: int) -> None:
        """Let prices be, of those that bound as well, such at which many trajectories are dear.

        For that a little less is to be carried of what they carry: dual prices are then those that
        are worth least for them.

        Args:
            left: how many trajectories are left.
        """
        near, part = self._near, NUDGE / max(1, left)
        atoms = part * near.carries[self.alive].sum(axis=0)
        used = part * near.uses[self.alive].sum(axis=0)
        for row, less in zip(self._cover, atoms, strict=True):
            row.SetBounds(1 - less, 1 - less)
        for row, least, less in zip(self._used, self._carried.used, used, strict=True):
            row.SetLb(least - less)
        for number, (knobs, _) in enumerate(self._carried.classes):
            own = self.alive & (near.class_of == number)
            self._knobs[number].SetUb(len(knobs) - part * own.sum())
        for cut, twice in zip(self._cuts.values(), self._twice.T, strict=True):
            cut.SetUb(1 - part * twice[self.alive].sum())

    def _worth(self) -> tuple[Matrix, int]:
        """What each trajectory is worth, less what it costs, and what is paid whatever is chosen.

        In 1024ths, and exact: prices are whole.
        """
        near, carried = self._near, self._carried
        atoms = np.floor([QUANTUM * row.dual_value() for row in self._cover])
        used = np.floor([QUANTUM * max(0.0, row.dual_value()) for row in self._used])
        cuts = np.ceil([QUANTUM * max(0.0, -cut.dual_value()) for cut in self._cuts.values()])
        worth = near.carries @ atoms + near.uses @ used - QUANTUM * near.points
        if len(cuts):
            worth -= self._twice @ cuts
        return worth, int(atoms.sum() + used @ np.array(carried.used) - cuts.sum())

    def _leave_out(self, worth: Matrix, fixed: int) -> None:
        """Leave out what is worth less than the most by more than there is to the value known."""
        near, most = self._near, np.zeros(len(self._knobs))
        for number, (knobs, _) in enumerate(self._carried.classes):
            own = worth[self.alive & (near.class_of == number)]
            most[number] = max(0.0, own.max(initial=0.0))
            fixed -= len(knobs) * int(most[number])
        self.bound = max(self.bound, fixed)
        self.alive &= most[near.class_of] - worth <= self.enough - fixed

    def added(self) -> bool:
        """Add the cuts that are broken most; whether there are any."""
        numbers = list(self.columns)
        here = np.array([self.columns[each].solution_value() for each in numbers])
        some = np.flatnonzero(here > 1e-6)
        carries = self._near.carries[np.array(numbers)[some]]
        broken = _broken(carries, here[some])
        new = [each for each in broken if each not in self._cuts][:MOST_CUTS]
        for triple in new:
            twice = self._near.carries[:, triple].sum(axis=1) >= 2
            self._twice = np.column_stack((self._twice, twice))
            cut = self._cuts[triple] = self._solver.Constraint(-self._solver.infinity(), 1)
            for number, column in self.columns.items():
                if twice[number]:
                    cut.SetCoefficient(column, 1)
        return bool(new)


def _broken(carries: Matrix, here: Matrix) -> list[tuple[int, int, int]]:
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
