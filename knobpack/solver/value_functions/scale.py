"""Scale: the first four tiers in one whole number, so that comparing numbers compares tiers.

Value functions count in it; its *offsets* are what lies between their number and the values.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs

from knobpack.numbered.problem import Problem, bits
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
    sharing = count * sum(mix.weight for mix in problem.mixes)
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


@attrs.frozen(eq=False)
class Offsets:
    """What lies between the one number of the value functions and the values of some atoms.

    Args:
        scale: the scale of the number.
        lost: what is left out in any case costs in each tier: the atoms that may be on no knob.
        bundles: how many bundles there are: each counts a knob less than it is on.
        spreads: the weights of all spreads: each was counted on its first knob too, and comes
            off. It must not where all of a spread is left out. The value function of a family
            prices that if all of the spread is of that family, and else cannot see it.
        unseen: the least unplaced at which all of a spread that no family has all of may be left
            out; None: that cannot be.
    """

    scale: Scale
    lost: Upper
    bundles: int
    spreads: int
    unseen: int | None

    @classmethod
    def of(
        cls,
        problem: Problem,
        scale: Scale,
        numbers: Sequence[int],
        families: Sequence[tuple[int, ...]],
    ) -> Offsets:
        """Those of the atoms of these numbers; each is of one of the families, or on no knob."""
        atoms = [problem.atoms[number] for number in numbers]
        nowhere = [(0, 0, 0, 0), *(atom.costs for atom in atoms if not atom.knobs)]
        unplaced, strays, breaks, hidden = (sum(tier) for tier in zip(*nowhere, strict=True))
        items = problem.items_of(sum(1 << number for number in numbers))
        inside = sum(1 << number for number in numbers)
        masks = [sum(1 << number for number in family) for family in families]
        weights, unseen = 0, []
        for spread, whole in zip(problem.spreads, problem.spread_atoms, strict=True):
            own = whole & inside
            weights += spread.weight if own else 0
            members = [problem.atoms[number] for number in bits(own)]
            seen = any(not whole & ~mask for mask in masks)
            if own and not seen and not any(atom.needed for atom in members):
                unseen.append(unplaced + sum(atom.omission for atom in members))
        bundles = sum(bool(bundle & items) for bundle in problem.bundles)
        lost = unplaced, strays, breaks, hidden
        return cls(scale, lost, bundles, weights, min(unseen, default=None))

    def values(self, cost: int) -> Upper:
        """The four values of a number."""
        unplaced, bundles, breaks, sharing = self.scale.values(cost)
        return (
            unplaced + self.lost[0],
            bundles + self.lost[1] - self.bundles,
            breaks,
            sharing + self.lost[3] - self.spreads,
        )

    def bounds(self, cost: int, bound: int) -> Upper:
        """For each tier a bound, where no number is below ``bound`` and one is ``cost``.

        A tier is bounded only if those before it are proven.
        """
        values, lowest = self.values(cost), self.values(bound)
        found = [0, 0, 0, 0]
        for tier, (value, low) in enumerate(zip(values, lowest, strict=True)):
            found[tier] = max(0, min(value, low))
            if value != low:
                break
        return found[0], found[1], found[2], found[3]

    def sure(self, values: Upper) -> bool:
        """Whether no placement of these values leaves out all of a spread unseen."""
        return self.unseen is None or values[0] < self.unseen


def free_knobs(problem: Problem) -> int:
    """How many knobs no atom is pinned to, but some atom may be on."""
    return (problem.open_knobs & ~problem.pinned_knobs).bit_count()
