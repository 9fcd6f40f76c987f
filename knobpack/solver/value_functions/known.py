"""What value functions say of the costs with other numbers of knobs, as far as it is exact."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias
from weakref import finalize

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.contraction import Least, poses
from knobpack.solver.costs import FAR
from knobpack.solver.families import families
from knobpack.solver.outcome import Upper
from knobpack.solver.value_functions.division import divide
from knobpack.solver.value_functions.of_families import (
    SMALL,
    ValueFunctions,
    small_family,
    value_functions_of,
)
from knobpack.solver.value_functions.scale import Offsets, Scale, free_knobs, scale_of
from knobpack.solver.value_functions.subset_dp import SubsetTable, ValueFunction, subset_table_of
from knobpack.solver.watch import Watch

Solved: TypeAlias = tuple[Problem, ValueFunctions]
"""A problem as it was posed in the end, and the value functions of its families."""

MOST_BYTES = 200_000
"""What is remembered of one search, at most."""

MOST_PLACES = 1 << 15
"""Items times knobs of a problem that is remembered, at most."""

_SOLVED: dict[int, Solved] = {}
"""What was solved, by the identity of what was made of it, as long as that is there."""

_NUMBERED: dict[int, Problem] = {}
"""The problem as it was before it was posed, likewise."""


@attrs.frozen
class KnownCosts:
    """The least that some items come to in the first four tiers with so many knobs.

    Args:
        items: mask of the items: those of a family, or of all that may be on a knob.
        costs: a number of knobs that no atom is pinned to, and the least values on at most so
            many of them; None: no placement meets every demand there. Numbers that are not
            listed are not known.
    """

    items: int
    costs: tuple[tuple[int, Upper | None], ...] = ()


@attrs.frozen
class Known:
    """What is known of the costs with other numbers of knobs.

    Args:
        families: what each family costs, the others left as they are.
        whole: what all of it costs, the knobs divided anew.
    """

    families: tuple[KnownCosts, ...]
    whole: KnownCosts


def remember(of: object, solved: Solved | None, problem: Problem | None) -> None:
    """Keep what was solved as long as there is what was made of it, if it is small.

    Args:
        of: what was made of it.
        solved: the problem that was posed, and the value functions of its families.
        problem: the problem before it was posed; None: it is not known.
    """
    if solved is not None and sum(map(_bytes, solved[1].families)) <= MOST_BYTES:
        _SOLVED[id(of)] = solved
        finalize(of, _SOLVED.pop, id(of), None).atexit = False
    if problem is not None and problem.items * problem.knobs <= MOST_PLACES:
        _NUMBERED[id(of)] = problem
        finalize(of, _NUMBERED.pop, id(of), None).atexit = False


def numbered(of: object) -> Problem | None:
    """The problem that something was made of, where it is still known."""
    return _NUMBERED.get(id(of))


def known_costs(problem: Problem, values: Upper, watch: Watch, of: object = None) -> Known | None:
    """What the value functions say of the costs with other numbers of knobs.

    Args:
        problem: what was solved.
        values: the first four of the best placement known.
        watch: what may cut it short.
        of: what was made of it; where the value functions are still known, they are taken.

    Returns:
        What they say; None where there are no value functions.
    """
    pose = next((each for each in poses(problem) if each.holds(values)), None)
    posed = problem if pose is None else pose.problem
    floor = None if pose is None else pose.floor
    solved = _remembered(of, posed) or value_functions_of(posed, watch)
    if solved is None:
        return None
    parts = [problem.items_of(sum(1 << number for number in own)) for own in families(problem)]
    everything = (1 << problem.items) - 1
    scale = scale_of(posed)
    found = []
    for items in (*parts, everything):
        known = _known(posed, problem, scale, solved.families, floor, items)
        own = pose.broken(items) if pose is not None and pose.broken is not None else 0
        costs = ((n, each and (*each[:2], each[2] + own, each[3])) for n, each in known.costs)
        found.append(KnownCosts(items, tuple(costs)))
    return Known(tuple(found[:-1]), found[-1])


def costs_of_family(problem: Problem, items: int, scale: Scale) -> KnownCosts:
    """What a family costs with each number of knobs, by its subsets, however it is laid out best.

    Args:
        problem: what was solved.
        items: mask of the items of the family.
        scale: the scale of the problem.

    Returns:
        Its costs; none, where it is large.
    """
    part = next((own for own in families(problem) if problem.atoms[own[0]].items & items), ())
    if not 0 < len(part) <= SMALL or not scale.fits or problem.routes < problem.items:
        return KnownCosts(items)
    return _known(problem, problem, scale, [small_family(problem, scale, part)], None, items)


def _remembered(of: object, posed: Problem) -> ValueFunctions | None:
    """The value functions of a problem, if they are known from what something was made of."""
    known, solved = _SOLVED.get(id(of), (None, None))
    return solved if known is not None and known.poses_the_same_as(posed) else None


def _bytes(value_function: ValueFunction) -> int:
    return value_function.best.nbytes if isinstance(value_function, SubsetTable) else 1 + MOST_BYTES


def _known(
    problem: Problem,
    whole: Problem,
    scale: Scale,
    solved: Sequence[ValueFunction],
    floor: Least | None,
    items: int,
) -> KnownCosts:
    """What the families of some items come to together, on knobs that they divide as is best."""
    numbers = [number for number, atom in enumerate(problem.atoms) if atom.items & items]
    placeable = {number for number in numbers if problem.atoms[number].knobs}
    if floor is not None and len(placeable) < len(numbers):
        return KnownCosts(items)
    loose = [atom for atom in whole.atoms if atom.items & items and atom.pinned is None]
    open_to = {atom.knobs & ~whole.pinned_knobs for atom in loose if atom.knobs}
    free = free_knobs(problem)
    if len(open_to) > 1 or 0 in open_to or free != free_knobs(whole):
        # The knobs are not alike for them, or a knob more would be the first of its sort.
        return KnownCosts(items)
    own = [each for each in solved if each.table.atoms[0] in placeable]
    offsets = Offsets.of(problem, scale, numbers, [each.table.atoms for each in own])
    # What may be on no knob there is might be on one knob more.
    most = free + (len(placeable) == len(numbers))
    between = [_between(each, free) for each in own]
    least = divide([lowers for lowers, _ in between], most).least[0]
    known = divide([uppers for _, uppers in between], most).least[0]
    large = any(isinstance(each, LargeFamily) for each in own)
    wanted = None if floor is None else (0, floor(items))
    found: list[tuple[int, Upper | None]] = []
    for knobs, cost in enumerate(least):
        if cost != known[knobs] or (large and cost >= scale.unplaced):
            # Of large families only what the division needed is known, and all of them placed.
            continue
        values = offsets.values(cost) if cost < FAR else None
        if wanted is not None and (values is None or values[:2] != wanted):
            continue
        if values is None or offsets.sure(values):
            found.append((knobs, values))
    return KnownCosts(items, tuple(found))


def _between(value_function: ValueFunction, free: int) -> tuple[list[int], list[int]]:
    """Bounds and costs known, with one knob more than there are if it could use that."""
    lowers, uppers = value_function.lowers, value_function.uppers
    if len(lowers) < free + 1:
        return lowers, uppers
    if isinstance(value_function, SubsetTable):
        costs = subset_table_of(value_function.table, free + 1, value_function).costs
        return costs, costs
    return [*lowers, 0], uppers  # of a large family nothing is known of a knob that there is not
