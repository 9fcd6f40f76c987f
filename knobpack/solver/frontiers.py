"""The fast way: families by their frontiers, then the knobs divided, then the clusters arranged.

Exact, and without search, wherever families are small and bear on each other only by the knobs
they take. What it cannot be sure of it leaves to the general model: it answers with a proof, or
not at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice, product

import attrs
import numpy as np

from knobpack.problem import Problem, bits
from knobpack.solver.arrange import best_arrangement
from knobpack.solver.cluster import Places, Variant
from knobpack.solver.costs import FAR
from knobpack.solver.division import Division, divide
from knobpack.solver.families import families
from knobpack.solver.frontier import LARGEST, Frontier, TableFrontier, frontier_of, table_of
from knobpack.solver.large import LargeFrontier
from knobpack.solver.outcome import ImpossibleError, Known, KnownCosts, Outcome, Upper
from knobpack.solver.scale import Scale, scale_of
from knobpack.solver.sharing import share
from knobpack.solver.terms import MOST_ATOMS, terms_of
from knobpack.solver.variants import TooManyVariantsError, Variants
from knobpack.solver.watch import Watch

SMALL = 11
"""Atoms in a family, at most, of which every cost is found at once, whether it is used or not."""

MOST_COMBINATIONS = 2_000
"""Ways to combine variants of the families, at most."""


@attrs.frozen(eq=False)
class Frontiers:
    """The families of a problem and how the knobs are best divided among them.

    Args:
        families: the frontier of each family.
        division: how to divide the knobs that no atom is pinned to: in all ways that are best,
            if ``proven``.
        counts: how many of them each family takes in the best layout found.
        values: the values of the first three tiers there.
        bound: no placement has a lower value in the third tier; those of the others are proven.
        exact: whether ``division`` is by costs that are exact.
        sure: whether no best placement could leave out all that a spread holds.
    """

    families: tuple[Frontier, ...]
    division: Division
    counts: tuple[int, ...]
    values: Upper
    bound: int
    exact: bool
    sure: bool

    @property
    def proven(self) -> bool:
        """Whether the values are proven best, and all ways to come to them are known."""
        return self.sure and self.exact and self.values[2] == self.bound


def frontiers_of(problem: Problem, watch: Watch) -> Frontiers | None:
    """Solve the first three tiers, or None where this way is not sure to be exact.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    found = unsure_frontiers_of(problem, watch)
    return found if found is not None and found.proven else None


