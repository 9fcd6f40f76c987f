"""The fast way: families by their frontiers, then the knobs divided, then the clusters arranged.

Exact, and without search, wherever families are small and bear on each other only by the knobs
they take. What it cannot be sure of it leaves to the general model: it answers with a proof, or
not at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import islice, product

import attrs

from knobpack.problem import Problem, bits
from knobpack.solver.arrange import best_arrangement
from knobpack.solver.cluster import Places, Variant
from knobpack.solver.costs import FAR
from knobpack.solver.division import Division, divide
from knobpack.solver.families import families
from knobpack.solver.frontier import LARGEST, Frontier, frontier_of, table_of
from knobpack.solver.outcome import ImpossibleError, Outcome
from knobpack.solver.scale import Scale, scale_of
from knobpack.solver.variants import TooManyVariantsError, Variants
from knobpack.solver.watch import Watch

MOST_COMBINATIONS = 2_000
"""Ways to combine variants of the families, at most."""


@attrs.frozen(eq=False)
class Frontiers:
    """The families of a problem and how the knobs are best divided among them.

    Args:
        families: the frontier of each family.
        division: how to divide the knobs that no atom is pinned to.
        values: the values of the first three tiers, proven.
    """

    families: tuple[Frontier, ...]
    division: Division
    values: tuple[int, int, int]


def frontiers_of(problem: Problem, watch: Watch) -> Frontiers | None:
    """Solve the first three tiers, or None where this way is not sure to be exact.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    parts = families(problem)
    scale = scale_of(problem)
    if (
        not scale.fits
        or problem.routes < problem.items
        or any(len(part) > LARGEST for part in parts)
    ):
        return None
    found = []
    for part in parts:
        if watch.over():
            return None
        found.append(frontier_of(table_of(problem, scale, part), _most_knobs(problem, part)))
    division = divide([each.costs for each in found], _free_knobs(problem))
    if division.cost >= FAR:
        raise ImpossibleError
    values = _values(problem, scale, division.cost)
    if _may_lose_a_spread(problem, values[0]):
        return None
    return Frontiers(tuple(found), division, values)


def arranged(problem: Problem, solved: Frontiers, watch: Watch) -> Outcome | None:
    """Solve the last two tiers over all that is best in the first three.

    Returns:
        The outcome, or None if none of it can be arranged, or the watch stopped it.

    Raises:
        TooManyVariantsError, TooManyStatesError: it would take too long.
    """
    places = Places.of(problem)
    best = best_arrangement(problem, list(_candidates(problem, solved, places)), watch)
    if best is None:
        return None
    change, layout = places.values(best.cost)
    values = (*solved.values, change, layout)
    knobs = {item: knob for knob, cluster in best.clusters.items() for item in bits(cluster.items)}
    return Outcome(knobs, values, values)


def best_sets(solved: Frontiers) -> set[int]:
    """Masks of the atoms of every set in some best solution of the first three tiers."""
    found: set[int] = set()
    for family, counts in zip(solved.families, solved.division.counts(), strict=True):
        for knobs in sorted(counts):
            found.update(family.best_sets(knobs))
    return found


def _candidates(problem: Problem, solved: Frontiers, places: Places) -> Iterator[Variant]:
    """Every combination of variants that may be best."""
    omitted = sum(places.omission(atom.items) for atom in problem.atoms if not atom.knobs)
    variants = [Variants(family, places) for family in solved.families]
    counted = 0
    for counts in islice(solved.division.all(), MOST_COMBINATIONS + 1):
        own = [family.on(knobs) for family, knobs in zip(variants, counts, strict=True)]
        counted += math.prod(len(each) for each in own)
        if counted > MOST_COMBINATIONS:
            raise TooManyVariantsError
        for chosen in product(*own):
            yield Variant.joined(chosen, omitted)


def _free_knobs(problem: Problem) -> int:
    """How many knobs no atom is pinned to, but some atom may be on."""
    usable = 0
    for atom in problem.atoms:
        usable |= atom.knobs
    pins = {atom.pinned for atom in problem.atoms if atom.pinned is not None}
    return sum(1 for knob in bits(usable) if knob not in pins)


def _most_knobs(problem: Problem, part: tuple[int, ...]) -> int:
    loose = sum(1 for number in part if problem.atoms[number].pinned is None)
    return min(loose, _free_knobs(problem))


def _values(problem: Problem, scale: Scale, cost: int) -> tuple[int, int, int]:
    """The three values; a spread's weight was counted on its first knob too, and comes off."""
    unplaced, breaks, sharing = scale.values(cost)
    unplaced += sum(atom.omission for atom in problem.atoms if not atom.knobs)
    placeable = sum(atom.items for atom in problem.atoms if atom.knobs)
    sharing -= sum(spread.weight for spread in problem.spreads if spread.items & placeable)
    return unplaced, breaks, sharing


def _may_lose_a_spread(problem: Problem, unplaced: int) -> bool:
    """Whether a best placement could leave out all that a spread holds.

    Its weight must then not come off, which the frontiers, that price sets one by one, cannot see.
    """
    lost = sum(atom.omission for atom in problem.atoms if not atom.knobs)
    for spread in problem.spreads:
        inside = [atom for atom in problem.atoms if atom.knobs and atom.items & spread.items]
        if not inside or any(atom.needed for atom in inside):
            continue
        if sum(atom.omission for atom in inside) <= unplaced - lost:
            return True
    return False
