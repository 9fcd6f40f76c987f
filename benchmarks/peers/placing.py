"""Where on the panel the sets of a layout go: the tiers *change* and *layout* of a partition.

The sets stay as they are. An assignment problem (scipy) gives the start, where runs and the order
of sources do not count; then sets change places, now and then for the worse, until the time is up.
"""

from __future__ import annotations

import math
import random

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]

from benchmarks.peers.answer import Clock
from benchmarks.peers.costs import Costs
from benchmarks.peers.state import NOWHERE
from benchmarks.peers.values import out_of_sequence

CHANGED = 10**7
"""What a point of the tier *change* weighs in points of *layout*, which comes after it."""

FORBIDDEN = 10**16
HOT, COLD = 600.0, 1.0
"""Temperatures at the ends of a cooling, in points of the tier *layout*."""

FIRST_ROUND = 200
"""Moves for each knob in the first cooling; each cooling after it is twice as long."""


def placed_well(costs: Costs, knob_of: list[int], clock: Clock) -> list[int]:
    """Put each set of units on the knob where it does best, within the time.

    Args:
        costs: the request and its tables.
        knob_of: the knob of each unit in a layout that meets every demand; -1: none.
        clock: when to stop; with no time left the assignment alone is done.

    Returns:
        The knob of each unit in a layout with the same sets, no worse in the last two tiers.
    """
    if not costs.shape.knob_count:
        return knob_of
    places = _Places(costs, knob_of)
    places.assign()
    places.anneal(clock)
    at = {old: new for new, old in enumerate(places.best)}
    return [NOWHERE if knob == NOWHERE else at[knob] for knob in knob_of]


class _Places:
    """A permutation: ``order[knob]`` is the set, named by its first knob, that is on it now."""

    def __init__(self, costs: Costs, knob_of: list[int]) -> None:
        self.costs, shape = costs, costs.shape
        count = shape.knob_count
        self.sets: list[list[int]] = [[] for _ in range(count)]
        for unit, knob in enumerate(knob_of):
            if knob != NOWHERE:
                self.sets[knob].append(unit)
        self.order = list(range(count))
        self.linear = self._linear()
        self.words: list[set[int]] = [set() for _ in range(count)]
        self.weights = [word.weight for word in costs.words]
        for at, word in enumerate(costs.words):
            for each in word.members:
                knob = knob_of[shape.unit_of[each]]
                if knob != NOWHERE:
                    self.words[knob].add(at)
        self.knob_of_set = list(self.order)
        set_of = [knob_of[unit] for unit in shape.unit_of]
        self.sequence = [
            (set_of[one], set_of[other])
            for one, other in costs.sequence
            if NOWHERE not in (set_of[one], set_of[other]) and set_of[one] != set_of[other]
        ]
        self.pairs_of: list[list[int]] = [[] for _ in range(count)]
        for at, pair in enumerate(self.sequence):
            for each in pair:
                self.pairs_of[each].append(at)
        self.value = self._whole()
        self.best, self.best_value = list(self.order), self.value

    def _linear(self) -> list[list[int]]:
        """What each set costs on each knob, runs and order aside."""
        costs, shape = self.costs, self.costs.shape
        kept = set(costs.missed_kept)
        found = []
        for home, units in enumerate(self.sets):
            inner = [each for unit in units for each in shape.units[unit]]
            row = [
                sum(costs.places[each][knob] for each in inner) for knob in range(len(self.sets))
            ]
            for knob in range(len(row)):
                row[knob] += CHANGED * costs.changed(knob, set(inner)) if inner else 0
            allowed = set(range(len(row))).intersection(*(shape.open[unit] for unit in units))
            # A knob whose travel is kept prices a set differently, so nothing comes or goes.
            allowed = {home} if home in kept else allowed - kept
            found.append([v if k in allowed else FORBIDDEN for k, v in enumerate(row)])
        return found

    def _runs(self, word: int) -> int:
        runs, before = 0, False
        for knob, beside in enumerate(self.costs.beside):
            here = word in self.words[self.order[knob]]
            runs += here and not (before and beside)
            before = here
        return self.weights[word] * max(0, runs - 1)

    def _apart(self, pair: int) -> int:
        one, other = (self.knob_of_set[each] for each in self.sequence[pair])
        return self.costs.shape.request.weights.sequence * out_of_sequence(self.costs, one, other)

    def _put(self, order: list[int]) -> None:
        self.order = order
        for knob, each in enumerate(order):
            self.knob_of_set[each] = knob

    def _whole(self) -> int:
        linear = sum(self.linear[each][knob] for knob, each in enumerate(self.order))
        linear += sum(map(self._apart, range(len(self.sequence))))
        return linear + sum(map(self._runs, range(len(self.weights))))

    def assign(self) -> None:
        """Start from the best assignment where runs do not count, if that is better."""
        table: NDArray[np.float64] = np.array(self.linear, dtype=np.float64)
        rows, columns = linear_sum_assignment(table)
        before = self.order
        pairs = sorted(zip(columns.tolist(), rows.tolist(), strict=True))
        self._put([each for _, each in pairs])
        self.value = self._whole()
        if self.value < self.best_value:
            self.best, self.best_value = list(self.order), self.value
        else:
            self._put(before)
            self.value = self.best_value

    def anneal(self, clock: Clock) -> None:
        """Let sets change places until the time is up."""
        count, draw = len(self.order), random.Random(1)  # noqa: S311 (no secret)
        moves = FIRST_ROUND * count
        while clock.left > 0 and count > 1:
            temperature, step = HOT, math.exp(math.log(COLD / HOT) / moves)
            for done in range(moves):
                if done % 64 == 0 and clock.left <= 0:
                    return
                temperature *= step
                one, other = draw.sample(range(count), 2)
                self._swap(one, other, temperature, draw)
            self._put(list(self.best))
            self.value = self.best_value
            moves *= 2

    def _swap(self, one: int, other: int, temperature: float, draw: random.Random) -> None:
        order = self.order
        first, second = order[one], order[other]
        linear = self.linear[first][other] + self.linear[second][one]
        linear -= self.linear[first][one] + self.linear[second][other]
        if linear >= FORBIDDEN // 2:
            return
        touched = self.words[first] ^ self.words[second]
        pairs = {*self.pairs_of[first], *self.pairs_of[second]}
        before = sum(map(self._runs, touched)) + sum(map(self._apart, pairs))
        self._exchange(one, other)
        after = sum(map(self._runs, touched)) + sum(map(self._apart, pairs))
        dearer = linear + after - before
        if dearer > 0 and draw.random() >= math.exp(-min(700.0, dearer / temperature)):
            self._exchange(one, other)
            return
        self.value += dearer
        if self.value < self.best_value:
            self.best, self.best_value = list(order), self.value

    def _exchange(self, one: int, other: int) -> None:
        order = self.order
        order[one], order[other] = order[other], order[one]
        self.knob_of_set[order[one]], self.knob_of_set[order[other]] = one, other
