"""What sets of atoms cost on a knob, in one number for the first four tiers, added up quickly."""

from __future__ import annotations

import sys
from array import array
from collections import Counter
from collections.abc import Iterable
from typing import Literal

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.value_functions.scale import scale_of

MOST_KNOWN = 400_000
"""Prices of sets that are remembered, at most."""

Class = tuple[int, int]
"""The mask of its items, and what it costs a knob to have any of them."""

_LANES: dict[int, Literal["B", "H", "I"]] = {8: "B", 16: "H", 32: "I"}


class SetPrices:
    """What sets of atoms cost on a knob, in one number for the first four tiers.

    Each bundle and spread is counted on every knob, as in a column. All that a price is made of is
    a sum over atoms, many numbers side by side in one, each in a lane of its own: what is missed
    under each travel, and how many items are of each class, want each travel, and move in each
    breakable snapshot. So the sums of a set follow at once from those of another.

    Args:
        problem: the costs.
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self.scale = scale = scale_of(problem)
        atoms = problem.atoms
        everything = (1 << problem.items) - 1
        present = problem.items_of((1 << len(atoms)) - 1)
        weighted = [each for each in problem.touched if each[1]]
        weighted += [(bundle, scale.bundles) for bundle in problem.bundles]
        own = list(problem.by_itself)
        # What a single atom has of a class is its own: only classes of several need a lane.
        weighted, single = _of_several(weighted, problem, present)
        for number, (_, weight) in single:
            own[number] += weight
        # Of loads it is counted how many there are: those of several atoms, and the others.
        loads = [(load, 0) for load in problem.load_masks if problem.heap]
        several, single = _of_several(loads, problem, present)
        weighted += several
        alone = Counter(number for number, _ in single)
        # An intrusion is counted for both its sides: once too often for every set.
        self._base = -problem.first - sum(weight for _, weight in problem.intrusions)
        wishes = [
            sum(1 << item for item, wanted in enumerate(problem.wanted) if wanted == travel)
            for travel in range(len(problem.travel_prices))
        ]
        breakable: dict[int, int] = {}
        for moved, weight in problem.breakable:
            # To move what another holds, and the other way round, is broken by the same sets.
            side = min(moved, everything & ~moved)
            breakable[side] = breakable.get(side, 0) + weight * scale.breaks
        counted = [*(items for items, _ in weighted), *wishes, 0, *breakable]
        # A lane is one or two bytes, so that a row of them can be read at once.
        self._lane = lane = 8 if problem.items < 1 << 7 else 16 if problem.items < 1 << 15 else 32
        self._wishing, self._alone = len(weighted) * lane, (len(weighted) + len(wishes)) * lane
        self._breaking = self._alone + lane
        self._several = sum(
            1 << lane * at + lane - 1 for at in range(len(weighted) - len(several), len(weighted))
        )
        self._missing = self._breaking + len(breakable) * lane
        lanes = sum(1 << lane * at for at in range(len(weighted) + len(wishes)))
        # Added to counts, it sets the highest bit of each lane whose count is not zero.
        self._full = lanes * ((1 << lane - 1) - 1)
        self._wished = sum(1 << lane * (at + 1) - 1 for at in range(len(wishes)))
        by_weight: dict[int, int] = {}
        for at, (_, weight) in enumerate(weighted):
            by_weight[weight] = by_weight.get(weight, 0) | 1 << lane * at + lane - 1
        self._by_weight = [(mask, weight) for weight, mask in by_weight.items()]
        weights = list(breakable.values())
        self._breakable = weights if sys.byteorder == "little" else weights[::-1]
        counts = [alone[number] << self._alone for number in range(len(atoms))]
        self.classes = [0] * len(atoms)
        for at, items in enumerate(counted):
            for item in bits(items & present):
                counts[problem.atom_of[item]] += 1 << lane * at
                if at < len(weighted):
                    self.classes[problem.atom_of[item]] |= 1 << at
        self._pairs: list[dict[int, int]] = [{} for _ in atoms]
        for (one, other), weight in problem.atom_pairs.items():
            if one != other:
                self._pairs[one][other] = weight
        rows = [
            [cost + first for cost, first in zip(row, own, strict=True)]
            for row in problem.travel_costs
        ]
        self._wide = 1 + max((sum(row) for row in rows), default=0).bit_length()
        self.adds = [
            sum(row[number] << self._wide * at for at, row in enumerate(rows)) << self._missing
            | counts[number]
            for number in range(len(atoms))
        ]
        known: dict[int, int] = {0: 0}
        self._known = [{0: 0} if k in problem.kept_travels else known for k in range(problem.knobs)]

    def leaving(self, number: int) -> int:
        """What leaving an atom out costs."""
        return int(self.scale.cost(*self._problem.atoms[number].costs))

    def of(self, atoms: int, knob: int, size: int, sums: int) -> int:
        """What a set of atoms costs on a knob.

        Args:
            atoms: their mask.
            knob: the knob.
            size: how many items they have.
            sums: the sum of their ``adds``.
        """
        known = self._known[knob]
        found = known.get(atoms)
        if found is None:
            if len(known) >= MOST_KNOWN:
                known.clear()
                known[0] = 0
            kept = self._problem.kept_travels.get(knob)
            found = known[atoms] = self._priced(atoms, kept, size, sums)
        return found

    def _priced(self, atoms: int, kept: int | None, size: int, sums: int) -> int:
        value, lane, wide = self._base, self._lane, self._wide
        missed, counts = sums >> self._missing, sums & ((1 << self._missing) - 1)
        some = counts + self._full
        for own, weight in self._by_weight:
            value += weight * (some & own).bit_count()
        if kept is not None:
            value += missed >> wide * kept & (1 << wide) - 1
        else:
            value += self._missed(missed, some >> self._wishing & self._wished)
        if self._problem.heap:
            loads = (some & self._several).bit_count() + (counts >> self._alone & (1 << lane) - 1)
            value += self._problem.heap * ((loads - 1) * (loads - 2) // 2)
        if self._breakable:
            row = (counts >> self._breaking).to_bytes(
                len(self._breakable) * lane // 8, sys.byteorder
            )
            columns = zip(array(_LANES[lane], row), self._breakable, strict=True)
            value += sum([weight * (m if 2 * m < size else size - m) for m, weight in columns])
        if self._problem.pairs:
            value += self._paired(atoms)
        return value

    def _missed(self, missed: int, wanted: int) -> int:
        """What is missed under the cheapest of the travels wanted, each the top of a lane."""
        lane, wide = self._lane, self._wide
        cheapest = mask = (1 << wide) - 1
        while wanted:
            low = wanted & -wanted
            cheapest = min(cheapest, missed >> wide * (low.bit_length() // lane - 1) & mask)
            wanted ^= low
        return cheapest

    def _paired(self, atoms: int) -> int:
        pairs = (pair for number in bits(atoms) for pair in self._pairs[number].items())
        return sum(weight for other, weight in pairs if atoms >> other & 1)


def _of_several(
    classes: Iterable[Class], problem: Problem, present: int
) -> tuple[list[Class], list[tuple[int, Class]]]:
    """The classes that several atoms are of, and those of a single one, with its number."""
    several, single = [], []
    for each in classes:
        inside = {problem.atom_of[item] for item in bits(each[0] & present)}
        if len(inside) > 1:
            several.append(each)
        elif inside:
            single.append((inside.pop(), each))
    return several, single
