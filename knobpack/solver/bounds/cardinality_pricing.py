"""What sets of a family cost at least, by dynamic programming over their loads.

A heap of loads is a convex price on how many loads a set has, which no minimum cut sees. Here loads
are counted: sets are put together class by class of one mix, each class giving its best loads, by
how many classes and how many loads there are so far: a knapsack with set-up costs. Of a second mix
only so much is known as how many classes so many loads take at least, however they are chosen. What
else a set costs is shared out among all that may bring it about, or left out, so that bounds hold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import Mix, Problem, bits
from knobpack.solver.costs import FAR, QUANTUM, Whole

OVERHEAD = 4_000
"""Numbers that take as long as a step by itself."""


@attrs.frozen
class Least:
    """What was found at some prices.

    Args:
        cost: no set has a lower reduced cost, in 1024ths.
        places: the atoms of the set that the bound came of, which need not be valid.
        work: how many numbers were looked at.
    """

    cost: int
    places: list[int]
    work: int


class CardinalityPricing:
    """What sets of a family cost at least in the tier *sharing*, by their loads and classes.

    Args:
        problem: the costs.
        part: the numbers of the family's atoms.
    """

    def __init__(self, problem: Problem, part: Sequence[int]) -> None:
        self._part, self._atoms = part, [problem.atoms[number] for number in part]
        self._items = problem.items_of(sum(1 << number for number in part))
        # What is joined of a mix that is not of all is counted, not priced (``crowded.py``).
        of_all = (mix for mix in problem.mixes if mix.of_all and not mix.heap)
        self._mixes = [self._own_part(mix) for mix in of_all]
        several = (mix for mix in self._mixes if mix.masks)
        self._through, self._counted, *self._others = (*several, Mix(0), Mix(0))
        self._once = QUANTUM * problem.first
        self.loads = self._places(problem)
        self.adds = self._adds(problem)
        rows = [self._classes_of(own, self._through) for own in self.loads]
        columns = [self._classes_of(own, self._counted) for own in self.loads]
        self._class = _one_each(rows, len(self._through.masks))
        self._by_loads = self._costs_by_loads(problem, _one_each(columns, len(self._counted.masks)))

    def _own_part(self, mix: Mix) -> Mix:
        """A mix with no classes but those that the family has some of."""
        return Mix(mix.weight, tuple(mask for mask in mix.masks if mask & self._items))

    def _places(self, problem: Problem) -> list[list[int]]:
        """For each load, the places of its atoms; an atom of several counts as of the first."""
        taken: set[int] = set()
        found = []
        for load in (load for load in problem.load_masks if load & self._items):
            own = [n for n, a in enumerate(self._atoms) if a.items & load and n not in taken]
            taken.update(own)
            if own:
                found.append(own)
        return found

    def _adds(self, problem: Problem) -> Whole:
        """(travels, atoms) what each atom adds, in 1024ths, but for loads and the two mixes."""
        alone = dict.fromkeys(bits(self._items), 0)
        for mix in self._mixes:
            for item in bits(mix.alone(self._items)):
                alone[item] += mix.weight
        shared = [(spread.items, spread.weight) for spread in problem.spreads]
        shared += [(mask, mix.weight) for mix in self._others for mask in mix.masks]
        pairs = [problem.atom_pairs.get((number, number), 0) for number in self._part]
        wanted = {problem.wanted[item] for atom in self._atoms for item in bits(atom.items)}
        kept = {
            problem.kept_travels[atom.pinned]
            for atom in self._atoms
            if atom.pinned is not None and atom.pinned in problem.kept_travels
        }
        rows = [
            [
                sum(problem.travel_prices[travel][item] + alone[item] for item in bits(atom.items))
                for atom in self._atoms
            ]
            for travel in sorted(wanted | kept)
        ]
        found: Whole = QUANTUM * (np.array(rows, dtype=np.int64) + pairs)
        for items, weight in shared:
            own = [place for place, atom in enumerate(self._atoms) if atom.items & items]
            found[:, own] += QUANTUM * weight // max(1, len(own))
        return found

    def _classes_of(self, places: Sequence[int], mix: Mix) -> frozenset[int]:
        """The classes of a mix that a set has if it has any of these atoms."""
        sets = [
            frozenset(at for at, mask in enumerate(mix.masks) if self._atoms[place].items & mask)
            for place in places
        ]
        return frozenset.intersection(*sets)

    def _costs_by_loads(self, problem: Problem, columns: Whole) -> Whole:
        """(classes + 1, loads + 1) what so many classes counted and so many loads cost.

        So many classes of either mix hold no more loads than if each of the one went with those of
        the other that suit it best; where that is too few for so many loads, more are needed.
        """
        sizes = sorted(min(self._atoms[place].size for place in own) for own in self.loads)
        loads = np.arange(max(1, int((np.cumsum(sizes) <= problem.per_knob).sum())) + 1)
        join = sum(mix.weight for mix in problem.mixes if mix.heap)
        heaps = join * loads + problem.heap * ((loads - 1) * (loads - 2) // 2)
        cells = np.zeros((len(self._through.masks) + 1, len(self._counted.masks) + 1), np.int64)
        np.add.at(cells, (self._class, columns), 1)
        room = np.minimum(_best_cells(cells), _best_cells(cells.T).T)
        counted = (room[:, :, None] < loads).sum(axis=1)
        costs = heaps + self._counted.weight * counted
        return np.where(counted > len(self._counted.masks), FAR, QUANTUM * costs)

    @property
    def most(self) -> int:
        """The loads of a set at most, so that it fits on a knob."""
        return len(self._by_loads[0]) - 1

    @property
    def by_loads(self) -> Whole:
        """(loads + 1,) what a set of so many loads costs at least, but for what its atoms add."""
        classes = np.arange(len(self._by_loads))[:, None]
        costs = self._by_loads + QUANTUM * self._through.weight * classes
        least: Whole = costs.min(axis=0) - self._once
        return least

    def cheapest(self, prices: Whole, most: int) -> Least:
        """A bound on the reduced cost of any set of so many loads at most.

        Args:
            prices: what each atom is worth, in 1024ths.
            most: 1 or more.
        """
        adds = self.adds - prices
        values = self._values(adds)
        by_loads = self._by_loads[:, : most + 1]
        table = _Table(values, self._class, by_loads.shape)
        paid = np.arange(len(by_loads))[:, None]
        besides = by_loads + QUANTUM * self._through.weight * paid - self._once
        costs = (table.costs + besides)[:, :, 1:]
        travel, count, loads = map(int, np.unravel_index(costs.argmin(), costs.shape))
        least = int(costs[travel, count, loads])
        if least >= 0:
            return Least(0, [], table.work)
        found = _Table(values[travel : travel + 1], self._class, by_loads.shape, keep=True)
        some = found.chosen(count, loads + 1)
        places = [place for load in some for place in self._some_of(load, adds[travel])]
        return Least(least, places, table.work)

    def _values(self, adds: Whole) -> Whole:
        """(travels, loads) what the best of each load adds."""
        rows = [adds[:, own[0]] if len(own) == 1 else _best_of(adds[:, own]) for own in self.loads]
        return np.array(rows, dtype=np.int64).T

    def _some_of(self, load: int, adds: Whole) -> list[int]:
        """The places of the atoms of a load that make it the cheapest."""
        places = self.loads[load]
        below = [place for place in places if adds[place] < 0]
        return below or [min(places, key=lambda place: (int(adds[place]), place))]


class _Table:
    """The cheapest choice of loads for each number of classes and loads.

    Args:
        values: (travels, loads) what each load adds.
        classes: of each load; the last: it is of none.
        shape: how many classes there are, and how many loads are chosen at most, each and one.
        keep: whether to know afterwards what is chosen for the first travel.

    ``costs`` is (travels, classes + 1, loads + 1); about FAR where there is no such choice.
    """

    def __init__(
        self, values: Whole, classes: Whole, shape: tuple[int, ...], *, keep: bool = False
    ) -> None:
        self.costs = np.full((len(values), *shape), FAR, dtype=np.int64)
        self.costs[:, 0, 0] = 0
        self.work = 0
        self._stages: list[tuple[int, Whole, Whole]] = []
        count = shape[0] - 1
        for own in (count, *range(count)):
            members = np.nonzero(classes == own)[0]
            if len(members):
                self._take(values, members, int(own != count), keep=keep)

    def _take(self, values: Whole, members: NDArray[np.intp], by: int, *, keep: bool) -> None:
        """Choose any number of the loads of a class, its best ones; it counts as so many."""
        order = np.argsort(values[:, members], axis=1, kind="stable")
        sums = np.cumsum(np.take_along_axis(values[:, members], order, axis=1), axis=1)
        before, chosen = self.costs.copy(), np.zeros_like(self.costs[0])
        for count in range(1, min(len(members), self.costs.shape[2] - 1) + 1):
            new = before[:, : before.shape[1] - by, :-count] + sums[:, count - 1, None, None]
            old = self.costs[:, by:, count:]
            if keep:
                chosen[by:, count:][new[0] < old[0]] = count
            np.minimum(old, new, out=old)
            self.work += new.size + OVERHEAD
        if keep:
            self._stages.append((by, members[order[0]], chosen))

    def chosen(self, classes: int, loads: int) -> Iterator[int]:
        """The loads of the choice of so many classes and loads."""
        for by, order, chosen in reversed(self._stages):
            count = int(chosen[classes, loads])
            yield from order[:count].tolist()
            classes, loads = classes - (by if count else 0), loads - count


def _best_of(adds: Whole) -> Whole:
    """(travels,) the least that any of some atoms add, (travels, atoms)."""
    below: Whole = np.minimum(0, adds).sum(axis=1)
    return np.where(below < 0, below, adds.min(axis=1))


def _one_each(sets: Sequence[frozenset[int]], count: int) -> Whole:
    """For each of some sets of classes the rarest of them; ``count`` where there is none."""
    times = [0] * count
    for own in sets:
        for each in own:
            times[each] += 1
    chosen = [min(own, key=lambda each: (times[each], each), default=count) for own in sets]
    return np.array(chosen, dtype=np.int64)


def _best_cells(cells: Whole) -> Whole:
    """(rows, columns) how many so many rows and columns hold, each column with its own best rows.

    Those of the last row and the last column of ``cells`` are there in any case.
    """
    inner, beside, below = cells[:-1, :-1], cells[:-1, -1], cells[-1, :-1]
    tall = _sums(inner, axis=0) + below
    found: Whole = _sums(tall, axis=1) + (_sums(beside, axis=0) + cells[-1, -1])[:, None]
    return found


def _sums(table: Whole, axis: int) -> Whole:
    """The sums of the 0, 1, 2, … largest along an axis."""
    sums = np.cumsum(-np.sort(-table, axis=axis), axis=axis)
    begun: Whole = np.insert(sums, 0, 0, axis=axis)
    return begun
