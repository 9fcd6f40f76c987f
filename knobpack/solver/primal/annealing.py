"""Simulated annealing over placements: a good one soon, and better ones as long as there is effort.

A move takes atoms from knob to knob, within every demand, and is made if it makes the placement no
dearer, or by a chance that falls with what it costs and with the temperature (Kirkpatrick, Gelatt,
Vecchi 1983, "Optimization by simulated annealing", from memory). The tiers are one whole number;
each has a temperature of its own, and the first that a move changes decides. Moves that cost
nothing are always made, to walk off plateaus. The work is counted in moves, so that the same effort
gives the same answer everywhere.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.primal.board import NOWHERE, Board, items_on
from knobpack.solver.primal.moves import Moves
from knobpack.solver.value_functions.scale import Scale
from knobpack.solver.watch import Watch

HOT, COLD = 500.0, 20.0
"""Temperatures at the ends of a cooling, in points of sharing."""

EARLIER = 1.5
"""With which power of the temperature the earlier tiers cool down."""

WARM = 85.0
"""Below that temperature emptying a knob is hardly ever taken."""

FIRST_ROUND = 600
"""Moves for each atom in the first cooling; each cooling after it is twice as long."""

EFFORT_PER_MOVE = 5e-6
"""Effort that a move counts as: about what it takes in seconds."""

MANY_SNAPSHOTS = 20
"""Breakable snapshots from which on a move mostly breaks or mends several at once."""

LOOK = 256
"""Moves between two looks at the watch."""

QUICKEST = 1e-6
"""Seconds that a cooling counts as taking, at least: clocks may stand still."""


class Annealing:
    """A search that goes on from where it was.

    Args:
        problem: what to place.
        start: the knob of each item in a placement that meets every demand.
    """

    def __init__(self, problem: Problem, start: Mapping[int, int]) -> None:
        self.problem = problem
        self._board = Board(problem, start)
        self._moves = Moves(self._board)
        self._middles = _middles(problem)
        self._length = FIRST_ROUND * len(self._moves.loose)
        self._pace = EFFORT_PER_MOVE
        self.sets: set[int] = set()
        self._limit: float = math.inf
        self._best, self._best_value = list(self._board.knob), self._board.value

    @property
    def best(self) -> dict[int, int]:
        """The knob of each item in the best placement so far."""
        return items_on(self.problem, self._best)

    def start_from(self, knobs: Mapping[int, int]) -> None:
        """Go on from another placement, the knob of each item, if it is better."""
        before = list(self._board.knob)
        atoms = self.problem.atoms
        self._board.set_to([knobs.get(next(bits(atom.items)), NOWHERE) for atom in atoms])
        if self._board.value < self._best_value:
            self._best, self._best_value = list(self._board.knob), self._board.value
        else:
            self._board.set_to(before)

    def run(self, watch: Watch, met: int = 0) -> None:
        """Cool down again and again, each time twice as slowly, until the watch is over.

        Args:
            watch: says when.
            met: how many tiers, from the first on, the best placement has at their bounds. Every
                other cooling begins there and makes none of them worse.
        """
        scale = self._board.prices.scale
        firm = (math.inf, scale.unplaced, scale.bundles, scale.breaks, 1)[met]
        while self._moves.loose and not watch.over():
            left, moves = self._room(watch), self._length
            # A rest that is too short for another cooling is added to this one.
            rest = left < 3 * moves
            self._length *= 2
            self._limit = math.inf if self._limit == firm else firm
            if self._limit < math.inf:
                self._board.set_to(self._best)
            began = time.monotonic()
            done = self.cool(left if rest else moves, watch, rest=rest)
            self._pace = max(time.monotonic() - began, QUICKEST) / done

    def _room(self, watch: Watch) -> int:
        """How many moves effort and time allow, at the pace of the last cooling; 1 or more."""
        room = watch.effort / EFFORT_PER_MOVE
        return max(1, math.ceil(min(room, watch.seconds_left / self._pace)))

    def cool(self, moves: int, watch: Watch, hot: float = HOT, *, rest: bool = False) -> int:
        """Cool down once, over so many moves, or faster if effort or deadline are too near.

        Args:
            moves: how many.
            watch: says what is left.
            hot: the temperature to begin with.
            rest: whether it is to take all the time there is until the deadline, if there is one.

        Returns:
            How many moves were made, 1 or more.
        """
        if not self._moves.loose:
            return 1
        most = max(1, math.ceil(watch.effort / EFFORT_PER_MOVE))
        end = min(moves, most)
        done = self._cooled(end, most if rest else end, watch, hot)
        watch.spend(done * EFFORT_PER_MOVE)
        return done

    def _cooled(self, end: int, most: int, watch: Watch, hot: float) -> int:
        temperature, began, done = hot, time.monotonic(), 0
        while done < end:
            if done % LOOK == 0:
                if watch.over():
                    break
                if done and watch.deadline is not None:
                    pace = max(time.monotonic() - began, QUICKEST) / done
                    room = done + max(1, int(watch.seconds_left / pace))
                    end = min(room, most)
                step = math.exp(math.log(COLD / temperature) / (end - done))
            temperature = max(COLD, temperature * step)
            self._move(temperature)
            done += 1
        return max(1, done)

    def _move(self, temperature: float) -> None:
        board = self._board
        changes = self._moves.drawn(small=temperature < WARM)
        trial = board.tried(changes) if changes else None
        if trial is None:
            return
        dearer = trial[0]
        if dearer > 0 and (2 * dearer >= self._limit or not self._taken(dearer, temperature)):
            return
        board.make(changes, trial)
        if board.value < self._best_value:
            self._best_value, self._best = board.value, list(board.knob)
            self.sets.update(filter(None, board.sets))

    def _taken(self, dearer: int, temperature: float) -> bool:
        """Whether a move for the worse is made all the same."""
        scale = self._board.prices.scale
        if 2 * dearer < scale.breaks:
            heat = dearer / temperature
        else:
            # The earlier tiers cool down faster, so that what is later is settled under them.
            share = (temperature / HOT) ** EARLIER
            heat = next(
                value / (middle * share)
                for value, middle in zip(_parted(dearer, scale), self._middles, strict=True)
                if value
            )
        return heat < 700 and self._moves.random() < math.exp(-heat)


def _middles(problem: Problem) -> tuple[float, float, float, float]:
    """About what one change of each tier comes to, in its points."""
    omissions = [atom.omission for atom in problem.atoms if atom.omission] or [1]
    breaks = [weight for _, weight in problem.breakable if weight] or [1]
    broken = sum(breaks) / min(len(breaks), MANY_SNAPSHOTS)
    return sum(omissions) / len(omissions) / 2, 0.5, broken, 1.0


def _parted(difference: int, scale: Scale) -> tuple[int, int, int, int]:
    """A difference of two values, tier by tier, each as near to zero as can be."""
    found = []
    for weight in (scale.unplaced, scale.bundles, scale.breaks):
        found.append((difference + weight // 2) // weight)
        difference -= found[-1] * weight
    unplaced, bundles, breaks = found
    return unplaced, bundles, breaks, difference
