"""Dividing the knobs among the families: a small dynamic programme over their frontiers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

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
        yield from self._from(0, len(self.least[0]) - 1, self.cost)

    def _from(self, family: int, knobs: int, cost: int) -> Iterator[tuple[int, ...]]:
        if family == len(self.costs):
            yield ()
            return
        for taken, own in enumerate(self.costs[family][: knobs + 1]):
            rest = self.least[family + 1][knobs - taken]
            if own < FAR and rest < FAR and own + rest == cost:
                for others in self._from(family + 1, knobs - taken, rest):
                    yield (taken, *others)


def divide(costs: Sequence[Sequence[int]], knobs: int) -> Division:
    """Divide ``knobs`` among families whose frontiers are ``costs``.

    Args:
        costs: for each family, its cost on exactly 0, 1, 2, … knobs, FAR where it is impossible.
        knobs: how many there are to divide; not all need be taken.
    """
    least: list[list[int]] = [[0] * (knobs + 1)]
    for own in reversed(costs):
        after = least[0]
        least.insert(
            0,
            [
                min(
                    (own[taken] + after[most - taken] for taken in range(min(most + 1, len(own)))),
                    default=FAR,
                )
                for most in range(knobs + 1)
            ],
        )
    return Division(min(least[0][knobs], FAR), tuple(costs), tuple(least))
