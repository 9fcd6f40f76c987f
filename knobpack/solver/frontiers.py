"""The fast way: families by their frontiers, then the knobs divided, then the clusters arranged.

Exact, and without search, wherever families are small and bear on each other only by the knobs
they take. What it cannot be sure of it leaves to the general model: it answers with a proof, or
not at all.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import islice

import attrs
import numpy as np

from knobpack.problem import Problem, bits
from knobpack.solver.alike import alike
from knobpack.solver.arrange import best_choice
from knobpack.solver.cluster import Choice, Places
from knobpack.solver.costs import FAR
from knobpack.solver.division import Division, divide
from knobpack.solver.families import families
from knobpack.solver.frontier import LARGEST, Frontier, frontier_of, table_of
from knobpack.solver.outcome import ImpossibleError, Known, KnownCosts, Outcome, Upper
from knobpack.solver.scale import Scale, scale_of
from knobpack.solver.ties import MOST_WORK
from knobpack.solver.variants import TooManyVariantsError, Variants
from knobpack.solver.watch import Watch

MOST_DIVISIONS = 2_000
"""Ways to divide the knobs among the families, at most."""


@attrs.frozen(eq=False)
class Frontiers:
    """The families of a problem and how the knobs are best divided among them.

    Args:
        families: the frontier of each family.
        division: how to divide the knobs that no atom is pinned to.
        values: the values of the first three tiers, proven if ``sure``.
        sure: whether no best placement could leave out all that a spread holds.
    """

    families: tuple[Frontier, ...]
    division: Division
    values: Upper
    sure: bool


def frontiers_of(problem: Problem, watch: Watch) -> Frontiers | None:
    """Solve the first three tiers, or None where this way is not sure to be exact.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    found = unsure_frontiers_of(problem, watch)
    return found if found is not None and found.sure else None


def unsure_frontiers_of(problem: Problem, watch: Watch) -> Frontiers | None:
    """The frontier of each family, be the whole they make sure to be exact or not.

    Returns:
        None where there are none: the families are too large or bear on each other otherwise
        than by the knobs they take, or the watch stopped the search.

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
    offsets = _Offsets.of(problem, scale, range(len(problem.atoms)))
    values = offsets.values(division.cost)
    return Frontiers(tuple(found), division, values, offsets.sure(values))


def arranged(problem: Problem, solved: Frontiers, watch: Watch) -> Outcome | None:
    """Solve the last two tiers over all that is best in the first three.

    Returns:
        The outcome, or None if none of it can be arranged.

    Raises:
        TooManyVariantsError: it would take too long.
    """
    places = Places.of(problem)
    best = best_choice(problem, list(_candidates(problem, solved, places)), watch)
    if best is None:
        return None
    change, layout = places.values(best.cost)
    values = (*solved.values, change, layout)
    knobs = {item: knob for knob, cluster in best.clusters.items() for item in bits(cluster.items)}
    return Outcome(knobs, values, (*solved.values, *best.bounds(places)))


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
    costs = [_known(problem, solved, whole, part) for part in (*parts, everything)]
    return Known(tuple(costs[:-1]), costs[-1])


def _known(
    problem: Problem, solved: Frontiers, whole: Problem, numbers: tuple[int, ...]
) -> KnownCosts:
    """What the families of some atoms come to together, on knobs that they divide as is best."""
    items = problem.items_of(sum(1 << number for number in numbers))
    placeable = {number for number in numbers if whole.atoms[number].knobs}
    loose = [problem.atoms[number] for number in placeable if whole.atoms[number].pinned is None]
    open_to = {atom.knobs & ~problem.pinned_knobs for atom in loose}
    if len(open_to) > 1 or 0 in open_to:
        # The knobs are not alike for them, or a knob more would be the first of its sort.
        return KnownCosts(items)
    scale, free = scale_of(problem), _free_knobs(problem)
    offsets = _Offsets.of(problem, scale, numbers)
    own = [each for each in solved.families if each.table.atoms[0] in placeable]
    # What may be on no knob there is might be on one knob more.
    most = free + (len(placeable) == len(numbers))
    least = divide([_costs(each, free) for each in own], most).least[0]
    exact = _exact_costs(problem, own[0], scale) if len(own) == 1 else []
    found: list[tuple[int, Upper | None]] = []
    for knobs, cost in enumerate(least):
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


def _candidates(problem: Problem, solved: Frontiers, places: Places) -> Iterator[Choice]:
    """Everything that can be chosen and may be best."""
    omitted = sum(places.omission(atom.items) for atom in problem.atoms if not atom.knobs)
    classes = alike(problem)
    variants = [Variants(family, places, classes) for family in solved.families]
    work = 0
    for counts in islice(solved.division.all(), MOST_DIVISIONS + 1):
        own = [family.on(knobs) for family, knobs in zip(variants, counts, strict=True)]
        choice = Choice(tuple(map(tuple, own)), omitted)
        work += choice.work + 1
        if work > MOST_WORK:
            raise TooManyVariantsError
        yield choice


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


def _costs(frontier: Frontier, free: int) -> list[int]:
    """The costs of a frontier, with one knob more than there are if it could use that."""
    costs, table = frontier.costs, frontier.table
    if len(costs) == free + 1:
        # Any set may be the one on the knob that is more; what remains has the others.
        rest = table.full ^ np.arange(table.full + 1)
        costs.append(min(int((table.free + frontier.best[-1, rest]).min()), FAR))
    return costs


def _exact_costs(problem: Problem, frontier: Frontier, scale: Scale) -> list[int]:
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
        atoms = [problem.atoms[number] for number in numbers]
        lost = sum(atom.omission for atom in atoms if not atom.knobs)
        weights, losing = 0, []
        for spread in problem.spreads:
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
