"""The value function of a large family: bounds for each number of knobs, exact where needed.

What a small family costs with every number of knobs is found by going through all subsets
(``subset_dp.py``). Here each entry is first held between a way to share and a bound, and is made
exact only if the division of knobs can use it. Nothing is broken, and the family is placed whole or
left out whole: what is best where only a part of it can be placed is not known.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence

import numpy as np

from knobpack.solver.column_generation.agglomeration import Way, merged
from knobpack.solver.column_generation.knapsack_pricing import (
    MOST_LOADS,
    TooManySetsError,
    knapsack_of,
)
from knobpack.solver.column_generation.lagrangian_bound import (
    BoundTable,
    LagrangianBound,
    worth_of,
)
from knobpack.solver.column_generation.reduced_cost_enumeration import (
    NearSets,
    near_sets,
)
from knobpack.solver.column_generation.restricted_master import Duals, RestrictedMaster, partition
from knobpack.solver.column_generation.terms import WORD, SetMasks, Terms
from knobpack.solver.costs import FAR, QUANTUM, Whole
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.optima.optima_dag import OptimaDag
from knobpack.solver.watch import Watch

SHORT_EFFORT = 0.3
"""Deterministic effort for a choice among the sets of the linear programme."""

LONG_EFFORT = 3.0
"""Deterministic effort for a choice that is to be exact."""

FEW_SETS = 150
"""So many sets at most are chosen from at a time, at first."""

MOST_SETS = 60_000
"""Sets that a way is chosen from, at most."""

MOST_CHOICES = 12_000
"""Sets that CP-SAT chooses from, at most."""

MOVES, EFFORT_OF_MOVES = 100, 5e-4
"""Moves of a cooling for each atom, and what effort these take."""

LONG = 8 * MOVES
"""The same where what is left is to be made exact: a better way leaves fewer sets to look at."""


class LargeFamily(BoundTable):
    """What a family costs with each number of knobs that no atom is pinned to.

    Args:
        terms: the family's costs.
        most: no more knobs than these are looked at.
        watch: what may cut the work short.
        omission: what it costs to leave out all of the family; FAR: it may not be.
        omissions: what it costs to leave out each of its atoms; FAR: it must be placed. None: all
            must.
        loads: so many loads on a knob are told apart; the heap of more is seen by a tangent.
        annealed: gives for so many knobs, and so many moves, the sets of a way, if any.

    Raises:
        TooManySetsError: there are too many atoms to price sets with less than all that they cost.
    """

    def __init__(
        self,
        terms: Terms,
        most: int,
        watch: Watch,
        *,
        omission: int = FAR,
        omissions: Sequence[int] | None = None,
        loads: int = MOST_LOADS,
        annealed: Callable[[int, int], Sequence[int]] = lambda *_: (),
    ) -> None:
        super().__init__(terms, most, omission, omissions)
        self.stuck: set[int] = set()
        self._relaxed: set[int] = set()
        self._watch, self._annealed = watch, annealed
        self._rounds, self._cooled = Counter[int](), set[int]()
        self.knapsack = knapsack_of(terms, watch, loads)
        if terms.count > WORD and len(self.knapsack.terms.groups) < len(terms.groups):
            raise TooManySetsError
        self._trails = OptimaDag(terms, watch)
        found, self._seen = merged(terms)
        for way in found.values():
            self.offer(way)
        self._programme: RestrictedMaster | None = None

    @property
    def programme(self) -> RestrictedMaster:
        """The linear programme over the sets known so far."""
        if self._programme is None:
            self._programme = RestrictedMaster(self.table, self._seen)
        return self._programme

    def relax(self, knobs: int) -> None:
        """Find the cheapest sets at the prices of the linear programme, and what follows.

        Where that goes on for as long as a cooling takes, one follows: what the programme knows of
        a good way brings its prices near to the best ones sooner.
        """
        self._rounds[knobs] += 1
        effort = self._rounds[knobs] * self.knapsack.effort
        if knobs not in self._cooled and effort > EFFORT_OF_MOVES * self.table.count:
            self._anneal(knobs, MOVES)
        duals = self.programme.duals(knobs)
        self._watch.spend(duals.effort)
        line, sets = self.knapsack.found(duals.atoms, self._watch)
        self.bound(line)
        if not self._taken(duals, sets):
            self._relaxed.add(knobs)

    def _anneal(self, knobs: int, moves: int) -> None:
        """Cool down once on so many knobs, with so many moves for each atom, for a better way."""
        self._cooled.add(knobs)
        sets = self.table.sets(self._annealed(knobs, moves * self.table.count))
        if sets.sum() == self.table.full and self.table.valid(sets).all():
            self.offer(Way.of(self.table, sets))
            self.programme.add(sets)

    def _taken(self, duals: Duals, sets: SetMasks) -> int:
        """Take sets; says how many of them are cheap, and new."""
        terms = self.table
        sets = sets[terms.valid(sets)]
        reduced = QUANTUM * terms.costs(sets) - worth_of(terms, duals.atoms, sets)
        reduced -= np.where(terms.free(sets), duals.knob, 0)
        # Rounded prices may be off by one each.
        return len(self.programme.add(sets[reduced < -terms.count - 2]))

    def open_at(self, knobs: int) -> bool:
        """Whether the cost is not exact, and has not been given up on."""
        return not self.exact(knobs) and knobs not in self.stuck and self.has_room(knobs)

    def charge(self, omission: int, omissions: Sequence[int]) -> None:
        """From now on it costs so much to leave out all, or each; all is to be bounded anew."""
        self.recharge(omission, omissions)
        self.programme.charge(omissions)
        self._relaxed.clear()

    def relax_all(self, knobs: int) -> bool:
        """Bound it on so many knobs as well as prices can; says whether there was nothing to do."""
        done = knobs < 1 or knobs in self._relaxed or self._watch.over()
        while knobs > 0 and knobs not in self._relaxed and not self._watch.over():
            self.relax(knobs)
        return done

    def relaxed_at(self, knobs: int) -> bool:
        """Whether the bound is as good as the linear programme can make it, or exact."""
        return knobs in self._relaxed or self.exact(knobs) or not self.has_room(knobs)

    def settle(self, knobs: int) -> None:
        """Find the exact cost on so many knobs, or give up on it."""
        if not self.exact(knobs):
            self._anneal(knobs, LONG)
        if not self.exact(knobs) and self._settled(knobs):
            self.prove(knobs)
        if not self.exact(knobs):
            self.stuck.add(knobs)

    def _settled(self, knobs: int) -> bool:
        """Look for a better way among all sets that it could be made of.

        Returns:
            Whether the best way known is now proven best.
        """
        line, few = self.line(knobs), FEW_SETS
        if line is None or knobs not in self.ways or self._watch.over():
            return False
        floor = line.at(knobs) + QUANTUM
        try:
            near = self._within(line, QUANTUM * self.upper(knobs) - floor)
        except TooManySetsError:
            return False
        # The likeliest sets first: what is found narrows what may be better.
        while not self._watch.over():
            near = near.up_to(QUANTUM * self.upper(knobs) - floor)
            if len(near.sets) <= few:
                return self._choose(knobs, near.sets, near.costs, LONG_EFFORT)
            if few > min(MOST_CHOICES, 4 * len(near.sets)):
                return False
            likely = near.cheapest(few)
            self._choose(knobs, likely.sets, likely.costs, SHORT_EFFORT)
            few *= 4
        return False

    def _within(self, line: LagrangianBound, slack: int) -> NearSets:
        found = near_sets(self.table, self.knapsack, line, slack, self._watch)
        if len(found.sets) > MOST_SETS:
            raise TooManySetsError
        return found

    def _choose(self, knobs: int, sets: SetMasks, costs: Whole, effort: float) -> bool:
        """Choose among some sets; says whether nothing better can be made of them."""
        found = partition(
            self.table,
            sets,
            costs,
            knobs,
            self._watch,
            start=self.ways.get(knobs),
            enough=self.lower(knobs),
            effort=effort,
        )
        self.offer(found.way)
        return found.done

    # What the best ways are

    def choices(self, knobs: int, atoms: int) -> Iterator[tuple[int, int, int]]:
        """What the lowest of ``atoms`` can do in a cheapest way on exactly ``knobs``.

        The cost of the whole family must be exact there; of others than all atoms, those can be
        asked for that were yielded before.

        Yields:
            The set it is on one knob with, the set that remains, and the knobs that remain; of all
            atoms and no knobs, that all are left out.

        Raises:
            TooManyVariantsError: there is too much to go through.
        """
        if self._left_out(knobs):
            yield 0, 0, 0
            return
        if atoms == self.table.full:
            self._follow(knobs)
        yield from self._trails.steps[knobs, atoms]

    def _left_out(self, knobs: int) -> bool:
        return not knobs and not self.table.pins

    def _follow(self, knobs: int) -> None:
        if (knobs, self.table.full) in self._trails.steps:
            return
        line = self.line(knobs)
        if line is None:
            # It costs nothing: that no set does is bound enough.
            prices = np.zeros(self.table.count, dtype=np.int64)
            line, _ = self.knapsack.found(prices, self._watch)
        slack = QUANTUM * self.upper(knobs) - line.at(knobs)
        try:
            self._trails.follow(self._within(line, slack), knobs, slack)
        except TooManySetsError:
            raise TooManyVariantsError from None
