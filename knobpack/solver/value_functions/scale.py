"""Scale: the first four tiers in one whole number, so that comparing numbers compares tiers."""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.costs import FAR
from knobpack.solver.families import families
from knobpack.solver.outcome import Upper


@attrs.frozen
class Scale:
    """How much one point of each tier weighs in the one number.

    Args:
        unplaced: weight of a point of the tier *unplaced*.
        bundles: weight of a point of the tier *bundles*.
        breaks: weight of a point of the tier *independence*.
        fits: whether every cost possible stays within what 64 bits hold.
    """

    unplaced: int
    bundles: int
    breaks: int
    fits: bool

    def cost(self, unplaced: Any, bundles: Any, breaks: Any, sharing: Any) -> Any:
        """The one number for four values; whole numbers or arrays of them."""
        upper = unplaced * self.unplaced + bundles * self.bundles
        return upper + breaks * self.breaks + sharing

    def values(self, cost: int) -> Upper:
        """The four values of one number."""
        unplaced, rest = divmod(cost, self.unplaced)
        bundles, rest = divmod(rest, self.bundles)
        return (unplaced, bundles, *divmod(rest, self.breaks))


def scale_of(problem: Problem) -> Scale:
    """The scale on which no tier can ever outweigh the one before it."""
    count = problem.items
    sharing = count * problem.first
    sharing += sum(max(row[item] for row in problem.travel_prices) for item in range(count))
    sharing += sum(spread.weight * spread.items.bit_count() for spread in problem.spreads)
    sharing += sum(problem.pairs.values())
    sharing += problem.heap * sum(_twos(problem, part) for part in families(problem))
    sharing += sum(weight * count for _, weight in problem.intrusions)
    sharing += sum(atom.hidden for atom in problem.atoms)
    breaks = sum(weight * count for _, weight in problem.breakable)
    # On knobs and left out alike, each item of a bundle counts once at most.
    bundles = sum(bundle.bit_count() for bundle in problem.bundles)
    omissions = sum(atom.omission for atom in problem.atoms)
    per_bundle = (breaks + 1) * (sharing + 1)
    per_unplaced = (bundles + 1) * per_bundle
    fits = (omissions + 1) * per_unplaced < FAR
    return Scale(per_unplaced, per_bundle, sharing + 1, fits)


def _twos(problem: Problem, part: tuple[int, ...]) -> int:
    """How often, at most, two loads of a family are on one knob."""
    items = problem.items_of(sum(1 << number for number in part))
    loads = sum(1 for load in problem.load_masks if load & items)
    return loads * (min(loads, problem.per_knob) - 1) // 2
