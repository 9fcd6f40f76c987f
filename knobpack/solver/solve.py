"""Solving a problem: the fast way where it is exact, the general model everywhere else."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress

import attrs

from knobpack.numbered.less import breaking_only, broken_by_atoms
from knobpack.numbered.problem import Problem, sets_of
from knobpack.solver.arrangement.arrange import ALWAYS
from knobpack.solver.arrangement.assignment import placed
from knobpack.solver.bounds.rearrangement import rearranged
from knobpack.solver.contraction import contracted, may_all_be_placed
from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
from knobpack.solver.cp_sat.in_use import compact, tier_by_tier
from knobpack.solver.general import general, packed
from knobpack.solver.last_tiers import rearrange
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.outcome import (
    UPPER,
    ImpossibleError,
    NothingFoundError,
    Outcome,
)
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
    outcome = compact(problem, watch) if problem.in_use else _contracted_first(problem, watch)
    *held, value = outcome.values
    last = outcome.bounds[-1]
    if last < value and not (problem.knobs > ALWAYS and watch.hurried):
        last = max(last, rearranged(problem, held))
        watch.tell(len(held), value, last)
    bounds, as_shared = (*outcome.bounds[:-1], last), max(last, outcome.as_shared)
    return attrs.evolve(outcome, bounds=bounds, as_shared=as_shared)


def _contracted_first(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, of bundles as atoms where those do as well."""
    store = Store(problem)
    contraction = contracted(problem) if may_all_be_placed(problem) else None
    if contraction is not None:
        smaller, least = contraction.problem, contraction.floor((1 << problem.items) - 1)
        outcome = _while_it_holds(
            lambda: _solve(smaller, watch, Store(smaller), least), least, store, watch
        )
        if outcome is not None:
            return outcome
        if store.values is None:  # perhaps as bundles do not fit whole: some layout comes first
            store.offer(packed(problem, watch, FAST))
    return _solve(problem, watch, store, None)


def _solve(problem: Problem, watch: Watch, store: Store, wanted: int | None) -> Outcome:
    """The best placement of a problem that may have been contracted.

    Args:
        problem: what is solved.
        watch: how long the search may go on.
        store: what is known of ``problem``.
        wanted: the value of the tier *bundles* where other ones, or what does not place all, are
            of no use.
    """
    if problem.breakable and may_all_be_placed(problem):
        # If everything can be placed, no bundle parted and no more broken than atoms break by
        # themselves, no best placement breaks any more.
        unbroken, least = breaking_only(problem), wanted or 0
        broken = broken_by_atoms(problem, (1 << problem.items) - 1)
        outcome = _while_it_holds(
            lambda: _solved(unbroken, watch, None, (0, least)), least, store, watch, broken
        )
        if outcome is not None:
            values, bounds = outcome.values, outcome.bounds
            return attrs.evolve(
                outcome,
                values=(*values[:2], values[2] + broken, *values[3:]),
                bounds=(*bounds[:2], bounds[2] + broken, *bounds[3:]),
            )
    return _solved(problem, watch, store.knobs or None, None if wanted is None else (0, wanted))


def _while_it_holds(
    search: Callable[[], Outcome], least: int, store: Store, watch: Watch, broken: int = 0
) -> Outcome | None:
    """What is found if it places all, and has no more than the least in the tier *bundles*.

    Args:
        search: what finds it.
        least: that least.
        store: takes what is found and is not that good.
        watch: told how far the search is.
        broken: what is told to be broken besides.
    """
    told = watch.told
    watch.told = _while_all_is_placed(told, least, broken) if told else None
    try:
        outcome = search()
    except (ImpossibleError, NothingFoundError):
        return None
    finally:
        watch.told = told
    if outcome.values[:2] != (0, least):
        store.offer(outcome.knobs)
        return None
    # No placement has less than that least, whatever the search itself could prove.
    unplaced, bundles, *_ = outcome.bounds
    return attrs.evolve(outcome, bounds=(unplaced, max(bundles, least), *outcome.bounds[2:]))


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
    # What is left of a share is not lost: what it leaves open the general way goes on with.
    with watch.share(FAST) as own:
        own.told = watch.told
        solved = value_functions_of(problem, own)
    if wanted and solved is not None and solved.bounds[0]:
        raise ImpossibleError
    outcome = _solved_fast(problem, solved, watch) if solved is not None and solved.sure else None
    if solved is None or outcome is None:
        return general(problem, watch, start, wanted)
    if outcome.values[:UPPER] != outcome.bounds[:UPPER]:
        found = general(problem, watch, outcome.knobs, wanted, outcome.bounds[:UPPER])
        same = sets_of(found.knobs) == sets_of(outcome.knobs)
        same = same and found.values[:-1] == outcome.values[:-1]
        least = max(found.as_shared, outcome.as_shared if same else 0)
        return attrs.evolve(found, as_shared=min(least, found.values[-1]))
    return attrs.evolve(outcome, solved=(problem, solved))


def _solved_fast(problem: Problem, solved: ValueFunctions, watch: Watch) -> Outcome | None:
    """Solve the last two tiers over what is best in the first four, or arrange the best known.

    Returns:
        None where it can not be put on single knobs.
    """
    outcome = None
    watch.tell_all(solved.values, solved.bounds)
    try:
        outcome = arranged(problem, solved, watch) if solved.proven else None
        many = False
    except TooManyVariantsError:
        many = True
    if outcome is None:
        store = _some_way_arranged(problem, solved, watch)
        if many and store.values and len(problem.atoms) * problem.knobs <= MOST_PLACES:
            with suppress(CutShortError):
                tier_by_tier(store, watch)
        outcome = store.outcome() if store.values else None
    if outcome is not None:
        watch.tell_all(outcome.values, outcome.bounds)
    return outcome


def _some_way_arranged(problem: Problem, solved: ValueFunctions, watch: Watch) -> Store:
    """The best way to share that was found, well arranged; others as good may be laid out better.

    Nothing is in the store where it can not be put on single knobs.
    """
    store = Store(problem)
    store.offer(placed(problem, some_sets(solved)))
    for tier, bound in enumerate(solved.bounds):
        store.raise_to(tier, bound, solved.values[:tier])
    if store.values is not None:
        rearrange(problem, store, watch)
    return store
