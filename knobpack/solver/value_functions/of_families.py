"""The fast way: families by value functions, then the knobs divided, then the clusters arranged.

Exact, and without search, wherever families are small and bear on each other only by the knobs
they take. What it cannot be sure of it leaves to the general model: it answers with a proof, or
not at all.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial

import attrs

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.arrange import best_choice
from knobpack.solver.arrangement.cluster import Choice, Places
from knobpack.solver.column_generation.knapsack_pricing import MOST_LOADS, TooManySetsError
from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.column_generation.terms import terms_of
from knobpack.solver.costs import FAR
from knobpack.solver.families import families
from knobpack.solver.optima.dominance import TooManyVariantsError, Variants
from knobpack.solver.optima.enumeration import MOST_WORK
from knobpack.solver.outcome import ImpossibleError, Outcome, Upper
from knobpack.solver.primal.by_families import cooled
from knobpack.solver.value_functions.division import Division, divide, share
from knobpack.solver.value_functions.scale import Offsets, Scale, free_knobs, scale_of
from knobpack.solver.value_functions.subset_dp import (
    LARGEST,
    SubsetTable,
    ValueFunction,
    omissions,
    subset_table_of,
    table_of,
)
from knobpack.solver.watch import Watch

SMALL = 11
"""Atoms in a family, at most, of which every cost is found at once, whether it is used or not."""

MANY, MOST_EACH = 2 * MOST_LOADS, 12
"""Where a family has more atoms than the first, and knobs carry more of large families on the mean
than the second, pricing sees only a part of what sets cost, and bounds by the number of loads are
better (``bounds/crowded.py``)."""

MORE_LOADS = 2
"""By so many loads more than knobs carry on the mean are told apart where sets are priced."""

LITTLE_WORK = 45_000_000
"""Steps of going through subsets that are few enough to take all families for small."""


@attrs.frozen(eq=False)
class ValueFunctions:
    """The families of a problem and how the knobs are best divided among them.

    Args:
        families: the value function of each family.
        division: how to divide the knobs that no atom is pinned to: in all ways that are best,
            if ``proven``.
        counts: how many of them each family takes in the best layout found.
        values: the values of the first four tiers there; unless ``sure``, the last is only no
            higher than it is.
        bounds: for each of them, no placement as good in those before has a lower value.
        exact: whether ``division`` is by costs that are exact.
        sure: whether no best placement could leave out all that a spread holds.
    """

    families: tuple[ValueFunction, ...]
    division: Division
    counts: tuple[int, ...]
    values: Upper
    bounds: Upper
    exact: bool
    sure: bool

    @property
    def proven(self) -> bool:
        """Whether the values are proven best, and all ways to come to them are known."""
        return self.sure and self.exact and self.values == self.bounds


def proven_value_functions_of(problem: Problem, watch: Watch) -> ValueFunctions | None:
    """Solve the first four tiers, or None where this way is not sure to be exact.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    found = value_functions_of(problem, watch)
    return found if found is not None and found.proven else None


