"""Outcome: what the solver hands back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs

if TYPE_CHECKING:
    from knobpack.numbered.problem import Problem
    from knobpack.solver.value_functions.of_families import ValueFunctions

UPPER = 4
"""How many tiers come before those that are about single knobs."""

Values = tuple[int, int, int, int, int, int]
"""The value of each tier, in order."""

Upper = tuple[int, int, int, int]
"""The values of the first four tiers."""


@attrs.frozen
class Outcome:
    """A placement, with the value and bound of each tier.

    Args:
        knobs: the knob of each item; items that are not in it are left out.
        values: the value of each tier, in order.
        bounds: for each tier, a value that no placement as good in the tiers before goes below.
        as_shared: of placements of the same sets, each on any knob, that are as good in the tiers
            before the last, none is below this in the last.
        solved: the problem that was posed in the end, and the value functions of its families,
            where these led to the placement.
        asked: the problem before it was posed.
    """

    knobs: dict[int, int]
    values: Values
    bounds: Values
    as_shared: int = 0
    solved: tuple[Problem, ValueFunctions] | None = attrs.field(default=None, eq=False, repr=False)
    asked: Problem | None = attrs.field(default=None, eq=False, repr=False)

    @property
    def proven(self) -> tuple[bool, ...]:
        """For each tier, whether it and all before it are proven best."""
        met = [value == bound for value, bound in zip(self.values, self.bounds, strict=True)]
        return tuple(all(met[: tier + 1]) for tier in range(len(met)))


class ImpossibleError(Exception):
    """No placement meets every demand. Never leaves the package."""


class NothingFoundError(Exception):
    """The search was stopped before it knew any placement. Never leaves the package."""
