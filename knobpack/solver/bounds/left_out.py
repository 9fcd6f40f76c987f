"""A bound on *sharing* where routes are few, so that it matters what is left out.

Earlier tiers say how much may be left out, in points. Each point is charged a fee, and what may be
left out comes off: a Lagrangian relaxation (Geoffrion 1974, from memory). Then families bear on
each other by the knobs they take alone, and column generation bounds each, what is left out being
columns too. The bound is concave in the fee, which is raised and lowered by ever smaller steps.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.column_generation.knapsack_pricing import MOST_LOADS, TooManySetsError
from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.column_generation.terms import terms_of
from knobpack.solver.families import families
from knobpack.solver.value_functions.division import divide
from knobpack.solver.value_functions.of_families import SMALL, most_knobs, small_family
from knobpack.solver.value_functions.scale import Scale, free_knobs
from knobpack.solver.value_functions.subset_dp import omissions
from knobpack.solver.watch import Watch

STEPS = 2.0, 1.4, 1.15, 1.05, 1.02
"""The fee is multiplied and divided by these, one after the other, as long as that is better."""

NEAR = 0, 1, -1
"""So many knobs more than in the best placement each family is bounded on first."""


def left_out_bound(
    problem: Problem, held: Sequence[int], most: int, placed: Mapping[int, int], watch: Watch
) -> tuple[int, list[int]]:
    """No placement whose earlier tiers are no worse than ``held`` has less in *sharing*.

    Args:
        problem: the costs.
        held: the values of the earlier tiers.
        most: a value that is reached; a bound as high ends the search.
        placed: the knob of each item in such a placement.
        watch: what may cut it short.

    Returns:
        The bound, 0 where there is none; and sets of atoms, as masks, that came up on the way.
    """
    charged = [own.omission for own in problem.atoms if not own.needed and own.omission]
    if not charged or not held[0]:
        return 0, []
    try:
        relaxation = _Relaxation(problem, held[0], placed, watch)
    except TooManySetsError:
        return 0, []
    fee = max(1, most // (len(problem.atoms) * min(charged)))
    known = {fee: relaxation.bound(fee)}
    for factor in (factor for step in STEPS for factor in (step, 1 / step)):
        while known[fee] < most and not watch.over():
            other = max(1, round(fee * factor))
            if other not in known:
                known[other] = relaxation.bound(other)
            if known[other] <= known[fee]:
                break
            fee = other
    return max(0, min(known[fee], most)), relaxation.sets


class _Relaxation:
    """The families of a problem, some of which may be left out for a fee.

    Args:
        problem: the costs.
        spare: how many points may be left out.
        placed: the knob of each item in a placement that leaves out no more.
        watch: what may cut it short.

    Raises:
        TooManySetsError: there are too many atoms to price their sets.
    """

    def __init__(
        self, problem: Problem, spare: int, placed: Mapping[int, int], watch: Watch
    ) -> None:
        self._problem, self._spare, self._watch = problem, spare, watch
        self._parts, self._knobs = families(problem), free_knobs(problem)
        self._large = {
            part: LargeFamily(
                terms_of(problem, part, 0),
                most_knobs(problem, part),
                watch,
                loads=min(MOST_LOADS, problem.per_knob),
            )
            for part in self._parts
            if len(part) > SMALL
        }
        on = [
            atoms
            for knob, atoms in problem.atoms_on(placed).items()
            if not problem.pinned_knobs >> knob & 1
        ]
        self._used = {
            part: sum(1 for atoms in on if atoms & sum(1 << number for number in part))
            for part in self._large
        }

    @property
    def sets(self) -> list[int]:
        """Masks of the atoms of the sets that large families may be made of."""
        return [
            sum(1 << part[place] for place in bits(own))
            for part, family in self._large.items()
            for own in family.programme.known
        ]

    def bound(self, fee: int) -> int:
        """The bound at a fee for each point that is left out."""
        problem, large = self._problem, self._large
        scale = Scale(fee, 0, 0, fits=True)
        small = {
            part: small_family(problem, scale, part).lowers
            for part in self._parts
            if part not in large
        }
        for part, family in large.items():
            family.charge(*omissions(problem, scale, part))
            for more in NEAR:
                family.relax_all(min(family.most, self._used[part] + more))
        while True:
            lowers = [small.get(part) or large[part].lowers for part in self._parts]
            division = divide(lowers, self._knobs)
            counts = zip(self._parts, division.counts(), strict=True)
            used = [(large[part], n) for part, own in counts if part in large for n in own]
            if all(family.relax_all(knobs) for family, knobs in used):
                break
        lost = sum(fee * own.omission + own.hidden for own in problem.atoms if not own.knobs)
        return division.cost + lost - fee * self._spare - problem.apiece[3]
