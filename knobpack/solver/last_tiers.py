"""The last two tiers: sets that may be part of a best placement, arranged on single knobs."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.arrange import ALWAYS, arrange, best_choice
from knobpack.solver.arrangement.cluster import Places
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.optima.enumeration import tied
from knobpack.solver.optima.symmetry import alike
from knobpack.solver.outcome import UPPER, Outcome, Upper
from knobpack.solver.set_partitioning.closing import MOST_CHOICES, SHORT_EFFORT, Pool, unpriced
from knobpack.solver.set_partitioning.column_pool import columns_of, columns_on, knob_slots
from knobpack.solver.set_partitioning.model import SetPartitioning
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

FEW_PLACES = 4_000
"""Sets times knobs up to which the last two tiers are worth all the effort there is."""


def arrange_sets(
    problem: Problem,
    sets: Iterable[int],
    values: Upper,
    watch: Watch,
    start: Mapping[int, int] | None = None,
) -> Outcome | None:
    """Solve the last two tiers over every set of a best solution, the first four values proven.

    Args:
        problem: the problem.
        sets: masks of the atoms of every such set.
        values: those of the first four tiers.
        watch: how long the search may go on.
        start: the knob of each item in a placement of these values, if one is known.

    Returns:
        The outcome, or None if none of these sets' placements reaches those values, or the watch
        stopped the search before one was known.
    """
    store = Store(problem)
    pool = unpriced(columns_of(problem, sets), complete=True)
    store.offer(start)
    if store.values is None:
        selection = SetPartitioning(problem, pool.columns, knob_slots(problem))
        for tier, value in enumerate(values):
            selection.hold(tier, value)
        store.offer(selection.placed(selection.any(watch)))
    if store.values is None:
        return None
    change, layout = last_tiers(problem, pool, store, watch)
    return Outcome(store.knobs, store.values, (*values, change, layout))


def settled(
    problem: Problem, parts: Sequence[tuple[int, ...]], pool: Pool, store: Store, watch: Watch
) -> tuple[int, int] | None:
    """Make the last two tiers best by going through all ties, if that does not take too long.

    Returns:
        The bounds, which hold nothing where a best placement might need another set; None if it
        would take too long.
    """
    try:
        classes = alike(problem) if pool.complete else []
        every = tied(problem, parts, pool.priced, pool.slack, store.upper, classes, watch)
        ways = list(every)
    except TooManyVariantsError:
        return None
    found = best_choice(problem, ways, watch)
    if found is None:
        return None
    store.offer(found.knobs)
    return found.bounds(Places.of(problem)) if pool.complete else (0, 0)


def last_tiers(problem: Problem, pool: Pool, store: Store, watch: Watch) -> tuple[int, int]:
    """Make the last two tiers best, and give their bounds."""
    rearrange(problem, store, watch)
    bounds = [0, 0]
    if watch.over():
        return 0, 0
    known = {column.atoms: column for column in (*pool.columns, *columns_on(problem, store.knobs))}
    single = [1 << knob for knob in range(problem.knobs)]
    if store.values is None or len(known) * len(single) > MOST_CHOICES:
        return 0, 0
    selection = SetPartitioning(problem, tuple(known.values()), single)
    for tier in range(UPPER):
        selection.hold(tier, store.values[tier])
    # With many sets and knobs the bound hardly rises, and little is found.
    effort = math.inf if len(known) * len(single) <= FEW_PLACES else SHORT_EFFORT
    for tier in (UPPER, UPPER + 1):
        if store.values[tier] > 0:
            selection.start_from(store.knobs)
            answer = selection.best(tier, watch, effort=effort)
            store.offer(selection.placed(answer))
            if (
                pool.complete
                and answer.bound is not None
                and bounds[: tier - UPPER] == list(store.values[UPPER:tier])
            ):
                bounds[tier - UPPER] = max(0, answer.bound)
        selection.hold(tier, store.values[tier])
        watch.tell(tier, store.values[tier], bounds[tier - UPPER])
    return bounds[0], bounds[1]


def rearrange(problem: Problem, store: Store, watch: Watch) -> None:
    """Put the sets of the best placement on the best knobs for them, if there is time."""
    if problem.knobs > ALWAYS and watch.over():
        return
    places = Places.of(problem)
    clusters = [places.cluster(column.items) for column in columns_on(problem, store.knobs)]
    found = arrange(problem, clusters, watch)
    if found is not None:
        store.offer(found.knobs)
