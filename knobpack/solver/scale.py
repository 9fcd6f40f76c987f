"""Scale: the first three tiers in one whole number, so that comparing numbers compares tiers."""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.problem import Problem
from knobpack.solver.costs import FAR


@attrs.frozen
class Scale:
    """How much one point of each tier weighs in the one number.

    Args:
        unplaced: weight of a point of the tier *unplaced*.
        breaks: weight of a point of the tier *independence*.
        fits: whether every cost possible stays within what 64 bits hold.
    """

    unplaced: int
    breaks: int
    fits: bool

    def cost(self, unplaced: Any, breaks: Any, sharing: Any) -> Any:
        """The one number for three values; whole numbers or arrays of them."""
        return unplaced * self.unplaced + breaks * self.breaks + sharing

    def values(self, cost: int) -> tuple[int, int, int]:
        """The three values of one number."""
        unplaced, rest = divmod(cost, self.unplaced)
        return (unplaced, *divmod(rest, self.breaks))


def scale_of(problem: Problem) -> Scale:
    """The scale on which no tier can ever outweigh the one before it."""
    count = problem.items
    sharing = count * (problem.crowd + problem.mix_kinds + problem.mix_voices)
    sharing += sum(max(row[item] for row in problem.travel_prices) for item in range(count))
    sharing += sum(spread.weight * spread.items.bit_count() for spread in problem.spreads)
    sharing += sum(problem.pairs.values())
    sharing += sum(weight * count for _, weight in problem.intrusions)
    breaks = sum(weight * count for _, weight in problem.breakable)
    omissions = sum(atom.omission for atom in problem.atoms)
    per_unplaced = (breaks + 1) * (sharing + 1)
    return Scale(per_unplaced, sharing + 1, fits=(omissions + 1) * per_unplaced < FAR)