def value_functions_of(problem: Problem, watch: Watch) -> ValueFunctions | None:
    """The value function of each family, be the whole they make sure to be exact or not.

    Returns:
        None where there are none: families bear on each other otherwise than by the knobs they
        take, or of a large one only a part might be placed, or the watch stopped the search.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    parts = families(problem)
    scale = scale_of(problem)
    if not scale.fits or problem.routes < problem.items:
        return None
    if _much_work(problem, parts):
        found = _with_large(problem, scale, parts, watch)
        if (found is not None and found.sure) or any(len(part) > LARGEST for part in parts):
            return found
    small: list[ValueFunction] = []
    for part in parts:
        if watch.over():
            return None
        small.append(small_family(problem, scale, part))
    division = divide([each.lowers for each in small], free_knobs(problem))
    if division.cost >= FAR:
        raise ImpossibleError
    offsets = Offsets.of(problem, scale, range(len(problem.atoms)), parts)
    values, counts = offsets.values(division.cost), next(division.all())
    sure = offsets.sure(values)
    return ValueFunctions(tuple(small), division, counts, values, values, exact=True, sure=sure)


def _much_work(problem: Problem, parts: Sequence[tuple[int, ...]]) -> bool:
    """Whether there are large families, and to go through all their subsets would take long."""
    largest = max(map(len, parts), default=0)
    if largest <= SMALL:
        return False
    work = sum(3 ** len(part) * most_knobs(problem, part) for part in parts)
    return largest > LARGEST or work > LITTLE_WORK


def small_family(problem: Problem, scale: Scale, part: tuple[int, ...]) -> SubsetTable:
    """The value function of a family that is small."""
    return subset_table_of(table_of(problem, scale, part), most_knobs(problem, part))


def _with_large(
    problem: Problem, scale: Scale, parts: Sequence[tuple[int, ...]], watch: Watch
) -> ValueFunctions | None:
    """Solve with large families, of which all or nothing is placed, with nothing broken."""
    of_large = {number for part in parts if len(part) > SMALL for number in part}
    # What costs less to leave out than to part a bundle may be worth leaving out by itself.
    free_to_leave = any(problem.atoms[number].free_to_leave for number in of_large)
    too_many = max(map(len, parts), default=0) > MANY
    too_many = too_many and len(of_large) > MOST_EACH * max(1, free_knobs(problem))
    if problem.breakable or free_to_leave or too_many:
        return None
    found: list[ValueFunction] = []
    for part in parts:
        if watch.over():
            return None
        if len(part) > SMALL:
            most = most_knobs(problem, part)
            omission, each = omissions(problem, scale, part)
            try:
                large = LargeFamily(
                    terms_of(problem, part, scale.bundles),
                    most,
                    watch,
                    omission=omission,
                    omissions=each,
                    loads=MORE_LOADS - (-len(of_large) // max(1, free_knobs(problem))),
                    annealed=partial(_annealed, problem, part, watch),
                )
            except TooManySetsError:
                return None
            found.append(large)
        else:
            found.append(small_family(problem, scale, part))
    offsets = Offsets.of(problem, scale, range(len(problem.atoms)), parts)

    def told(cost: int, bound: int) -> None:
        if cost < scale.unplaced and not any(offsets.lost):
            watch.tell_all(offsets.values(cost), offsets.bounds(cost, bound))

    shared = share(found, free_knobs(problem), watch, told)
    if shared is None or (shared.cost >= scale.unplaced and not shared.exact):
        return None
    values, exact = offsets.values(shared.cost), shared.exact
    bounds = values if exact else offsets.bounds(shared.cost, shared.bound)
    division, counts = shared.division, shared.counts
    sure = offsets.sure(values)
    return ValueFunctions(tuple(found), division, counts, values, bounds, exact=exact, sure=sure)


def _annealed(
    problem: Problem, part: Sequence[int], watch: Watch, knobs: int, moves: int
) -> list[int]:
    """The sets of a family, as places in it, after a cooling; empty: there are none."""
    found = cooled(problem, part, knobs, (), moves, watch) or {}
    place_of = {number: place for place, number in enumerate(part)}
    sets = problem.atoms_on(found).values()
    return [sum(1 << place_of[number] for number in bits(atoms)) for atoms in sets]


def arranged(problem: Problem, solved: ValueFunctions, watch: Watch) -> Outcome | None:
    """Solve the last two tiers over all that is best in the first four.

    Returns:
        The outcome, or None if none of it can be arranged.

    Raises:
        TooManyVariantsError: it would take too long.
    """
    places = Places.of(problem)
    best = best_choice(problem, list(_candidates(problem, solved, places, watch)), watch)
    if best is None:
        return None
    change, layout = places.values(best.cost)
    values = (*solved.values, change, layout)
    return Outcome(best.knobs, values, (*solved.values, *best.bounds(places)))


def some_sets(solved: ValueFunctions) -> list[int]:
    """Masks of the atoms of each set of the best layout found."""
    found = []
    for family, knobs in zip(solved.families, solved.counts, strict=True):
        atoms = family.table.atoms
        for places in _some_way(family, knobs):
            found.append(sum(1 << atoms[place] for place in bits(places)))  # noqa: PERF401
    return found


def _some_way(family: ValueFunction, knobs: int) -> Iterator[int]:
    """The sets of the best way known of a family on exactly so many knobs."""
    if isinstance(family, LargeFamily):
        if knobs in family.ways:
            yield from family.ways[knobs].sets
        return
    rest = family.table.full
    while rest:
        chosen, rest, knobs = next(family.choices(knobs, rest))
        if chosen:
            yield chosen


def _candidates(
    problem: Problem, solved: ValueFunctions, places: Places, watch: Watch
) -> Iterator[Choice]:
    """Everything that can be chosen and may be best."""
    omitted = sum(places.omission(atom.items) for atom in problem.atoms if not atom.knobs)
    work = 0
    variants = [Variants(family, places, watch) for family in solved.families]
    for counts in solved.division.all():
        own = [family.on(knobs) for family, knobs in zip(variants, counts, strict=True)]
        choice = Choice(tuple(map(tuple, own)), omitted)
        work += choice.work + 1
        if work > MOST_WORK:
            raise TooManyVariantsError
        yield choice


def most_knobs(problem: Problem, part: tuple[int, ...]) -> int:
    """So many knobs at most, that no atom is pinned to, are of use to a family."""
    loose = sum(1 for number in part if problem.atoms[number].pinned is None)
    return min(loose, free_knobs(problem))
