"""Good ways to share for every number of knobs, in no time: sets are merged.

Every atom starts on a knob of its own; the two sets whose union costs least are merged until one is
left or none may be merged (agglomerative clustering). What there is on the way is a way to share
for each number of knobs, and the sets are good ones to begin a search with.
"""

from __future__ import annotations

import attrs
import numpy as np

from knobpack.solver.column_generation.terms import SetMasks, Terms
from knobpack.solver.costs import FAR, Whole


@attrs.frozen
class Way:
    """A way to share: each atom of a family in one set.

    Args:
        cost: what the sets cost together.
        sets: the sets.
    """

    cost: int
    sets: tuple[int, ...]

    @classmethod
    def of(cls, terms: Terms, sets: SetMasks) -> Way:
        """The way of some sets that hold each atom once."""
        return cls(int(terms.costs(sets).sum()), tuple(sorted(int(each) for each in sets)))


def knobs_of(terms: Terms, way: Way) -> int:
    """How many knobs a way takes that no atom is pinned to."""
    return sum(1 for each in way.sets if not each & terms.pinned)


def merged(terms: Terms) -> tuple[dict[int, Way], tuple[int, ...]]:
    """Merge sets as long as any two may be on one knob.

    Returns:
        A way for each number of knobs that was come by, and all sets that were.
    """
    sets = terms.sets(1 << place for place in range(terms.count))
    sets = sets[terms.valid(sets)]
    if len(sets) < terms.count:
        return {}, tuple(int(each) for each in sets)
    costs = terms.costs(sets)
    rise = np.full((len(sets), len(sets)), FAR, dtype=np.int64)
    one, other = np.triu_indices(len(sets), 1)
    rise[one, other] = _rises(terms, sets, costs, one, other)
    seen = [int(each) for each in sets]
    found: dict[int, Way] = {}
    while True:
        way = Way(int(costs.sum()), tuple(sorted(int(each) for each in sets)))
        knobs = knobs_of(terms, way)
        if knobs not in found or way.cost < found[knobs].cost:
            found[knobs] = way
        if len(sets) == 1:
            break
        into, gone = np.unravel_index(int(rise.argmin()), rise.shape)
        if rise[into, gone] >= FAR:
            break
        costs[into] += costs[gone] + rise[into, gone]
        sets[into] |= sets[gone]
        seen.append(int(sets[into]))
        sets, costs = np.delete(sets, gone), np.delete(costs, gone)
        rise = np.delete(np.delete(rise, gone, axis=0), gone, axis=1)
        # What is merged stands before what is gone, so its place stays the same.
        others = np.delete(np.arange(len(sets)), into)
        fresh = _rises(terms, sets, costs, np.full(len(others), into), others)
        rise[np.minimum(into, others), np.maximum(into, others)] = fresh
    return found, tuple(seen)


def _rises(terms: Terms, sets: SetMasks, costs: Whole, one: Whole, other: Whole) -> Whole:
    """By how much it costs more to have two sets as one; FAR where they may not be."""
    both = sets[one] | sets[other]
    if not len(both):
        return np.zeros(0, dtype=np.int64)
    rises: Whole = np.where(terms.valid(both), terms.costs(both) - costs[one] - costs[other], FAR)
    return rises
