"""The cheapest sets at given prices, by minimum cuts: all families and all seeds in one graph.

For a fixed travel, what a set costs less what its atoms are worth is a sum over atoms and over the
groups that the set touches. The cheapest set is then a maximum closure (project selection), which a
minimum cut finds (Picard 1976, "Maximal closure of a graph", from memory). A *seed* is an atom
that must be in the set, and whose travel the set has: it stands for all sets that can have that
travel on its account. Graphs of different seeds share only the source and the sink.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray
from ortools.graph.python import max_flow  # type: ignore[import-untyped]

from knobpack.errors import Fault
from knobpack.numbered.problem import bits
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole
from knobpack.solver.watch import Watch

QUANTUM = 1024
"""Prices are whole numbers of one 1024th of a point."""

EFFORT_PER_ARC = 4e-7
"""Effort that an arc of a graph counts as: about what it takes in seconds."""

_UNBOUNDED = 1 << 50

Matrix: TypeAlias = NDArray[np.int64]


@attrs.frozen(eq=False)
class Seeds:
    """All seeds of a family (C), with what is fixed about their sets.

    Args:
        terms: the family's costs: m atoms, G groups.
        inside: (C,) the atoms that are in the set.
        outside: (C,) those that are not.
        pin: (C,) the place of the pinned atom in it; -1: it takes a free knob.
        own: (C, m) what each atom adds, in 1024ths.
        groups: (C, G) what each group costs that no atom of ``inside`` touches, in 1024ths.
        fixed: (C,) what every set costs, but for what its atoms add, in 1024ths.
    """

    terms: Terms
    inside: Whole
    outside: Whole
    pin: Whole
    own: Matrix
    groups: Matrix
    fixed: Whole

    @property
    def open(self) -> NDArray[np.bool_]:
        """(C, m) the atoms that are neither fixed inside nor outside."""
        taken = (self.inside | self.outside)[:, None]
        free: NDArray[np.bool_] = taken >> np.arange(self.terms.count) & 1 == 0
        return free


def seeds_of(terms: Terms, *, apart: bool) -> Seeds:
    """The seeds of a family.

    Args:
        terms: the family's costs.
        apart: whether each set belongs to a single seed for each travel: the first that wants
            it. Otherwise sets of different seeds may be the same.
    """
    found = []
    for row, held, barred, pin in _plain(terms, apart=apart):
        outside = barred
        for place in bits(held):
            outside |= terms.clashes[place]
        if not held & outside:
            found.append((row, held, outside, pin))
    rows = [row for row, _, _, _ in found]
    inside = np.array([each[1] for each in found], dtype=np.int64)
    own = terms.own[rows].astype(np.int64)
    fixed = np.full(len(found), terms.base, dtype=np.int64)
    for at, (_, held, _, _) in enumerate(found):
        for one, other, weight in terms.pairs:
            if held >> one & 1 and held >> other & 1:
                fixed[at] += weight
            elif held >> one & 1:
                own[at, other] += weight
            elif held >> other & 1:
                own[at, one] += weight
    touched = (inside[:, None] & terms.groups) != 0
    return Seeds(
        terms=terms,
        inside=inside,
        outside=np.array([each[2] for each in found], dtype=np.int64),
        pin=np.array([each[3] for each in found], dtype=np.int64),
        own=QUANTUM * own,
        groups=QUANTUM * np.where(touched, 0, terms.weights),
        fixed=QUANTUM * (fixed + touched @ terms.weights),
    )


def _plain(terms: Terms, *, apart: bool) -> Iterator[tuple[int, int, int, int]]:
    """For each seed the row of its travel, what is inside, what is outside, and the pin."""
    for place, row in terms.kept.items():
        yield row, 1 << place, terms.pinned & ~(1 << place), place
    loose = [place for place in terms.pins if place not in terms.kept]
    for pin in (-1, *loose):
        held = 0 if pin < 0 else 1 << pin
        for row, wishes in enumerate(terms.wishes):
            earlier = 0
            for place in np.nonzero(wishes)[0].tolist():
                own = 1 << place
                if not own & terms.pinned & ~held:
                    yield row, own | held, terms.pinned & ~held | earlier, pin
                    earlier |= own if apart else 0


@attrs.frozen(eq=False)
class Ask:
    """Prices at which to find the cheapest set of each seed of a family.

    Args:
        seeds: the seeds.
        prices: (m,) what each atom is worth, in 1024ths.
    """

    seeds: Seeds
    prices: Whole

    @property
    def adds(self) -> Matrix:
        """(C, m) what each atom adds to the reduced cost of a set."""
        own: Matrix = self.seeds.own - self.prices
        return own

    @property
    def effort(self) -> float:
        """What a minimum cut for it takes."""
        terms = self.seeds.terms
        arcs = len(self.seeds.inside) * (2 * terms.count + 4 * len(terms.weights))
        return EFFORT_PER_ARC * arcs


@attrs.frozen(eq=False)
class Cheapest:
    """The cheapest set of each seed.

    Args:
        ask: what was asked.
        sets: (C,) the sets. They need not be valid: limits on a knob and some pairs and clashes
            are not looked at.
        least: (C,) no valid set of the seed has a lower reduced cost.
        flows: (C, K) what each atom bears of each group it is in, in the order of ``members``.
        members: (K,) twice: atoms, and groups.
    """

    ask: Ask
    sets: Whole
    least: Whole
    flows: Matrix
    members: tuple[NDArray[np.intp], NDArray[np.intp]]


def cheapest(asked: Sequence[Ask], watch: Watch) -> list[Cheapest]:
    """The cheapest sets for all that is asked, by one minimum cut."""
    watch.spend(sum(ask.effort for ask in asked))
    graphs = []
    base = 2
    for ask in asked:
        graphs.append(_Graph(ask, base))
        base += graphs[-1].nodes
    tails, heads, capacities = (
        np.concatenate([part for graph in graphs for part in graph.parts[which]])
        for which in range(3)
    )
    flow = max_flow.SimpleMaxFlow()
    arcs = flow.add_arcs_with_capacity(
        tails.astype(np.int32), heads.astype(np.int32), capacities.astype(np.int64)
    )
    if base == 2 or flow.solve(0, 1) != flow.OPTIMAL:
        raise Fault("a minimum cut could not be found")
    near = np.zeros(base, dtype=bool)
    near[flow.get_source_side_min_cut()] = True
    flows = flow.flows(arcs)
    answers, start = [], 0
    for graph in graphs:
        answers.append(graph.read(near, flows[start : start + graph.arcs]))
        start += graph.arcs
    return answers


class _Graph:
    """The part of the graph that belongs to one family."""

    def __init__(self, ask: Ask, base: int) -> None:
        seeds, terms = ask.seeds, ask.seeds.terms
        self.ask = ask
        self.adds = ask.adds
        self.open = seeds.open
        count, groups = terms.count, len(terms.weights)
        several = len(seeds.inside)
        self.nodes = several * (count + groups)
        self.base = base
        first = base + np.arange(several)[:, None] * (count + groups)
        atoms, shared = first + np.arange(count), first + count + np.arange(groups)
        inside, of = np.nonzero(terms.groups >> np.arange(count)[:, None] & 1)
        self.members = inside, of
        own = np.where(self.open, self.adds, 0)
        inner = (atoms[:, self.members[0]].ravel(), shared[:, self.members[1]].ravel())
        source, sink = np.zeros_like(atoms).ravel(), np.ones_like(atoms).ravel()
        self.parts = (
            (source, atoms.ravel(), inner[0], shared.ravel()),
            (atoms.ravel(), sink, inner[1], np.ones_like(shared).ravel()),
            (
                np.maximum(0, -own).ravel(),
                np.maximum(0, own).ravel(),
                np.full(len(inner[0]), _UNBOUNDED),
                seeds.groups.ravel(),
            ),
        )
        self.arcs = sum(len(part) for part in self.parts[0])

    def read(self, near: NDArray[np.bool_], flows: Matrix) -> Cheapest:
        seeds, terms = self.ask.seeds, self.ask.seeds.terms
        several, count = len(seeds.inside), terms.count
        side = near[self.base : self.base + self.nodes].reshape(several, -1)
        chosen = side[:, :count] & self.open
        sets = seeds.inside | (chosen @ (1 << np.arange(count)))
        fixed = (seeds.inside[:, None] >> np.arange(count) & 1).astype(bool)
        touched = (sets[:, None] & terms.groups) != 0
        least = seeds.fixed + np.where(chosen | fixed, self.adds, 0).sum(axis=1)
        least += (touched * seeds.groups).sum(axis=1)
        inner = 2 * several * count
        borne = flows[inner : inner + several * len(self.members[0])].reshape(several, -1)
        return Cheapest(self.ask, sets, least, borne, self.members)
