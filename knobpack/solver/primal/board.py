"""A placement that is changed move by move: what may be where, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.primal.set_prices import SetPrices

NOWHERE = -1
Change: TypeAlias = tuple[int, int]
"""An atom, and the knob that it goes to, or :data:`NOWHERE`."""

Trial: TypeAlias = tuple[int, dict[int, list[int]]]
"""How much dearer it would be, and what would be on each knob that changes: its atoms, how many
items they have, the sum of their ``adds``, and what it costs."""


def items_on(problem: Problem, knob_of: Sequence[int]) -> dict[int, int]:
    """The knob of each item that is placed, from that of each atom."""
    pairs = zip(problem.atoms, knob_of, strict=True)
    return {item: knob for atom, knob in pairs if knob != NOWHERE for item in bits(atom.items)}


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
        self._clashes, self._most = problem.clashes, problem.per_knob
        self._least_out = sum(self.sizes) - problem.routes
        every = {atom.knobs: frozenset(bits(atom.knobs)) for atom in problem.atoms}
        anywhere = {knobs: own | {NOWHERE} for knobs, own in every.items()}
        self._open_to = [(every if a.needed else anywhere)[a.knobs] for a in problem.atoms]
        self.set_to([start.get(next(bits(atom.items)), NOWHERE) for atom in problem.atoms])

    def set_to(self, knob_of: Sequence[int]) -> None:
        """Put every atom where a list says, which must meet every demand."""
        self.knob = list(knob_of)
        # What is left out stands last, where NOWHERE finds it.
        places = self.problem.knobs + 1
        self.on, self.load, self._sums = [0] * places, [0] * places, [0] * places
        for number, knob in enumerate(knob_of):
            self.on[knob] |= 1 << number
            self.load[knob] += self.sizes[number]
            self._sums[knob] += self.prices.adds[number]
        whole = zip(self.sets, self.load, self._sums, strict=False)
        of = self.prices.of
        self._costs = [of(atoms, knob, *rest) for knob, (atoms, *rest) in enumerate(whole)]
        self._costs.append(0)  # what is left out is counted where it leaves
        self.value = sum(self._costs) + sum(self.leaving[n] for n in bits(self.on[NOWHERE]))

    @property
    def sets(self) -> list[int]:
        """The mask of the atoms on each knob."""
        return self.on[:NOWHERE]

    @property
    def room(self) -> int:
        """How many items more may be placed."""
        return self.load[NOWHERE] - self._least_out

    @property
    def knobs(self) -> dict[int, int]:
        """The knob of each item that is placed."""
        return items_on(self.problem, self.knob)

    def cheapest(self, number: int, knobs: Iterable[int]) -> tuple[int, int] | None:
        """The knob on which an atom costs least, and by how much it is dearer there than here.

        Args:
            number: the atom.
            knobs: those that are looked at; where it is, and what does not take it, is passed over.
        """
        own, was, size = 1 << number, self.knob[number], self.sizes[number]
        adds = self.prices.adds[number]
        on, load, sums, costs, price = self.on, self.load, self._sums, self._costs, self.prices.of
        away, room = self.leaving[number], self._most - size
        if was != NOWHERE:
            without = price(on[was] ^ own, was, load[was] - size, sums[was] - adds)
            away = costs[was] - without
        elif size > self.room:
            return None
        found = [
            (price(on[knob] | own, knob, load[knob] + size, sums[knob] + adds) - costs[knob], knob)
            for knob in knobs
            if knob != was and not self._clashes[number] & on[knob] and load[knob] <= room
        ]
        dearer, knob = min(found, default=(0, NOWHERE))
        return None if knob == NOWHERE else (dearer - away, knob)

    def tried(self, changes: Sequence[Change]) -> Trial | None:
        """What would come of some changes; None where they are not within the demands."""
        knob_of, on, load, sums = self.knob, self.on, self.load, self._sums
        open_to, sizes, adds, leaving = self._open_to, self.sizes, self.prices.adds, self.leaving
        after: dict[int, list[int]] = {}
        dearer = 0
        for number, to in changes:
            was, bit, size, own = knob_of[number], 1 << number, sizes[number], adds[number]
            if to not in open_to[number]:
                return None
            dearer += leaving[number] * ((to == NOWHERE) - (was == NOWHERE))
            here = after.get(was)
            if here is None:
                here = after[was] = [on[was], load[was], sums[was]]
            here[0] ^= bit
            here[1] -= size
            here[2] -= own
            here = after.get(to)
            if here is None:
                here = after[to] = [on[to], load[to], sums[to]]
            here[0] ^= bit
            here[1] += size
            here[2] += own
        clashes, most = self._clashes, self._most
        for number, to in changes:
            if to != NOWHERE and (clashes[number] & after[to][0] or after[to][1] > most):
                return None
        if NOWHERE in after and after[NOWHERE][1] < self._least_out:
            return None
        price, costs = self.prices.of, self._costs
        for knob, here in after.items():
            cost = 0 if knob == NOWHERE else price(here[0], knob, here[1], here[2])
            here.append(cost)
            dearer += cost - costs[knob]
        return dearer, after

    def make(self, changes: Sequence[Change], trial: Trial) -> None:
        """Make changes that were tried."""
        dearer, after = trial
        for number, to in changes:
            self.knob[number] = to
        for knob, here in after.items():
            self.on[knob], self.load[knob], self._sums[knob], self._costs[knob] = here
        self.value += dearer

    def go(self, number: int, knob: int) -> None:
        """Put an atom on a knob that takes it."""
        changes = ((number, knob),)
        trial = self.tried(changes)
        if trial is not None:
            self.make(changes, trial)
