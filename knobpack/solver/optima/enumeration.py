"""Everything that is best in the first four tiers, put together from a pool of sets.

A placement of a given value can waste only so much reduced cost in all (the slack), so few sets and
few ways to combine them are left. Ways that cannot matter to the layout are dropped on the way.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.cluster import Choice, Cluster, Places, Variant
from knobpack.solver.optima.dominance import LOOK, TooManyVariantsError, undominated
from knobpack.solver.optima.symmetry import takes_the_first
from knobpack.solver.outcome import Upper
from knobpack.solver.set_partitioning.column_pool import Column
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
    """What a way to place a family's atoms adds up to.

    Args:
        costs: its share of the first four tiers, :attr:`Problem.apiece` not taken off.
        knobs: how many knobs it takes.
        size: how many items it places.
        spreads: mask of the spreads, by position, that it places something of.
    """

    costs: Upper = (0, 0, 0, 0)
    knobs: int = 0
    size: int = 0
    spreads: int = 0


@attrs.frozen
class _Room:
    """What a way to place one family's atoms may come to, at most."""

    slack: int
    costs: tuple[int, int, int]

    def has(self, total: Sum, spent: int) -> bool:
        """Whether a way stays within it."""
        within = all(own <= most for own, most in zip(total.costs, self.costs, strict=False))
        return spent <= self.slack and within


Ways = dict[Sum, tuple[int, list[Variant]]]
"""For each sum, the least slack it takes and the variants that come to it."""


def tied(
    problem: Problem,
    families: Sequence[tuple[int, ...]],
    pool: Sequence[Priced],
    slack: int,
    values: Upper,
    classes: Sequence[int] = (),
    watch: Watch | None = None,
) -> Iterator[Choice]:
    """Every way to place everything that comes to ``values``, but for those that cannot matter.

    Args:
        problem: what to place.
        families: the atoms of each family.
        pool: every set that such a way can need, with its reduced cost, 0 or more.
        slack: what the reduced costs of such a way add up to, at most.
        values: the values of the first four tiers.
        classes: atoms that are alike, as masks: of ways that come from one another by exchanging
            such atoms only one is gone through. With each set the pool must have all those that
            come from it.
        watch: what may cut it short; None: nothing.

    Raises:
        TooManyVariantsError: it would take too long, or the watch stopped it.
    """
    if any(len(part) > LARGEST for part in families):
        raise TooManyVariantsError
    places = Places.of(problem)
    lost = [atom for atom in problem.atoms if not atom.knobs]
    start = Sum()
    for atom in lost:
        start = _added(start, Sum(atom.costs))
    unplaced, bundles, breaks = values[0], values[1] + problem.apiece[1], values[2]
    room = _Room(slack, (unplaced - start.costs[0], bundles - start.costs[1], breaks))
    ways = [_Family(problem, places, part, pool, room, classes, watch).ways() for part in families]
    omission = sum(places.omission(atom.items) for atom in lost)
    work = 0
    for chosen in _combined(problem, ways, slack, values, start):
        choice = Choice(tuple(tuple(variants) for variants in chosen), omission)
        work += choice.work + 1
        if work > MOST_WORK:
            raise TooManyVariantsError
        yield choice


def _combined(
    problem: Problem,
    ways: Sequence[Ways],
    slack: int,
    values: Upper,
    start: Sum,
) -> Iterator[tuple[list[Variant], ...]]:
    """The variants of each family, for every combination of sums that comes to ``values``."""
    # States: what the families so far add up to, with the least slack and all ways there.
    states: dict[Sum, list[tuple[int, tuple[list[Variant], ...]]]] = {start: [(0, ())]}
    # What the families after each take of the slack at least.
    least = [min((spent for spent, _ in own.values()), default=0) for own in ways]
    after_it = [sum(least[at + 1 :]) for at in range(len(ways))]
    for own, rest in zip(ways, after_it, strict=True):
        after: dict[Sum, list[tuple[int, tuple[list[Variant], ...]]]] = {}
        steps = 0
        for so_far, trails in states.items():
            for each, (spent, variants) in own.items():
                total = _added(so_far, each)
                if total.knobs > problem.knobs or total.size > problem.routes:
                    continue
                for before, chosen in trails:
                    steps += 1
                    if before + spent + rest <= slack:
                        after.setdefault(total, []).append((before + spent, (*chosen, variants)))
        if steps > MOST_STEPS:
            raise TooManyVariantsError
        states = after
    for total, trails in states.items():
        placed = (s.weight for at, s in enumerate(problem.spreads) if total.spreads >> at & 1)
        unplaced, bundles, breaks, sharing = total.costs
        if (unplaced, bundles - problem.apiece[1], breaks, sharing - sum(placed)) == values:
            yield from (chosen for _, chosen in trails)


