"""The cheapest sets of a family at given prices: a minimum cut for each seed and way to follow.

For a fixed travel and a fixed way in which the knob follows, what a set costs less what its atoms
are worth is a sum over atoms and over the classes that it touches. Each set has the seed that is
the first in it to want its travel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray
from ortools.graph.python import max_flow  # type: ignore[import-untyped]

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.bounds.ways import Points, sides
from knobpack.solver.costs import Whole
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.relaxation import QUANTUM, Prices

EFFORT_PER_CUT = 2e-4
"""Effort that a minimum cut counts as: about what it takes in seconds."""

MOST_CUTS = 300
"""Minimum cuts of one family at some prices, at most, where there are several ways to follow."""

EFFORT_PER_LOOK = 4e-9
"""Effort that looking at an atom beside another under a way counts as."""

_UNBOUNDED = 1 << 52


@attrs.frozen
class Cheap:
    """What minimum cuts found at some prices.

    Args:
        least: no set that may be on one knob has a lower reduced cost, in 1024ths.
        sets: masks of atoms of cheap sets, some of which may not be on one knob.
        effort: what it took to find them.
    """

    least: int
    sets: tuple[int, ...]
    effort: float


class FamilySeeds:
    """The seeds of one family.

    Args:
        problem: the costs.
        part: the numbers of the family's atoms.
        tier: the tier that is bounded.
        lean: where the tangent to a heap of loads touches.
        ways: (C, S) the ways in which a knob can follow; None: what is broken is not looked at.
    """

    def __init__(
        self, problem: Problem, part: Sequence[int], tier: int, lean: int, ways: Whole | None
    ) -> None:
        self.part = part
        self._apart = np.zeros((len(part), 1), dtype=np.int64)
        if ways is not None:
            self._apart = Points.of(problem, part, sides(problem)).distances(ways)
        self._atoms = [problem.atoms[number] for number in part]
        self._sizes = np.array([atom.size for atom in self._atoms], dtype=np.int64)
        sharing = tier == UPPER - 1
        leaning, back = problem.leaning(lean)
        self._base = -leaning.first - back
        self._base -= sum(weight for _, weight in problem.intrusions)
        self._base *= QUANTUM if sharing else 0
        groups = list(self._groups(leaning)) if sharing else []
        self._of_group = self._touching([items for items, _ in groups])
        self._weights = QUANTUM * np.array([weight for _, weight in groups], dtype=np.int64)
        self._bundles = self._touching(problem.bundles)
        self._bundle = QUANTUM if tier == 1 else 0
        own = np.array([self._own(leaning, atom.items) for atom in self._atoms], dtype=np.int64)
        self._own_at = QUANTUM * (
            np.array(
                [
                    [sum(row[item] for item in bits(atom.items)) for atom in self._atoms]
                    for row in problem.travel_prices
                ],
                dtype=np.int64,
            ).reshape(-1, len(part))
            + own
            if sharing
            else np.zeros((1, len(part)), dtype=np.int64)
        )
        self.seeds = list(self._seeds(problem, travels=sharing))

    def _touching(self, masks: Sequence[int]) -> NDArray[np.bool_]:
        """(atoms, groups) which atoms have some of each group."""
        table = [[bool(atom.items & items) for items in masks] for atom in self._atoms]
        return np.array(table, dtype=bool).reshape(len(self._atoms), len(masks))

    @staticmethod
    def _groups(problem: Problem) -> Iterator[tuple[int, int]]:
        yield from problem.classes
        yield from ((spread.items, spread.weight) for spread in problem.spreads)
        everything = (1 << problem.items) - 1
        for inside, weight in problem.intrusions:
            yield inside, weight
            yield everything & ~inside, weight

    @staticmethod
    def _own(problem: Problem, items: int) -> int:
        pairs = sum(p for (a, b), p in problem.pairs.items() if items >> a & 1 and items >> b & 1)
        return pairs + sum(problem.each[item] for item in bits(items))

    def _seeds(
        self, problem: Problem, *, travels: bool
    ) -> Iterator[tuple[int, int, NDArray[np.bool_]]]:
        """For each seed its travel, its place in the family, and which atoms may be with it."""
        kept = [
            place
            for place, atom in enumerate(self._atoms)
            if atom.pinned in problem.kept_travels and travels
        ]
        goes = np.array(
            [
                [
                    one != other
                    and not problem.clashes[one] >> other & 1
                    and bool(problem.atoms[one].knobs & problem.atoms[other].knobs)
                    for other in self.part
                ]
                for one in self.part
            ],
            dtype=bool,
        ).reshape(len(self.part), len(self.part))
        plain = np.ones(len(self.part), dtype=bool)
        plain[kept] = False
        for place in kept:
            yield problem.kept_travels[self._atoms[place].pinned or 0], place, goes[place] & plain
        earlier: dict[int, NDArray[np.bool_]] = {}
        for place, atom in enumerate(self._atoms):
            if place in kept:
                continue
            for travel in sorted({problem.wanted[i] for i in bits(atom.items)} if travels else {0}):
                before = earlier.setdefault(travel, np.zeros(len(self.part), dtype=bool))
                yield travel, place, goes[place] & plain & ~before
                before[place] = True

    def cheapest(self, prices: Prices) -> Cheap:
        """The cheapest sets at some prices."""
        bundle = self._bundle - (prices.held[1] if len(prices.held) > 1 else 0)
        touches = self._of_group if not bundle else np.hstack([self._of_group, self._bundles])
        weights = self._weights
        if bundle:
            weights = np.append(weights, np.full(self._bundles.shape[1], bundle))
        worth = prices.atoms[list(self.part)] + prices.routes * self._sizes
        adds = self._own_at - worth
        each = self._base - int(prices.slots[0])
        apart = self._apart * -prices.held[2] if len(prices.held) > 2 else self._apart[:, :1]
        if not apart.any():
            apart = apart[:, :1]
        fixed = each + touches @ weights
        looks = _Looks(self, adds, apart, fixed, touches, weights)
        for at in range(len(self.seeds)):
            if looks.bounds[at].min() < 0:
                looks.cut(at, int(looks.bounds[at].argmin()))
        while len(looks.exact) < MOST_CUTS and looks.bounds.size:
            at, way = divmod(int(looks.bounds.argmin()), apart.shape[1])
            if looks.bounds[at, way] >= 0 or (at, way) in looks.exact:
                break
            looks.cut(at, way)
        least = min(0, int(looks.bounds.min(initial=0)))
        return Cheap(least, self._diverse(looks.found), looks.effort)

    def _diverse(self, found: Sequence[tuple[int, int]]) -> tuple[int, ...]:
        """For each atom the cheapest set with it."""
        chosen, covered = [], 0
        for _, atoms in sorted(found):
            if atoms & ~covered:
                chosen.append(atoms)
                covered |= atoms
        return tuple(chosen)


class _Looks:
    """What the cheapest sets of the seeds of a family can cost, at some prices.

    Args:
        family: the family.
        adds: (travels, atoms) what each atom adds.
        apart: (atoms, C) what it adds besides under each way to follow.
        fixed: (atoms,) what a set costs for the atom that is its seed, but for ``adds``.
        touches: (atoms, groups) which atoms have some of each group.
        weights: (groups,) what each group costs.
    """

    def __init__(
        self,
        family: FamilySeeds,
        adds: Whole,
        apart: Whole,
        fixed: Whole,
        touches: NDArray[np.bool_],
        weights: Whole,
    ) -> None:
        self._family, self._adds, self._apart, self._fixed = family, adds, apart, fixed
        self._touches, self._weights = touches, weights
        self.found: list[tuple[int, int]] = []
        self.exact: set[tuple[int, int]] = set()
        self.bounds = self._begun()
        self.effort = EFFORT_PER_LOOK * self.bounds.size * len(adds[0])

    def _begun(self) -> Whole:
        """(seeds, C) no set of a seed costs less under a way: as if others touched nothing new."""
        seeds = self._family.seeds
        bounds = np.empty((len(seeds), self._apart.shape[1]), dtype=np.int64)
        for travel in {travel for travel, _, _ in seeds}:
            own = [at for at, seed in enumerate(seeds) if seed[0] == travel]
            places = [seeds[at][1] for at in own]
            costs = self._adds[travel][:, None] + self._apart
            others = np.array([seeds[at][2] for at in own], dtype=np.int64)
            least = others @ np.minimum(costs, 0)
            bounds[own] = self._fixed[places][:, None] + costs[places] + least
        return bounds

    def cut(self, at: int, way: int) -> None:
        """Find the cheapest set of a seed under a way.

        What groups cost stays with the atoms that paid for it here, which raises the bounds of
        the seed under other ways.
        """
        travel, place, others = self._family.seeds[at]
        costs = self._adds[travel] + self._apart[:, way]
        cost, atoms, paid = self._cut(place, others, costs)
        if cost < 0:
            self.found.append((cost, atoms))
        own = self.bounds[at]
        low = np.nonzero(own < 0)[0]
        if len(own) > 1 and len(low):
            apart = self._apart[:, low]
            least = np.minimum((self._adds[travel] + paid)[others][:, None] + apart[others], 0)
            whole = self._fixed[place] + self._adds[travel, place] + apart[place]
            own[low] = np.maximum(own[low], whole + least.sum(axis=0))
        own[way] = cost
        self.exact.add((at, way))
        self.effort += EFFORT_PER_CUT + EFFORT_PER_LOOK * len(low) * len(others)

    def _cut(self, place: int, others: NDArray[np.bool_], costs: Whole) -> tuple[int, int, Whole]:
        """The reduced cost of the cheapest set of one seed, the set, and what each atom paid.

        What it paid is its part in what groups cost, which comes to no more than they do cost.
        """
        touches, fixed = self._touches, int(self._fixed[place] + costs[place])
        gains = np.where(others, np.minimum(costs, 0), 0)
        inside = np.nonzero(gains)[0]
        chosen, taken = [place], np.zeros(len(gains), dtype=np.int64)
        if len(inside):
            open_groups = np.nonzero(~touches[place] & touches[inside].any(axis=0))[0]
            tails, heads = np.nonzero(touches[np.ix_(inside, open_groups)])
            count = len(inside)
            flow = max_flow.SimpleMaxFlow()
            flow.add_arcs_with_capacity(
                np.concatenate(
                    [np.zeros(count), tails + 2, np.arange(len(open_groups)) + 2 + count]
                ).astype(np.int32),
                np.concatenate(
                    [np.arange(count) + 2, heads + 2 + count, np.ones(len(open_groups))]
                ).astype(np.int32),
                np.concatenate(
                    [
                        -gains[inside],
                        np.full(len(tails), _UNBOUNDED, dtype=np.int64),
                        self._weights[open_groups],
                    ]
                ),
            )
            flow.solve(0, 1)
            near = [node - 2 for node in flow.get_source_side_min_cut() if 2 <= node < 2 + count]
            fixed += int(gains[inside].sum()) + flow.optimal_flow()
            chosen += inside[near].tolist()
            taken[inside] = flow.flows(np.arange(count, dtype=np.int32))
        return fixed, sum(1 << self._family.part[member] for member in chosen), taken
