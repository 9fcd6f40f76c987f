"""Solving a problem: the fast way where it is exact, the general model everywhere else."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from itertools import groupby

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.arrange import ALWAYS
from knobpack.solver.arrangement.assignment import placed
from knobpack.solver.bounds.rearrangement import rearranged
from knobpack.solver.contraction import Pose, poses
from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
from knobpack.solver.cp_sat.in_use import compact, tier_by_tier
from knobpack.solver.general import general, packed
from knobpack.solver.last_tiers import rearrange
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.outcome import ImpossibleError, NothingFoundError, Outcome
from knobpack.solver.store import Store
from knobpack.solver.value_functions.of_families import (
    ValueFunctions,
    arranged,
    some_sets,
    value_functions_of,
)
from knobpack.solver.watch import Told, Watch

FAST = 0.5
"""What the way by families may take of the effort and time, at most."""

MOST_PLACES = 4_000
"""Atoms times knobs up to which the last two tiers are searched where there are many ties."""

BROKEN = 2
"""The position of the tier *independence*."""


def solve(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, tier by tier.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if problem.impossible:
        raise ImpossibleError
    outcome = compact(problem, watch) if problem.in_use else _posed_first(problem, watch)
    *held, value = outcome.values
    last = outcome.bounds[-1]
    if last < value and not (problem.knobs > ALWAYS and watch.hurried):
        last = max(last, rearranged(problem, held))
        watch.tell(len(held), value, last)
    bounds, as_shared = (*outcome.bounds[:-1], last), max(last, outcome.as_shared)
    return attrs.evolve(outcome, bounds=bounds, as_shared=as_shared)


def _posed_first(problem: Problem, watch: Watch) -> Outcome:
    """The best placement: of what may stand for the problem, where that does as well, or of it."""
    store = Store(problem)
    for joined, some in groupby(poses(problem), lambda pose: pose.joined):
        for pose in some:
            outcome = _while_it_holds(pose, store, watch)
            if outcome is not None:
                return outcome
        if joined and store.values is None:
            # Perhaps as bundles do not fit whole: some layout comes first.
            store.offer(packed(problem, watch, FAST))
    return _solved(problem, watch, store.knobs or None, None)


def _while_it_holds(pose: Pose, store: Store, watch: Watch) -> Outcome | None:
    """What is found of a pose if that can stand for the problem; else the store takes it.

    If everything can be placed, no bundle parted that need not be, and no more broken than atoms
    break by themselves, no best placement parts or breaks any more.
    """
    told, (_, least, *rest) = watch.told, pose.first
    broken = sum(rest)
    watch.told = _while_all_is_placed(told, least, broken) if told else None
    start = store.knobs or None if pose.broken is None else None
    try:
        outcome = _solved(pose.problem, watch, start, (0, least))
    except (ImpossibleError, NothingFoundError):
        return None
    finally:
        watch.told = told
    values, bounds = outcome.values, outcome.bounds
    if values[:2] != (0, least):
        store.offer(outcome.knobs)
        return None
    # No placement has less than that least, whatever the search itself could prove.
    return attrs.evolve(
        outcome,
        values=(*values[:2], values[2] + broken, *values[3:]),
        bounds=(bounds[0], max(bounds[1], least), bounds[2] + broken, *bounds[3:]),
    )


def _while_all_is_placed(told: Told, least: int, broken: int) -> Told:
    """Pass on what is known of the smaller problem only while it holds for the whole one too."""
    held = [True, True]

    def tell(tier: int, value: int | None, bound: int) -> None:
        if tier < BROKEN:
            held[tier] = value == (0, least)[tier]
        lost = not all(held)
        if not lost and tier == BROKEN and value is not None:
            told(tier, value + broken, bound + broken)
        elif not lost:
            told(tier, value, bound)

    return tell


def _solved(
    problem: Problem, watch: Watch, start: Mapping[int, int] | None, wanted: tuple[int, int] | None
) -> Outcome:
    """The best placement of a problem as it is.

    Args:
        problem: what is solved.
        watch: how long the search may go on.
        start: the knob of each item in a placement to start from, if one is known.
        wanted: the first two values, if other ones are of no use.

    Raises:
        ImpossibleError: no placement meets every demand, or comes to what is wanted.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if problem.impossible:
        raise ImpossibleError
    store = Store(problem)
    # What is left of a share is not lost: what it leaves open the general way goes on with.
    with watch.share(FAST) as own:
        own.told = watch.told
        solved = value_functions_of(problem, own)
    if wanted and solved is not None and solved.bounds[0]:
        raise ImpossibleError
    if solved is not None and solved.sure:
        _solve_fast(store, solved, watch)
    if solved is None or store.values is None or not store.all_met:
        store.offer(start)
        return general(store, watch, wanted)
    return attrs.evolve(store.outcome(), solved=(problem, solved))


def _solve_fast(store: Store, solved: ValueFunctions, watch: Watch) -> None:
    """Solve the last two tiers over what is best in the first four, or arrange the best known.

    Others as good as that may be laid out better. The store takes nothing where it can not be put
    on single knobs.
    """
    problem, many, outcome = store.problem, False, None
    watch.tell_all(solved.values, solved.bounds)
    try:
        outcome = arranged(problem, solved, watch) if solved.proven else None
    except TooManyVariantsError:
        many = True
    store.offer(outcome.knobs if outcome else placed(problem, some_sets(solved)))
    for tier, bound in enumerate(outcome.bounds if outcome else solved.bounds):
        store.raise_to(tier, bound, (outcome or solved).values[:tier])
    if store.values is None:
        return
    if outcome is None:
        rearrange(problem, store, watch)
        if many and len(problem.atoms) * problem.knobs <= MOST_PLACES:
            with suppress(CutShortError):
                tier_by_tier(store, watch)
    watch.tell_all(store.values, map(store.bound, range(len(store.values))))
