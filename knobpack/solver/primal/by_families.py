"""Annealing family by family, each on knobs of its own, which are divided among them anew.

Families never share a knob, so what each costs on so many knobs adds up. A cooling of all of them
is as good as their luck together; here each keeps the best that any cooling came to, for every
number of knobs that it may well have, and a dynamic programme (``division.py``) finds which of
these go together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs

from knobpack.numbered.less import part_of
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.assignment import placed
from knobpack.solver.costs import FAR
from knobpack.solver.primal.annealing import Annealing
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.primal.set_prices import SetPrices
from knobpack.solver.value_functions.division import divide
from knobpack.solver.watch import Watch

HOT = 150.0
"""The temperature to begin with: with knobs of its own nothing has to be taken from others."""

SHORTEST = 75
"""Moves for each atom in the first cooling of a family; each after it is twice as long. So it soon
shows how many knobs each family is worth."""

FEWEST = 2
"""Atoms of a family that is annealed, at least."""


@attrs.define
class _Entry:
    """A family on so many knobs.

    Args:
        cost: what the best way costs.
        sets: that way; empty knobs are not among them.
        coolings: how many there were.
        gain: what the last of them gained.
    """

    cost: int = FAR
    sets: tuple[int, ...] = ()
    coolings: int = 0
    gain: int = 0


class ByFamilies:
    """A search that goes on from where it was.

    Args:
        problem: what to place.
        parts: its families, as numbers of atoms.
        start: the knob of each item in a placement that meets every demand.
    """

    def __init__(
        self, problem: Problem, parts: Sequence[tuple[int, ...]], start: Mapping[int, int]
    ) -> None:
        self._problem, self._parts = problem, parts
        self._prices = SetPrices(problem)
        self._masks = [sum(1 << number for number in part) for part in parts]
        self._pool = (1 << problem.knobs) - 1 & ~problem.pinned_knobs
        # Where routes are short, families bear on each other by more than knobs.
        enough = self._pool and problem.routes >= problem.items and self._prices.scale.fits
        anywhere = [
            at
            for at, mask in enumerate(self._masks)
            if enough and problem.knobs_of(mask) == self._pool
        ]
        self._loose = [at for at in anywhere if len(parts[at]) >= FEWEST]
        self._entries: list[dict[int, _Entry]] = [{} for _ in parts]
        # What is alone is on a knob or left out: which is best may change with what others need.
        self._single = [at for at in anywhere if len(parts[at]) == 1]
        self.sets: set[int] = set()
        self.learn(start)

    @property
    def apart(self) -> bool:
        """Whether several families can be annealed by themselves."""
        return len(self._loose) > 1

    def learn(self, knobs: Mapping[int, int]) -> None:
        """Take what each family has in a placement, the knob of each item."""
        on = self._problem.atoms_on(knobs)
        for at, mask in enumerate(self._masks):
            own = {knob: atoms for knob, atoms in on.items() if atoms & mask}
            if at in self._single:
                if not self._problem.atoms[self._parts[at][0]].needed:
                    self._offer(at, {})
                self._offer(at, {next(bits(self._pool)): mask})
            else:
                if at not in self._loose:
                    self._entries[at].clear()  # it stays as it is in the placement
                self._offer(at, own)

    def _offer(self, at: int, on: Mapping[int, int]) -> None:
        """Take a way of a family, the atoms on each knob, if it is better."""
        prices, sizes, left = self._prices, self._problem.atoms, self._masks[at]
        cost = 0
        for knob, atoms in on.items():
            size = sum(sizes[number].size for number in bits(atoms))
            sums = sum(prices.adds[number] for number in bits(atoms))
            cost += prices.of(atoms, knob, size, sums)
            left &= ~atoms
        cost += sum(prices.leaving(number) for number in bits(left))
        entry = self._entries[at].setdefault(len(on), _Entry())
        if cost < entry.cost:
            entry.gain = entry.cost - cost
            entry.cost, entry.sets = cost, tuple(on.values())
            self.sets.update(entry.sets)

    def run(self, watch: Watch) -> dict[int, int] | None:
        """Cool one family after the other, each time twice as slowly, until the watch is over.

        Returns:
            The knob of each item in the best placement of what is known.
        """
        while not watch.over():
            chosen = self._next()
            if chosen is None:
                break
            self._cool(*chosen, watch)
        _, counts = self._division()
        ways = zip(self._entries, counts, strict=True)
        return placed(
            self._problem, [own for entries, knobs in ways for own in entries[knobs].sets]
        )

    def _division(self, at: int = -1, knobs: int = 0) -> tuple[int, tuple[int, ...]]:
        """What all cost at least, and how many knobs each family has then.

        Args:
            at: a family that has so many knobs; -1: any may have any number.
            knobs: that number.
        """
        costs = []
        for family, entries in enumerate(self._entries):
            own = [FAR] * (max(entries) + 1)
            for count, entry in entries.items():
                own[count] = entry.cost if family != at or count == knobs else FAR
            costs.append(own)
        division = divide(costs, self._problem.knobs)
        return division.cost, next(division.all(), ())

    def _next(self) -> tuple[int, int] | None:
        """The family to be cooled next, and on how many knobs."""
        least, counts = self._division()
        gains = (self._entries[at][counts[at]].gain for at in self._loose)
        hope = max(gains, default=0)
        found = []
        for at in self._loose:
            most = min(self._pool.bit_count(), len(self._parts[at]))
            for more in (0, 1, -1):
                knobs = counts[at] + more
                entry = self._entries[at].get(knobs, _Entry())
                # On one knob there is hardly anything to choose.
                if not 1 <= knobs <= most or (knobs == 1 and entry.coolings):
                    continue
                # What misses more than coolings still gain is not tried again.
                if more and entry.coolings > 1 and self._division(at, knobs)[0] - least > hope:
                    continue
                found.append((entry.coolings + bool(more) / 2, len(self._parts[at]), at, knobs))
        return min(found)[2:] if found else None

    def _cool(self, at: int, knobs: int, watch: Watch) -> None:
        """Cool a family down once on so many knobs."""
        numbers, entry = self._parts[at], self._entries[at].setdefault(knobs, _Entry())
        entry.coolings += 1
        entry.gain = 0
        # A cooling does not leave all behind that it began with.
        start = entry.sets if entry.coolings % 2 else ()
        moves = SHORTEST * len(numbers) << entry.coolings - 1
        found = cooled(self._problem, numbers, knobs, start, moves, watch)
        if found is not None:
            self._offer(at, self._problem.atoms_on(found))


def cooled(
    problem: Problem,
    numbers: Sequence[int],
    knobs: int,
    sets: Sequence[int],
    moves: int,
    watch: Watch,
) -> dict[int, int] | None:
    """A family on so many knobs that all of it may be on, after a cooling.

    Args:
        problem: the problem.
        numbers: the atoms of the family.
        knobs: how many knobs it has.
        sets: the atoms on each, to begin with; empty: whatever is found soon.
        moves: how long the cooling is.
        watch: what may make it shorter.

    Returns:
        The knob of each item; None where nothing is found to begin with.
    """
    pool = list(bits(problem.knobs_of(sum(1 << number for number in numbers))))[:knobs]
    if len(pool) < knobs:
        return None
    part = part_of(problem, numbers, sum(1 << knob for knob in pool), problem.routes)
    on = zip(pool, map(problem.items_of, sets), strict=False)
    start = {item: knob for knob, items in on for item in bits(items)} or greedy(part, watch)
    if start is None:
        return None
    annealing = Annealing(part, start)
    annealing.cool(moves, watch, HOT)
    return annealing.best
