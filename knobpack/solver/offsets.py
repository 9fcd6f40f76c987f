"""What lies between the one number that frontiers count in and the values of the tiers."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.problem import Problem, bits
from knobpack.solver.outcome import Upper
from knobpack.solver.scale import Scale


@attrs.frozen(eq=False)
class Offsets:
    """What lies between the one number of the frontiers and the values of some atoms.

    Args:
        scale: the scale of the number.
        lost: what is unplaced in any case: the atoms that may be on no knob.
        spreads: the weights of all spreads: each was counted on its first knob too, and comes
            off. It must not where all of a spread is left out, which the frontiers, that price
            sets one by one, cannot see.
        losing: the least unplaced at which all of a spread could be left out; None: it never is.
    """

    scale: Scale
    lost: int
    spreads: int
    losing: int | None

    @classmethod
    def of(cls, problem: Problem, scale: Scale, numbers: Iterable[int]) -> Offsets:
        """Those of the atoms of these numbers."""
        numbers = tuple(numbers)
        atoms = [problem.atoms[number] for number in numbers]
        lost = sum(atom.omission for atom in atoms if not atom.knobs)
        weights, losing = 0, []
        items = problem.items_of(sum(1 << number for number in numbers))
        for spread in problem.spreads:
            if not spread.items & items:
                continue
            inside = [atom for atom in atoms if atom.knobs and atom.items & spread.items]
            weights += spread.weight if inside else 0
            if inside and not any(atom.needed for atom in inside):
                losing.append(lost + sum(atom.omission for atom in inside))
        return cls(scale, lost, weights, min(losing, default=None))

    def values(self, cost: int) -> Upper:
        """The three values of a number."""
        unplaced, breaks, sharing = self.scale.values(cost)
        return unplaced + self.lost, breaks, sharing - self.spreads

    def sure(self, values: Upper) -> bool:
        """Whether no placement of these values leaves out all of a spread."""
        return self.losing is None or values[0] < self.losing


def free_knobs(problem: Problem) -> int:
    """How many knobs no atom is pinned to, but some atom may be on."""
    usable = 0
    for atom in problem.atoms:
        usable |= atom.knobs
    pins = {atom.pinned for atom in problem.atoms if atom.pinned is not None}
    return sum(1 for knob in bits(usable) if knob not in pins)
