"""A placement that is changed move by move: what may be where, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.primal.set_prices import SetPrices

NOWHERE = -1
Change = tuple[int, int]
"""An atom, and the knob that it goes to, or :data:`NOWHERE`."""


class Board:
    """Which atom is on which knob, always within the demands.

    Args:
        problem: what to place.
        start: the knob of each item in a placement that meets every demand.
    """

    def __init__(self, problem: Problem, start: Mapping[int, int]) -> None:
        self.problem = problem
        self.prices = SetPrices(problem)
        self.sizes = [atom.size for atom in problem.atoms]
        self.leaving = [self.prices.leaving(number) for number in range(len(problem.atoms))]
        self._admitted = [atom.knobs for atom in problem.atoms]
        self._needed = [atom.needed for atom in problem.atoms]
        self._clashes = problem.clashes
        self._undo: list[Change] = []
        self._costs_before: list[tuple[int, int]] = []
        self.set_to([start.get(next(bits(atom.items)), NOWHERE) for atom in problem.atoms])

    def set_to(self, knob_of: Sequence[int]) -> None:
        """Put every atom where a list says, which must meet every demand."""
        problem = self.problem
        self.knob = [NOWHERE] * len(knob_of)
        self.on = [0] * problem.knobs
        self.load = [0] * problem.knobs
        self._sums = [0] * problem.knobs
        self.routes = 0
        self._put(enumerate(knob_of))
        self._costs = [self._price(knob) for knob in range(problem.knobs)]
        out = (price for price, at in zip(self.leaving, knob_of, strict=True) if at == NOWHERE)
        self.value = sum(self._costs) + sum(out)

    def tried(self, changes: Sequence[Change]) -> int | None:
        """Make the changes; by how much they make it dearer, or None and nothing is changed."""
        if not self._may(changes):
            return None
        knob_of, costs, leaving = self.knob, self._costs, self.leaving
        touched, dearer, undo = set(), 0, []
        for number, to in changes:
            was = knob_of[number]
            undo.append((number, was))
            if was == NOWHERE:
                dearer -= leaving[number]
            else:
                touched.add(was)
            if to == NOWHERE:
                dearer += leaving[number]
            else:
                touched.add(to)
        self._put(changes)
        if not self._holds(changes):
            self._put(undo)
            return None
        before = []
        for knob in touched:
            was, now = costs[knob], self._price(knob)
            before.append((knob, was))
            costs[knob] = now
            dearer += now - was
        self._undo, self._costs_before = undo, before
        self.value += dearer
        return dearer

    def take_back(self, dearer: int) -> None:
        """Undo the changes made last, which made it dearer by so much."""
        self._put(self._undo)
        for knob, cost in self._costs_before:
            self._costs[knob] = cost
        self.value -= dearer

    def _price(self, knob: int) -> int:
        return self.prices.of(self.on[knob], knob, self.load[knob], self._sums[knob])

    def _may(self, changes: Sequence[Change]) -> bool:
        """Whether what goes somewhere gets along with what stays there."""
        moving = 0
        for number, _ in changes:
            moving |= 1 << number
        on, clashes, admitted, needed = self.on, self._clashes, self._admitted, self._needed
        for number, to in changes:
            if to == NOWHERE:
                if needed[number]:
                    return False
            elif not admitted[number] >> to & 1 or clashes[number] & on[to] & ~moving:
                return False
        return True

    def _holds(self, changes: Sequence[Change]) -> bool:
        """Whether what has been put somewhere gets along, and there is room for it."""
        on, clashes, load, most = self.on, self._clashes, self.load, self.problem.per_knob
        for number, knob in changes:
            if knob != NOWHERE and (clashes[number] & on[knob] or load[knob] > most):
                return False
        return self.routes <= self.problem.routes

    def _put(self, changes: Iterable[Change]) -> None:
        knob_of, on, load = self.knob, self.on, self.load
        sums, adds = self._sums, self.prices.adds
        for number, to in changes:
            was, size = knob_of[number], self.sizes[number]
            if was != NOWHERE:
                on[was] ^= 1 << number
                load[was] -= size
                sums[was] -= adds[number]
                self.routes -= size
            knob_of[number] = to
            if to != NOWHERE:
                on[to] ^= 1 << number
                load[to] += size
                sums[to] += adds[number]
                self.routes += size
