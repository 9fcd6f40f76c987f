"""The cheapest sets at given prices, by a knapsack with set-up costs: a heap of loads seen exactly.

Atoms are gone through one by one, in an order in which few groups are under way at a time: begun,
and not yet through. What is known of a set on the way is which of those it touches, and how many
loads it still takes. That is a dynamic programme over a frontier, exact but for limits on a knob
(as for graphs of small pathwidth: Bodlaender 1988, from memory). Its costs-to-go also list every
set within a limit, and nothing else is grown on the way. Where there is too much to know, groups
are shared out among their atoms, and what entangles too many is left out: bounds are lower then.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import bits
from knobpack.solver.column_generation.frontiers import (
    FAR,
    Step,
    TooManyFrontiersError,
    order_of,
    steps_of,
)
from knobpack.solver.column_generation.lagrangian_bound import LagrangianBound
from knobpack.solver.column_generation.terms import SetMasks, Terms
from knobpack.solver.costs import QUANTUM, Whole
from knobpack.solver.watch import Watch

MOST_LOADS = 16
"""So many loads on a knob, at most, are told apart."""

MOST_NUMBERS, LEAST_ROUNDS = 100_000_000, 12
"""Costs-to-go of all atoms and rows, at most: so many that they can be found so often at least."""

MOST_AT_ONCE = 10_000_000
"""Costs-to-go that are held at a time, at most, unless those of one row are more."""

MOST_STATES = 300_000
"""Sets on the way at one time, at most, where sets are listed."""

EFFORT_PER_STATE = 5e-8
"""Effort that going on with such a set by one atom counts as: about what it takes in seconds."""

EFFORT_PER_NUMBER = 6e-9
"""Effort that a cost-to-go counts as: about what it takes in seconds."""

_EFFORT_PER_STEP = 1e-4
"""Effort that finding out what there is to know at an atom counts as: the same."""

EFFORT_PER_ORDERED = 4e-7
"""Effort that putting an atom in order, beside each other atom and group, counts as: the same."""


PackedSets: TypeAlias = NDArray[np.uint8]
"""Sets, a row each, written in bytes."""


class TooManySetsError(Exception):
    """There are too many sets within the limit. Never leaves the solver."""


def knapsack_of(terms: Terms, watch: Watch, loads: int = MOST_LOADS) -> Knapsack:
    """What prices the sets of a family, as exactly as is not too much to go through.

    Args:
        terms: the family's costs.
        watch: what is told of the effort; once it is over, what is quick to go through will do.
        loads: so many on a knob are told apart; the heap of more is seen by a tangent.
    """
    return _narrowed(terms, watch, loads) or Knapsack(_by_atoms(terms), loads)


def _narrowed(terms: Terms, watch: Watch, loads: int) -> Knapsack | None:
    """The knapsack with groups shared out; None where what else there is alone is too much."""
    order, rows = order_of(terms), len(terms.own) * (1 + len(terms.pins))
    watch.spend(EFFORT_PER_ORDERED * terms.count * (terms.count + len(terms.groups)))
    numbers = min(MOST_NUMBERS, watch.effort / (LEAST_ROUNDS * EFFORT_PER_NUMBER))
    most = int(numbers / (2 * rows * (1 + min(loads, MOST_LOADS))))
    while not watch.over():
        watch.spend(_EFFORT_PER_STEP * terms.count)
        try:
            return Knapsack(terms, loads, steps_of(terms, order, most))
        except TooManyFrontiersError as error:
            before = sum(1 << place for place in order[: error.widest])
            under_way = (terms.groups & before != 0) & (terms.groups & ~before != 0)
            sizes = terms.holds(terms.groups).sum(axis=1)
            # The least that is lost, about, of what is to be known there.
            lost = np.where(under_way, np.abs(terms.weights) * (sizes - 1), np.inf)
        if not under_way.any():
            break
        terms = _shared_out(terms, int(lost.argmin()))
    return None


def _by_atoms(terms: Terms) -> Terms:
    """The same with all groups shared out, no heap of loads, no pairs, and nothing that clashes."""
    while len(terms.groups):
        terms = _shared_out(terms, 0)
    return attrs.evolve(terms, heap=0, pairs=(), clashes=(0,) * terms.count)


def _shared_out(terms: Terms, at: int) -> Terms:
    """The same, with a group that each of its atoms pays its share of: no set costs more.

    What a group gives back, every set gets.
    """
    own, group, weight = terms.own.copy(), int(terms.groups[at]), int(terms.weights[at])
    own[:, list(bits(group))] += max(0, weight) // group.bit_count()
    left = np.arange(len(terms.groups)) != at
    base, groups, weights = terms.base + min(0, weight), terms.groups[left], terms.weights[left]
    return attrs.evolve(terms, base=base, own=own, groups=groups, weights=weights)


class Knapsack:
    """The cheapest sets of a family, at any prices.

    Args:
        terms: the family's costs.
        loads: how many on a knob are told apart, at most.
        steps: its atoms as they are gone through; None: all that there is to know is found out.

    Attributes:
        numbers: how many costs-to-go there are of a row.
        effort: what finding the cheapest sets takes.

    Sets are gone through for each pin, and none, and each travel: these are the *rows* (R).
    """

    def __init__(
        self, terms: Terms, loads: int = MOST_LOADS, steps: Sequence[Step] | None = None
    ) -> None:
        self.terms = terms
        kept = set(terms.kept.values())
        rows = [
            (pin, travel)
            for pin in (-1, *terms.pins)
            for travel in range(len(terms.own))
            if terms.kept.get(pin, travel) == travel and (travel in kept) == (pin in terms.kept)
        ]
        self.pin, self.travel = np.array(rows, dtype=np.int64).reshape(-1, 2).T
        places = np.arange(terms.count)
        others = (terms.pinned >> places & 1).astype(bool)
        self.must: NDArray[np.bool_] = self.pin[:, None] == places
        self.may: NDArray[np.bool_] = self.must | ~others
        self.wishes = terms.wishes[self.travel]
        self.wished = np.isin(self.travel, list(kept)).astype(np.int64)
        self.most = min(loads, MOST_LOADS, len(terms.load_masks)) if terms.heap else 1
        over = np.maximum(0, np.arange(self.most + 1) - 1)
        self.begin = QUANTUM * (terms.base + terms.heap * (over * (over - 1) // 2))
        self.begin[0] = FAR
        self.slope = QUANTUM * terms.heap * max(0, self.most - 1)
        self.steps = steps or steps_of(terms, order_of(terms), FAR)
        self.frontiers = 1 + sum(len(step.fee) for step in self.steps)
        self.numbers = 2 * self.frontiers * (self.most + 1)
        self.effort = EFFORT_PER_NUMBER * self.numbers * len(rows)

    def found(self, prices: Whole, watch: Watch) -> tuple[LagrangianBound, SetMasks]:
        """The bound at some prices, and sets that are cheap there.

        Where an atom can not be put into a set, what comes of trying may be empty: it is left out.

        Args:
            prices: (m,) what each atom is worth, in 1024ths.
            watch: what is told of the effort.
        """
        walks = [(walk.total.min(axis=1), walk.cheap()) for walk in self._walks(prices, watch)]
        rows, sets = zip(*walks, strict=True) if walks else ((self.pin,), (self.terms.sets(()),))
        least, found = np.concatenate(rows), np.unique(np.concatenate(sets))
        pins = {pin: int(least[self.pin == pin].min()) for pin in self.terms.pins}
        free = least[self.pin < 0]
        knob = int(free.min()) if len(free) else 0
        line = LagrangianBound(prices, int(prices.sum()) + sum(pins.values()), knob, pins)
        return line, found[found != 0]

    def lists(self, line: LagrangianBound, slack: int, watch: Watch) -> SetMasks:
        """Every valid set whose reduced cost is above what a knob adds by no more than ``slack``.

        Some that are not valid, or cost more, may be among them.

        Raises:
            TooManySetsError: there are too many.
        """
        limits = line.floors(self.pin) + slack
        walks = self._walks(line.prices, watch)
        sets = [walk.within(limits[walk.rows], watch) for walk in walks]
        return np.unique(np.concatenate([self.terms.sets(()), *sets]))

    def _walks(self, prices: Whole, watch: Watch) -> Iterator[_Walk]:
        """The costs-to-go of all rows, a few at a time, so that they find room."""
        rows, each = np.arange(len(self.pin)), max(1, MOST_AT_ONCE // self.numbers)
        for at in range(0, len(rows), each):
            own = rows[at : at + each]
            watch.spend(EFFORT_PER_NUMBER * self.numbers * len(own))
            yield _Walk(self, prices, own)


class _Walk:
    """The costs-to-go at some prices.

    Args:
        knapsack: of what.
        prices: (m,) what each atom is worth, in 1024ths.
        rows: (R,) the rows that are gone through.

    Attributes:
        total: (R, loads + 1) what the cheapest set of each row with so many loads costs; the last
            is that of as many or more. FAR or about as much where there is none.

    ``_togo[n]`` is (F, 2, loads + 1, R): what the atoms from the n-th on cost at least for each
    frontier, where none or one in the set wants the travel and so many loads are still to come.
    """

    def __init__(self, knapsack: Knapsack, prices: Whole, rows: Whole) -> None:
        self._of, self.rows, most = knapsack, rows, knapsack.most
        adds = QUANTUM * knapsack.terms.own[knapsack.travel[rows]] - prices
        self._adds = np.where(knapsack.may[rows], adds, FAR)
        self._must, self._wishes = knapsack.must[rows], knapsack.wishes[rows]
        self._wished = knapsack.wished[rows]
        togo = np.full((1, 2, most + 1, len(rows)), FAR, dtype=np.int64)
        togo[:, 1, 0] = 0
        self._togo = [togo]
        for step in reversed(knapsack.steps):
            after = togo[step.taken]
            np.copyto(after[:, 0], after[:, 1], where=self._wishes[:, step.place])
            taken = np.full_like(after, FAR)
            for loads in set(step.loads.tolist()):
                own = step.loads == loads
                taken[own, :, loads:] = after[own, :, : max(0, most + 1 - loads)]
                for more in range(max(1, loads - most), loads + 1):
                    end = after[own, :, most - loads + more] + more * knapsack.slope
                    taken[own, :, most] = np.minimum(taken[own, :, most], end)
            taken += (step.fee[:, None] + self._adds[:, step.place])[:, None, None]
            togo = togo[step.left]
            togo[..., self._must[:, step.place]] = FAR
            togo = np.minimum(togo, taken, out=taken)
            self._togo.append(togo)
        self._togo.reverse()
        start = self._togo[0][0, self._wished, :, np.arange(len(rows))]
        self.total: Whole = np.minimum(FAR, start + knapsack.begin)

    def _ways(self, at: int, row: Whole, state: Sequence[Whole]) -> Iterable[tuple[Whole, ...]]:
        """What there is to do with the n-th atom: leave it out, or take it.

        Args:
            at: n.
            row: (n,) rows.
            state: (n,) three times: the frontier, whether the travel is wanted, the loads to come.

        Yields:
            (n,) what it costs from here on at least, and the state after it, as three.
        """
        knapsack, step, after = self._of, self._of.steps[at], self._togo[at + 1]
        frontier, wished, left = state
        to = step.left[frontier]
        must = self._must[row, step.place]
        yield np.where(must, FAR, after[to, wished, left, row]), to, wished, left
        to, then = step.taken[frontier], wished | self._wishes[row, step.place]
        cost = self._adds[row, step.place] + step.fee[frontier]
        loads = step.loads[frontier]
        for more in range(int(step.loads.max()) + 1):
            # The last number of loads stands for more as well: some of them may be beyond it.
            less = left - loads + more
            there = (less >= 0) & ((more == 0) | ((left == knapsack.most) & (more <= loads)))
            less = np.where(there, less, 0)
            rest = after[to, then, less, row] + more * knapsack.slope
            yield np.where(there, np.minimum(FAR, cost + rest), FAR), to, then, less

    def cheap(self) -> SetMasks:
        """The cheapest set of each row with each number of loads, and more besides.

        That is the cheapest of all once more with each atom in it: the more sorts of sets the
        linear programme knows, the fewer rounds it takes.
        """
        row, load = np.nonzero(self.total < FAR // 2)
        places = np.arange(self._of.terms.count * bool(len(row)))
        cell = np.full_like(places, self.total[row, load].argmin() if len(row) else 0)
        inside = np.append(np.full_like(row, -1), places)
        return self.cheapest(np.append(row, row[cell]), np.append(load, load[cell]), inside)

    def cheapest(self, row: Whole, load: Whole, inside: Whole) -> SetMasks:
        """(n,) the cheapest set of each row with so many loads, but that an atom is put inside.

        That atom is a place, or -1 for none. What comes before it is chosen as if it were not.
        """
        sets = self._empty(len(row))
        state = [np.zeros_like(row), self._wished[row], load]
        for at, step in enumerate(self._of.steps):
            ways = np.array(list(self._ways(at, row, state)))
            ways[0, 0, inside == step.place] = 2 * FAR
            best = ways[:, 0].argmin(axis=0)
            _put(sets, step.place, best > 0)
            state = list(ways[best, 1:, np.arange(len(row))].T)
        return self._of.terms.read(sets)

    def within(self, limits: Whole, watch: Watch) -> SetMasks:
        """Every set of a row that costs no more than its limit, (R,), limits on a knob not seen.

        Raises:
            TooManySetsError: there are too many.
        """
        room = limits[:, None] - self.total
        row, load = np.nonzero((room >= 0) & (self.total < FAR // 2))
        spare, sets = room[row, load], self._empty(len(row))
        state = [np.zeros_like(row), self._wished[row], load]
        for at, step in enumerate(self._of.steps):
            watch.spend(EFFORT_PER_STATE * len(sets))
            ways = np.array(list(self._ways(at, row, state)))
            wastes = ways[:, 0] - ways[:, 0].min(axis=0)
            way, own = np.nonzero(wastes <= spare)
            if len(own) > MOST_STATES:
                raise TooManySetsError
            sets = sets[own]
            _put(sets, step.place, way > 0)
            row, spare = row[own], spare[own] - wastes[way, own]
            state = list(ways[way, 1:, own].T)
        return np.unique(self._of.terms.read(sets))

    def _empty(self, count: int) -> PackedSets:
        """So many sets, written, with nothing in them yet."""
        return np.zeros((count, self._of.terms.width), dtype=np.uint8)


def _put(sets: PackedSets, place: int, where: NDArray[np.bool_]) -> None:
    """Put an atom into some of the sets that are written."""
    sets[where, place // 8] |= np.uint8(1 << place % 8)
