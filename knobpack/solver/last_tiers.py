"""The last two tiers: sets that may be part of a best placement, arranged on single knobs."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.arrange import ALWAYS, arrange, best_choice
from knobpack.solver.arrangement.cluster import Places
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.optima.enumeration import tied
from knobpack.solver.set_partitioning.closing import Pool
from knobpack.solver.set_partitioning.column_pool import columns_on
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch


def last_tiers(
    problem: Problem, parts: Sequence[tuple[int, ...]], pool: Pool, store: Store, watch: Watch
) -> tuple[int, int]:
    """Make the last two tiers best by going through all ties, if that does not take too long.

    Returns:
        Their bounds, which hold nothing where a best placement might need another set.
    """
    try:
        ways = list(tied(problem, parts, pool.priced, pool.slack, store.upper, watch))
    except TooManyVariantsError:
        ways = []
    found = best_choice(problem, ways, watch) if ways else None
    if found is None:
        rearrange(problem, store, watch)
        return 0, 0
    store.offer(found.knobs)
    return found.bounds(Places.of(problem)) if pool.complete else (0, 0)


def rearrange(problem: Problem, store: Store, watch: Watch) -> None:
    """Put the sets of the best placement on the best knobs for them, if there is time."""
    if problem.knobs > ALWAYS and watch.over():
        return
    places = Places.of(problem)
    clusters = [places.cluster(column.items) for column in columns_on(problem, store.knobs)]
    found = arrange(problem, clusters, watch)
    if found is not None:
        store.offer(found.knobs)
        store.arranged(found.knobs, *found.bounds(places))
