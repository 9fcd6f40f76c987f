"""Every set of a family whose reduced cost is within a limit: those that a good way can be made of.

A minimum cut does not only find the cheapest set; its flow says what each atom bears of the groups
it is in. So borne, the reduced cost of any set is the least one plus terms of which none is below
zero: what an atom in it costs, what an atom not in it would have gained, and what its groups cost
that its atoms do not bear. Sets are grown atom by atom, those over the limit dropped on the way.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.column_generation.lagrangian_bound import Found, LagrangianBound
from knobpack.solver.column_generation.min_cut_pricing import (
    QUANTUM,
    Ask,
    Cheapest,
    Seeds,
    cheapest,
)
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch

MOST_STATES = 300_000
"""Partial sets at one time, at most."""

EFFORT_PER_STATE = 5e-8
"""Effort that growing a partial set by one atom counts as: about what it takes in seconds."""


class TooManySetsError(Exception):
    """There are too many sets within the limit. Never leaves the solver."""


@attrs.frozen(eq=False)
class NearSets:
    """Sets of a family.

    Args:
        sets: the sets, ascending.
        costs: what each costs.
        waste: by how much its reduced cost is above that of the cheapest, in 1024ths.
    """

    sets: Whole
    costs: Whole
    waste: Whole

    def only(self, rows: NDArray[np.bool_] | Whole) -> NearSets:
        """Some of the sets."""
        return NearSets(self.sets[rows], self.costs[rows], self.waste[rows])

    def up_to(self, waste: int) -> NearSets:
        """Those that waste no more than so much."""
        return self.only(self.waste <= waste)

    def cheapest(self, count: int) -> NearSets:
        """So many of those that waste least."""
        return self.only(np.sort(np.argsort(self.waste, kind="stable")[:count]))


class Lists(Protocol):
    """Lists sets of a family."""

    def __call__(self, line: LagrangianBound, slack: int, watch: Watch) -> Whole:
        """Every valid set whose reduced cost is above what a knob adds by no more than ``slack``.

        Some that are not valid, or cost more, may be among them.

        Raises:
            TooManySetsError: there are too many.
        """


def near_sets(
    terms: Terms, lists: Lists, line: LagrangianBound, slack: int, watch: Watch
) -> NearSets:
    """Every valid set that can be in a way whose cost is no more than ``slack`` over a bound.

    Args:
        terms: the family's costs.
        lists: what lists its sets.
        line: the bound.
        slack: in 1024ths.
        watch: what is told of the effort.

    Raises:
        TooManySetsError: there are too many.
    """
    sets = lists(line, slack, watch)
    sets = sets[terms.valid(sets)]
    costs = terms.costs(sets)
    reduced = QUANTUM * costs - line.worth_of(terms, sets)
    lowest = np.full(len(sets), line.knob, dtype=np.int64)
    for pin, least in line.pins.items():
        lowest[sets >> pin & 1 == 1] = least
    waste = reduced - lowest
    return NearSets(sets, costs, waste).up_to(slack)


def found_exactly(terms: Terms, lists: Lists, prices: Whole, knob: int, watch: Watch) -> Found:
    """The cheapest valid sets at some prices, as far as their reduced cost is below a limit.

    Args:
        terms: the family's costs.
        lists: what lists its sets.
        prices: (m,) what each atom is worth, in 1024ths.
        knob: the limit for sets on knobs that no atom is pinned to; for others it is 0.
        watch: what is told of the effort.

    Raises:
        TooManySetsError: there are too many.
    """
    pins = dict.fromkeys(terms.pins, 0)
    line = LagrangianBound(prices, int(prices.sum()), knob, pins)
    sets = lists(line, -1, watch)
    sets = sets[terms.valid(sets)]
    if not len(sets):
        return Found(line, sets)
    reduced = QUANTUM * terms.costs(sets) - line.worth_of(terms, sets)
    free = terms.free(sets)
    least = min(knob, int(reduced[free].min())) if free.any() else knob
    for pin in pins:
        own = sets >> pin & 1 == 1
        pins[pin] = min(0, int(reduced[own].min())) if own.any() else 0
    line = LagrangianBound(prices, int(prices.sum()) + sum(pins.values()), least, pins)
    over = reduced - np.where(free, knob, 0)
    best = set()
    for place in range(terms.count):
        rows = np.nonzero(sets >> place & 1)[0]
        if len(rows):
            best.add(int(sets[rows[over[rows].argmin()]]))
    return Found(line, np.array(sorted(best), dtype=np.int64))


def grown(seeds: Seeds, line: LagrangianBound, slack: int, watch: Watch) -> Whole:
    """Sets listed by minimum cuts, each of one seed for each travel; see :class:`Lists`."""
    (pricing,) = cheapest([Ask(seeds, line.prices)], watch)
    room, terms = line.floors(seeds.pin) + slack - pricing.least, seeds.terms
    layers = _Layers.of(pricing)
    seed = np.nonzero(room >= 0)[0]
    sets, left = seeds.inside[seed], room[seed]
    items = (terms.holds(sets) @ terms.sizes).astype(np.int64)
    for place in range(terms.count):
        watch.spend(EFFORT_PER_STATE * len(sets))
        spent_in, spent_out = layers.spent(place, seed, sets)
        fixed = sets >> place & 1 == 1
        spent_out[fixed] = 0
        may = ~fixed & layers.open[seed, place] & (left >= spent_in)
        may &= items + terms.sizes[place] <= terms.per_knob
        if terms.clashes[place]:
            may &= sets & terms.clashes[place] == 0
        stay = left >= spent_out
        more = sets[may] | np.int64(1 << place)
        seed = np.concatenate([seed[stay], seed[may]])
        left = np.concatenate([left[stay] - spent_out[stay], left[may] - spent_in[may]])
        items = np.concatenate([items[stay], items[may] + terms.sizes[place]])
        sets = np.concatenate([sets[stay], more])
        if len(sets) > MOST_STATES:
            raise TooManySetsError
    return np.unique(sets)


@attrs.frozen(eq=False)
class _Layers:
    """What a set comes to waste with each atom.

    Args:
        open: (C, m) the atoms that are neither fixed inside nor outside.
        inside: (C, m) what having the atom wastes by itself.
        outside: (C, m) what not having it does.
        groups: for each atom, of each group it is in: the group, (C,) what is wasted if the atom
            is the first of it in the set, and (C,) what the atom bears of it.
    """

    seeds: Seeds
    open: NDArray[np.bool_]
    inside: Whole
    outside: Whole
    groups: Sequence[Sequence[tuple[int, Whole, Whole]]]

    @classmethod
    def of(cls, pricing: Cheapest) -> _Layers:
        seeds, terms, adds = pricing.ask.seeds, pricing.ask.seeds.terms, pricing.ask.adds
        atoms, groups = pricing.members
        opened = seeds.open
        borne = np.zeros_like(adds)
        for at, place in enumerate(atoms):
            borne[:, place] += pricing.flows[:, at]
        own = np.where(opened, adds + borne, 0)
        found: list[list[tuple[int, Whole, Whole]]] = [[] for _ in range(terms.count)]
        for group in range(len(terms.weights)):
            columns = [at for at in range(len(groups)) if groups[at] == group]
            # What the later atoms of the group may still bear.
            later = np.zeros(len(seeds.inside), dtype=np.int64)
            for at in reversed(columns):
                later = later + pricing.flows[:, at]
                first = seeds.groups[:, group] - later
                found[int(atoms[at])].append((group, first, pricing.flows[:, at]))
        return cls(seeds, opened, np.maximum(0, own), np.maximum(0, -own), found)

    def spent(self, place: int, seed: Whole, sets: Whole) -> tuple[Whole, Whole]:
        """What partial sets waste with the next atom, and without it."""
        with_it, without = self.inside[seed, place], self.outside[seed, place]
        for group, first, bears in self.groups[place]:
            touched = sets & self.seeds.terms.groups[group] != 0
            with_it = with_it + np.where(touched, 0, first[seed])
            without = without + np.where(touched, bears[seed], 0)
        return with_it, without
