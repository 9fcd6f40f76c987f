"""Dividing the knobs among the families: a small dynamic programme over their value functions."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs
import numpy as np

from knobpack.solver.costs import FAR


@attrs.frozen
class Division:
    """How to divide the knobs.

    Args:
        cost: the least total cost; FAR if no division is possible.
        costs: for each family, its cost on exactly 0, 1, 2, … knobs.
        least: for each family, the least cost of it and all after it on at most 0, 1, 2, … knobs.
    """

    cost: int
    costs: tuple[Sequence[int], ...]
    least: tuple[Sequence[int], ...]

    def all(self) -> Iterator[tuple[int, ...]]:
        """Every division of least cost: how many knobs each family takes."""
        waiting: list[tuple[int, ...]] = [()]
        while waiting:
            taken = waiting.pop()
            if len(taken) == len(self.costs):
                yield taken
                continue
            left = len(self.least[0]) - 1 - sum(taken)
            # Pushed from the last to the first, so that the fewest knobs are tried first.
            waiting.extend((*taken, own) for own in reversed(self._best(len(taken), left)))

    def counts(self) -> list[set[int]]:
        """For each family, every number of knobs it takes in some division of least cost."""
        found = []
        left = {len(self.least[0]) - 1}
        for family in range(len(self.costs)):
            choices = [(knobs, own) for knobs in left for own in self._best(family, knobs)]
            found.append({own for _, own in choices})
            left = {knobs - own for knobs, own in choices}
        return found

    def _best(self, family: int, knobs: int) -> list[int]:
        """How many of the knobs left a family takes where it and all after it cost least."""
        target = self.least[family][knobs]
        return [
            own
            for own, price in enumerate(self.costs[family][: knobs + 1])
            if target < FAR and price + self.least[family + 1][knobs - own] == target
        ]


def divide(costs: Sequence[Sequence[int]], knobs: int) -> Division:
    """Divide ``knobs`` among families whose value functions are ``costs``.

    Args:
        costs: for each family, its cost on exactly 0, 1, 2, … knobs, FAR where it is impossible.
        knobs: how many there are to divide; not all need be taken.
    """
    after = np.zeros(knobs + 1, dtype=np.int64)
    least = [after.tolist()]
    for own in reversed(costs):
        best = np.full(knobs + 1, FAR, dtype=np.int64)
        for taken, price in enumerate(own[: knobs + 1]):
            if price < FAR:
                best[taken:] = np.minimum(best[taken:], price + after[: knobs + 1 - taken])
        after = best
        least.append(after.tolist())
    least.reverse()
    return Division(least[0][knobs], tuple(costs), tuple(least))