def unsure_frontiers_of(problem: Problem, watch: Watch) -> Frontiers | None:
    """The frontier of each family, be the whole they make sure to be exact or not.

    Returns:
        None where there are none: families bear on each other otherwise than by the knobs they
        take, or not all can be placed and there is a large one, or the watch stopped the search.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    parts = families(problem)
    scale = scale_of(problem)
    if not scale.fits or problem.routes < problem.items:
        return None
    if any(len(part) > SMALL for part in parts):
        found = _with_large(problem, scale, parts, watch)
        if found is not None or any(len(part) > LARGEST for part in parts):
            return found
    frontiers = []
    for part in parts:
        if watch.over():
            return None
        frontiers.append(_small(problem, scale, part))
    division = divide([each.costs for each in frontiers], _free_knobs(problem))
    if division.cost >= FAR:
        raise ImpossibleError
    offsets = _Offsets.of(problem, scale, range(len(problem.atoms)))
    values = offsets.values(division.cost)
    counts = next(division.all())
    sure = offsets.sure(values)
    return Frontiers(tuple(frontiers), division, counts, values, values[2], exact=True, sure=sure)


def _small(problem: Problem, scale: Scale, part: tuple[int, ...]) -> TableFrontier:
    return frontier_of(table_of(problem, scale, part), _most_knobs(problem, part))


def _with_large(
    problem: Problem, scale: Scale, parts: Sequence[tuple[int, ...]], watch: Watch
) -> Frontiers | None:
    """Solve with large families, which takes that all can be placed with nothing broken."""
    free_to_leave = any(a.knobs and not a.needed and not a.omission for a in problem.atoms)
    too_large = any(len(part) > MOST_ATOMS for part in parts)
    if problem.breakable or free_to_leave or too_large:
        return None
    found: list[Frontier] = []
    for part in parts:
        if len(part) > SMALL:
            most = _most_knobs(problem, part)
            found.append(LargeFrontier(terms_of(problem, part), most, watch))
        else:
            found.append(_small(problem, scale, part))
    offsets = _Offsets.of(problem, scale, range(len(problem.atoms)))

    def told(cost: int, bound: int) -> None:
        if cost < scale.unplaced:
            watch.tell(2, offsets.values(cost)[2], max(0, bound - offsets.spreads))

    shared = share(found, _free_knobs(problem), watch, told)
    if shared is None or shared.cost >= scale.unplaced:
        return None
    bound = max(0, shared.bound - offsets.spreads)
    values = offsets.values(shared.cost)
    exact = shared.exact
    division, counts = shared.division, shared.counts
    return Frontiers(tuple(found), division, counts, values, bound, exact=exact, sure=True)


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


def known_costs(problem: Problem, solved: Frontiers, whole: Problem) -> Known:
    """What the frontiers say of the costs with other numbers of knobs.

    Args:
        problem: what was solved.
        solved: its frontiers.
        whole: what was asked. Where ``problem`` is that with nothing broken, each of its families
            is part of one of the whole, and its costs hold only where all is placed.
    """
    own = [frontier.table.atoms for frontier in solved.families]
    parts = own if problem is whole else families(whole)
    everything = tuple(range(len(whole.atoms)))
    scale = scale_of(problem)
    costs = [_known(problem, scale, solved, whole, part) for part in (*parts, everything)]
    return Known(tuple(costs[:-1]), costs[-1])


def _known(
    problem: Problem,
    scale: Scale,
    solved: Frontiers,
    whole: Problem,
    numbers: tuple[int, ...],
) -> KnownCosts:
    """What the families of some atoms come to together, on knobs that they divide as is best."""
    items = problem.items_of(sum(1 << number for number in numbers))
    placeable = {number for number in numbers if whole.atoms[number].knobs}
    loose = [problem.atoms[number] for number in placeable if whole.atoms[number].pinned is None]
    open_to = {atom.knobs & ~problem.pinned_knobs for atom in loose}
    if len(open_to) > 1 or 0 in open_to:
        # The knobs are not alike for them, or a knob more would be the first of its sort.
        return KnownCosts(items)
    free = _free_knobs(problem)
    offsets = _Offsets.of(problem, scale, numbers)
    own = [each for each in solved.families if each.table.atoms[0] in placeable]
    # What may be on no knob there is might be on one knob more.
    most = free + (len(placeable) == len(numbers))
    least = divide([_lowers(each, free) for each in own], most).least[0]
    known = divide([_uppers(each, free) for each in own], most).least[0]
    large = any(isinstance(each, LargeFrontier) for each in own)
    alone = own[0] if len(own) == 1 else None
    exact = _exact_costs(problem, alone, scale) if isinstance(alone, TableFrontier) else []
    found: list[tuple[int, Upper | None]] = []
    for knobs, cost in enumerate(least):
        if cost != known[knobs] or (large and cost >= scale.unplaced):
            # Of large families only what the division needed is known, and all of them placed.
            continue
        values = offsets.values(cost) if cost < FAR else None
        if problem is not whole and (values is None or values[0]):
            continue
        if values is None or offsets.sure(values):
            found.append((knobs, values))
        elif knobs <= free and exact:
            found.append((knobs, offsets.values(min(exact[: knobs + 1]))))
    return KnownCosts(items, tuple(found))


def best_sets(solved: Frontiers) -> set[int]:
    """Masks of the atoms of every set in some best solution of the first three tiers."""
    found: set[int] = set()
    for family, counts in zip(solved.families, solved.division.counts(), strict=True):
        for knobs in sorted(counts):
            found.update(family.best_sets(knobs))
    return found


def some_sets(solved: Frontiers) -> list[int]:
    """Masks of the atoms of each set of the best layout found."""
    found = []
    for family, knobs in zip(solved.families, solved.counts, strict=True):
        atoms = family.table.atoms
        for places in _some_way(family, knobs):
            found.append(sum(1 << atoms[place] for place in bits(places)))  # noqa: PERF401
    return found


def _some_way(family: Frontier, knobs: int) -> Iterator[int]:
    """The sets of the best way known of a family on exactly so many knobs."""
    if isinstance(family, LargeFrontier):
        yield from family.ways[knobs].sets
        return
    rest = family.table.full
    while rest:
        chosen, rest, knobs = next(family.choices(knobs, rest))
        if chosen:
            yield chosen


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


def _lowers(frontier: Frontier, free: int) -> list[int]:
    """The bounds of a frontier, with one knob more than there are if it could use that."""
    if isinstance(frontier, TableFrontier):
        return _costs(frontier, free)
    # Of a large family nothing is known of a knob that there is not.
    lowers = frontier.lowers
    return [*lowers, 0] if len(lowers) == free + 1 else lowers


def _uppers(frontier: Frontier, free: int) -> list[int]:
    """The costs of the ways known, with one knob more than there are if it could use that."""
    return _costs(frontier, free) if isinstance(frontier, TableFrontier) else frontier.uppers


def _costs(frontier: TableFrontier, free: int) -> list[int]:
    """The costs of a frontier, with one knob more than there are if it could use that."""
    costs, table = frontier.costs, frontier.table
    if len(costs) == free + 1:
        # Any set may be the one on the knob that is more; what remains has the others.
        rest = table.full ^ np.arange(table.full + 1)
        costs.append(min(int((table.free + frontier.best[-1, rest]).min()), FAR))
    return costs


def _exact_costs(problem: Problem, frontier: TableFrontier, scale: Scale) -> list[int]:
    """The costs of a frontier, with the weight of each spread that is left out whole.

    Returns:
        Nothing where something costs nothing to leave out: it is then not clear what is placed.
    """
    table = frontier.table
    if not table.omission.all():
        return []
    placed = np.arange(table.full + 1)
    extra = np.zeros_like(placed)
    for place, omission in enumerate(table.omission):
        extra = np.minimum(extra + np.where(placed >> place & 1, 0, omission), FAR)
    for spread in problem.spreads:
        inside = sum(
            1 << place
            for place, number in enumerate(table.atoms)
            if problem.atoms[number].items & spread.items
        )
        extra += np.where(placed & inside, 0, spread.weight if inside else 0)
    # What cannot all be placed costs a point of the first tier or more.
    whole = np.where(frontier.best < scale.unplaced, frontier.best, FAR)
    return [int(cost) for cost in (whole + extra).min(axis=1)]


@attrs.frozen(eq=False)
class _Offsets:
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
    def of(cls, problem: Problem, scale: Scale, numbers: Iterable[int]) -> _Offsets:
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
