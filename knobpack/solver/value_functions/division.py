"""Dividing the knobs among the families: a small dynamic programme over their value functions.

Small families have all their costs from the start; large ones have ways and bounds. The knobs are
divided by the bounds; what that division uses is bounded better, then made exact, until a division
uses only exact costs: then it is best. The division by the ways is the best layout at any time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol

import attrs
import numpy as np

from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.costs import FAR
from knobpack.solver.value_functions.subset_dp import ValueFunction
from knobpack.solver.watch import Watch

MOST_ROUNDS = 200
"""Rounds of column generation at the best division known, at most."""

FEW_ROUNDS = 4
"""Rounds after which it is looked whether a division would still use what is bounded."""

PATIENCE = 3
"""How often that may bound all of it no better before the best division known is left."""


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


class Told(Protocol):
    """Takes the cost of the best layout known, and the bound."""

    def __call__(self, cost: int, bound: int) -> None:
        """Take them."""


@attrs.frozen(eq=False)
class Shared:
    """What is known in the end.

    Args:
        division: how the knobs are divided where costs are as low as the bounds.
        cost: that of the best layout found; FAR: none was.
        bound: no layout costs less.
        counts: how many knobs each family takes in that layout.
        exact: whether every cost that a best division uses is exact, so that all are known.
    """

    division: Division
    cost: int
    bound: int
    counts: tuple[int, ...]
    exact: bool


def share(families: Sequence[ValueFunction], knobs: int, watch: Watch, told: Told) -> Shared | None:
    """Divide knobs among families, making the costs of the large ones exact where that matters.

    Args:
        families: the value functions of all families.
        knobs: how many there are that no atom is pinned to.
        watch: what may cut the work short.
        told: told of each better layout and bound.

    Returns:
        What was found; None if no layout was.
    """
    return _Sharing(families, knobs, watch, told).run()


class _Sharing:
    """The search for the best division."""

    def __init__(
        self, families: Sequence[ValueFunction], knobs: int, watch: Watch, told: Told
    ) -> None:
        self.families = families
        self.large = {
            at: family for at, family in enumerate(families) if isinstance(family, LargeFamily)
        }
        self.knobs = knobs
        self.watch = watch
        self.told = told
        self.bound = 0

    def run(self) -> Shared | None:
        upper = self.upper()
        if upper.cost >= FAR:
            return None
        self.tell(upper)
        self.relax_first(self.used(upper))
        lower = self.lower()
        while not self.watch.over():
            self.tell(self.upper())
            # All entries that a best division can use matter: to prove it, and to know all ties.
            used = self.possible(lower)
            rough = [each for each in used if not self.large[each[0]].relaxed_at(each[1])]
            open_ = [each for each in used if self.large[each[0]].open_at(each[1])]
            if rough:
                self.relax(rough, FEW_ROUNDS)
            elif open_:
                for at, knobs in open_:
                    self.large[at].settle(knobs)
            else:
                break
            lower = self.lower()
        upper = self.upper()
        self.tell(upper)
        exact = lower.cost >= upper.cost and all(
            self.large[at].exact(knobs) for at, knobs in self.possible(lower)
        )
        bound = min(max(self.bound, lower.cost), upper.cost)
        return Shared(lower, upper.cost, bound, next(upper.all()), exact)

    def upper(self) -> Division:
        """The best division by the ways that are known."""
        return divide([each.uppers for each in self.families], self.knobs)

    def lower(self) -> Division:
        """The best division by the bounds."""
        division = divide([each.lowers for each in self.families], self.knobs)
        self.bound = max(self.bound, division.cost)
        return division

    def tell(self, upper: Division) -> None:
        self.told(upper.cost, min(self.bound, upper.cost))

    def used(self, division: Division) -> list[tuple[int, int]]:
        """The large families, and how many knobs each takes."""
        return [(at, n) for at, n in enumerate(next(division.all())) if at in self.large]

    def possible(self, division: Division) -> list[tuple[int, int]]:
        """The large families, and every number of knobs each takes in some best division."""
        return [
            (at, knobs)
            for at, counts in enumerate(division.counts())
            if at in self.large
            for knobs in sorted(counts)
        ]

    def relax(self, entries: Sequence[tuple[int, int]], rounds: int) -> None:
        """Bound some entries by so many rounds of column generation, or as well as these can."""
        active = list(entries)
        for _ in range(rounds):
            active = [each for each in active if not self.large[each[0]].relaxed_at(each[1])]
            if not active or self.watch.over():
                break
            for at, knobs in active:
                self.large[at].relax(knobs)

    def relax_first(self, entries: Sequence[tuple[int, int]]) -> None:
        """Bound the entries of the best division known, as long as that bounds all divisions.

        Where it does not, others are cheaper as far as is known: this is not how to divide.
        """
        in_vain, least = 0, -1
        for _ in range(MOST_ROUNDS // FEW_ROUNDS):
            self.relax(entries, FEW_ROUNDS)
            in_vain = 0 if self.lower().cost > least else in_vain + 1
            least = max(least, self.bound)
            if in_vain == PATIENCE or all(self.large[at].relaxed_at(n) for at, n in entries):
                return
