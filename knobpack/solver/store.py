"""The store: the best placement so far and a bound for each tier, whoever found them.

Every stage may improve either, and none can lose what another found.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import cast

from knobpack.numbered.problem import Problem, sets_of
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import UPPER, Outcome, Upper, Values


class Store:
    """What is known of a problem."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.knobs: dict[int, int] = {}
        self.values: Values | None = None
        self._arranged: tuple[frozenset[int], int, int] | None = None
        self._bounds: list[list[tuple[int, tuple[int, ...]]]] = [[] for _ in problem.order]

    @property
    def upper(self) -> Upper:
        """The first four values of the best placement; there must be one."""
        first, second, third, fourth, *_ = self.values or (0, 0, 0, 0)
        return first, second, third, fourth

    def offer(self, knobs: Mapping[int, int] | None) -> None:
        """Take a placement, if it is better."""
        if knobs is None:
            return
        values = values_of(self.problem, knobs)
        if self.values is None or values < self.values:
            self.knobs, self.values = dict(knobs), values

    def arranged(self, knobs: Mapping[int, int], change: int, layout: int) -> None:
        """Take a bound on *layout*: of the sets of a placement, with no more in *change*."""
        sets = sets_of(knobs)
        if self._arranged is not None and self._arranged[:2] == (sets, change):
            layout = max(layout, self._arranged[2])
        self._arranged = sets, change, layout

    @property
    def as_shared(self) -> int:
        """What no placement of the sets of the best one, as good before, has less in *layout*."""
        if self.values is None or self._arranged is None:
            return 0
        sets, change, layout = self._arranged
        same = sets == sets_of(self.knobs) and change >= self.values[-2]
        return min(self.values[-1], layout) if same else 0

    def raise_to(self, tier: int, bound: int, held: Sequence[int]) -> None:
        """Take a bound: of placements whose earlier tiers are no worse than ``held``."""
        self._bounds[tier].append((bound, tuple(held)))

    def bound(self, tier: int) -> int:
        """What no placement as good as the best in the tiers before goes below.

        A bound that was found with more in an earlier tier holds; where there was less in one, as
        one before that became better since, it says nothing.
        """
        if self.values is None:
            return max((bound for bound, held in self._bounds[tier] if not held), default=0)
        stand = (
            bound
            for bound, held in self._bounds[tier]
            if all(value <= most for value, most in zip(self.values, held, strict=False))
        )
        return min(self.values[tier], max(stand, default=0))

    def met(self, tier: int) -> bool:
        """Whether a tier is at its bound."""
        return self.values is not None and self.values[tier] == self.bound(tier)

    @property
    def all_met(self) -> bool:
        """Whether each of the first four tiers is at its bound."""
        return all(map(self.met, range(UPPER)))

    def outcome(self) -> Outcome:
        """The best placement, with the value and bound of each tier; there must be one."""
        bounds = tuple(self.bound(tier) for tier in range(len(self._bounds)))
        values = cast("Values", self.values)
        return Outcome(self.knobs, values, cast("Values", bounds), self.as_shared)