def _added(one: Sum, other: Sum) -> Sum:
    return Sum(
        (
            one.costs[0] + other.costs[0],
            one.costs[1] + other.costs[1],
            one.costs[2] + other.costs[2],
            one.costs[3] + other.costs[3],
        ),
        one.knobs + other.knobs,
        one.size + other.size,
        one.spreads | other.spreads,
    )


class _Family:
    """Goes through the ways to place one family's atoms."""

    def __init__(
        self,
        problem: Problem,
        places: Places,
        part: tuple[int, ...],
        pool: Sequence[Priced],
        room: _Room,
        classes: Sequence[int],
        watch: Watch | None,
    ) -> None:
        self._watch = watch
        self._classes = [members for members in classes if members & sum(1 << n for n in part)]
        self._problem = problem
        self._places = places
        self._room = room
        self._full = sum(1 << number for number in part)
        self._by_low: Mapping[int, list[tuple[Priced, Sum, Cluster]]] = {n: [] for n in part}
        for count, priced in enumerate(pool):
            if watch is not None and not count % LOOK and watch.over():
                raise TooManyVariantsError
            column = priced.column
            if column.atoms & self._full:
                low = (column.atoms & -column.atoms).bit_length() - 1
                cluster = places.cluster(column.items)
                self._by_low[low].append((priced, self._sum(column), cluster))
        self._known: dict[int, Ways] = {0: {Sum(): (0, [Variant((), 0)])}}
        self._steps = 0

    def ways(self) -> Ways:
        """Every way to place or leave out all atoms within the slack."""
        return self._of(self._full)

    def _sum(self, column: Column) -> Sum:
        spreads = sum(
            1 << at
            for at, spread in enumerate(self._problem.spreads)
            if spread.items & column.items
        )
        size = column.items.bit_count()
        return Sum(column.costs, 1, size, spreads)

    def _of(self, atoms: int) -> Ways:
        if atoms not in self._known:
            self._known[atoms] = self._pruned(list(self._extended(atoms)))
        return self._known[atoms]

    def _extended(self, atoms: int) -> Iterator[tuple[Sum, int, Variant]]:
        low = (atoms & -atoms).bit_length() - 1
        for priced, own, cluster in self._by_low[low]:
            taken = priced.column.atoms
            if taken & ~atoms or not takes_the_first(taken, atoms, self._classes):
                continue
            for total, (spent, variants) in self._of(atoms & ~taken).items():
                whole = _added(total, own)
                if self._room.has(whole, spent + priced.reduced):
                    for variant in variants:
                        grown = Variant((cluster, *variant.clusters), variant.omission)
                        yield whole, spent + priced.reduced, grown
        atom = self._problem.atoms[low]
        if not atom.needed:
            left_out = self._places.omission(atom.items)
            for total, (spent, variants) in self._of(atoms & ~(1 << low)).items():
                whole = _added(total, Sum(atom.costs))
                if self._room.has(whole, spent):
                    for variant in variants:
                        grown = Variant(variant.clusters, variant.omission + left_out)
                        yield whole, spent, grown

    def _pruned(self, found: list[tuple[Sum, int, Variant]]) -> Ways:
        self._steps += len(found) + 1
        if self._steps > MOST_STEPS or (self._watch is not None and self._watch.over()):
            raise TooManyVariantsError
        grouped: dict[Sum, tuple[int, list[Variant]]] = {}
        for total, spent, variant in found:
            least, variants = grouped.get(total, (spent, []))
            variants.append(variant)
            grouped[total] = min(least, spent), variants
        return {
            total: (least, undominated(all_, self._watch))
            for total, (least, all_) in grouped.items()
        }
