"""Everything that is best in the first four tiers, put together from a pool of sets.

A placement of a given value can waste only so much reduced cost in all (the slack), so few sets and
few ways to combine them are left. Ways that cannot matter to the layout are dropped on the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeAlias

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.cluster import Choice, Cluster, Places, Variant
from knobpack.solver.optima.dominance import LOOK, TooManyVariantsError, undominated
from knobpack.solver.outcome import Upper
from knobpack.solver.set_partitioning.column_pool import Column
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.watch import Watch

MOST_STEPS = 60_000
"""Steps of work on one family, at most."""

LARGEST = 200
"""Atoms in a family, at most: they are gone through one inside the other."""

MOST_WORK = 20_000
"""What may have to be remembered of all the choices, at most."""


@attrs.frozen
class Priced:
    """A column with its reduced cost."""

    column: Column
    reduced: int


@attrs.frozen
class Sum:
    """What a way to place some atoms adds up to.

    Args:
        cost: the first four tiers in one number, :attr:`Problem.apiece` not taken off.
        knobs: how many knobs it takes.
        size: how many items it places.
        spreads: mask of the spreads, by position, that it places something of.
    """

    cost: int = 0
    knobs: int = 0
    size: int = 0
    spreads: int = 0

    def __add__(self, other: Sum) -> Sum:
        """Both together."""
        cost, knobs = self.cost + other.cost, self.knobs + other.knobs
        return Sum(cost, knobs, self.size + other.size, self.spreads | other.spreads)


Ways: TypeAlias = dict[Sum, tuple[int, list[Variant]]]
"""For each sum, the least slack it takes and the variants that come to it."""

Chosen: TypeAlias = tuple[int, tuple[tuple[Variant, ...], ...]]
"""The slack that some families take, and the variants of each."""


def tied(
    problem: Problem,
    families: Sequence[tuple[int, ...]],
    pool: Sequence[Priced],
    slack: int,
    values: Upper,
    watch: Watch | None = None,
) -> Iterator[Choice]:
    """Every way to place everything that comes to ``values``, but for those that cannot matter.

    Args:
        problem: what to place.
        families: the atoms of each family.
        pool: every set that such a way can need, with its reduced cost, 0 or more.
        slack: what the reduced costs of such a way add up to, at most.
        values: the values of the first four tiers.
        watch: what may cut it short; None: nothing.

    Raises:
        TooManyVariantsError: it would take too long, or the watch stopped it.
    """
    if any(len(part) > LARGEST for part in families):
        raise TooManyVariantsError
    walk = _Walk(problem, slack, values, watch)
    lost = [atom for atom in problem.atoms if not atom.knobs]
    start = Sum(sum(walk.scale.cost(*atom.costs) for atom in lost))
    omission = sum(walk.places.omission(atom.items) for atom in lost)
    work = 0
    for chosen in walk.combined(start, [_Family(walk, part, pool).ways() for part in families]):
        choice = Choice(chosen, omission)
        work += choice.work + 1
        if work > MOST_WORK:
            raise TooManyVariantsError
        yield choice


class _Walk:
    """What all families have in common while their ways are gone through."""

    def __init__(self, problem: Problem, slack: int, values: Upper, watch: Watch | None) -> None:
        self.problem, self.places, self.scale = problem, Places.of(problem), scale_of(problem)
        self.slack, self.watch = slack, watch
        unplaced, bundles, breaks, sharing = values
        self._cost = self.scale.cost(unplaced, bundles + problem.apiece[1], breaks, sharing)

    def has_room(self, total: Sum, spent: int) -> bool:
        """Whether a way may still come to the values, what each spread counts too much apart."""
        most, problem = self._cost + self.problem.apiece[3], self.problem
        within = total.knobs <= problem.knobs and total.size <= problem.routes
        return within and spent <= self.slack and total.cost <= most

    def comes_to_it(self, total: Sum) -> bool:
        """Whether a way to place everything comes to the values."""
        spreads = enumerate(self.problem.spreads)
        placed = sum(each.weight for at, each in spreads if total.spreads >> at & 1)
        return bool(total.cost - placed == self._cost)

    def combined(
        self, start: Sum, ways: Sequence[Ways]
    ) -> Iterator[tuple[tuple[Variant, ...], ...]]:
        """The variants of each family, for every combination of sums that comes to the values."""
        states: dict[Sum, list[Chosen]] = {start: [(0, ())]}
        # What the families after each take of the slack at least.
        least = [min((spent for spent, _ in own.values()), default=0) for own in ways]
        for at, own in enumerate(ways):
            after: dict[Sum, list[Chosen]] = {}
            steps, rest = 0, sum(least[at + 1 :])
            for so_far, before in states.items():
                if self.watch is not None and self.watch.over():
                    raise TooManyVariantsError
                for each, (spent, variants) in own.items():
                    steps += len(before)
                    if steps > MOST_STEPS:
                        raise TooManyVariantsError
                    total = so_far + each
                    for taken, chosen in before:
                        if self.has_room(total, taken + spent + rest):
                            more = (taken + spent, (*chosen, tuple(variants)))
                            after.setdefault(total, []).append(more)
            states = after
        for total, found in states.items():
            if self.comes_to_it(total):
                yield from (chosen for _, chosen in found)


class _Family:
    """Goes through the ways to place one family's atoms."""

    def __init__(self, walk: _Walk, part: tuple[int, ...], pool: Sequence[Priced]) -> None:
        self._walk = walk
        self._full = sum(1 << number for number in part)
        self._by_low: dict[int, list[tuple[Priced, Sum, Cluster]]] = {
            1 << number: [] for number in part
        }
        for count, priced in enumerate(pool):
            if walk.watch is not None and not count % LOOK and walk.watch.over():
                raise TooManyVariantsError
            atoms, items = priced.column.atoms, priced.column.items
            if atoms & self._full:
                found = priced, self._sum(priced.column), walk.places.cluster(items)
                self._by_low[atoms & -atoms].append(found)
        self._known: dict[int, Ways] = {0: {Sum(): (0, [Variant((), 0)])}}
        self._steps = 0

    def ways(self) -> Ways:
        """Every way to place or leave out all atoms within the slack."""
        return self._of(self._full)

    def _sum(self, column: Column) -> Sum:
        spreads = enumerate(self._walk.problem.spreads)
        touched = sum(1 << at for at, spread in spreads if spread.items & column.items)
        cost = self._walk.scale.cost(*column.costs)
        return Sum(cost, 1, column.items.bit_count(), touched)

    def _of(self, atoms: int) -> Ways:
        if atoms not in self._known:
            self._known[atoms] = self._pruned(list(self._extended(atoms)))
        return self._known[atoms]

    def _extended(self, atoms: int) -> Iterator[tuple[Sum, int, Variant]]:
        walk, low = self._walk, atoms & -atoms
        for priced, own, cluster in self._by_low[low]:
            if not priced.column.atoms & ~atoms:
                part = Variant((cluster,), 0)
                yield from self._with(atoms ^ priced.column.atoms, own, priced.reduced, part)
        atom = walk.problem.atoms[low.bit_length() - 1]
        if not atom.needed:
            part = Variant((), walk.places.omission(atom.items))
            yield from self._with(atoms ^ low, Sum(walk.scale.cost(*atom.costs)), 0, part)

    def _with(
        self, rest: int, own: Sum, reduced: int, part: Variant
    ) -> Iterator[tuple[Sum, int, Variant]]:
        """The ways of the atoms that are left, each with what the lowest of all does besides."""
        for total, (spent, variants) in self._of(rest).items():
            whole = total + own
            if self._walk.has_room(whole, spent + reduced):
                for variant in variants:
                    both = Variant.joined((part, variant), 0)
                    yield whole, spent + reduced, both

    def _pruned(self, found: list[tuple[Sum, int, Variant]]) -> Ways:
        watch = self._walk.watch
        self._steps += len(found) + 1
        if self._steps > MOST_STEPS or (watch is not None and watch.over()):
            raise TooManyVariantsError
        grouped: dict[Sum, tuple[int, list[Variant]]] = {}
        for total, spent, variant in found:
            least, variants = grouped.get(total, (spent, []))
            variants.append(variant)
            grouped[total] = min(least, spent), variants
        return {own: (least, undominated(each, watch)) for own, (least, each) in grouped.items()}
