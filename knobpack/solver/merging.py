"""Good ways to share for every number of knobs, in no time: sets merged, then made better.

Every atom starts on a knob of its own; the two sets whose union costs least are merged until one is
left or none may be merged (agglomerative clustering). What there is on the way is a way to share
for each number of knobs, and the sets are good ones to begin a search with.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np

from knobpack.solver.costs import FAR, Whole
from knobpack.solver.terms import Terms

EFFORT_PER_SET = 1e-6
"""Effort that pricing a set counts as: about what it takes in seconds."""


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
    def of(cls, terms: Terms, sets: Whole) -> Way:
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
    sets = np.left_shift(np.int64(1), np.arange(terms.count))
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


def _rises(terms: Terms, sets: Whole, costs: Whole, one: Whole, other: Whole) -> Whole:
    """By how much it costs more to have two sets as one; FAR where they may not be."""
    both = sets[one] | sets[other]
    if not len(both):
        return np.zeros(0, dtype=np.int64)
    rises: Whole = np.where(terms.valid(both), terms.costs(both) - costs[one] - costs[other], FAR)
    return rises


def improved(terms: Terms, way: Way) -> Way:
    """Move one atom, or exchange two, as long as that makes the way better.

    The number of knobs stays the same: no set is emptied.
    """
    sets = np.array(way.sets, dtype=np.int64)
    while True:
        costs = terms.costs(sets)
        best = 0
        after: tuple[int, int, int, int] | None = None
        for one, other, left, right in _moves(terms, sets):
            rise = terms.costs(left) + terms.costs(right) - costs[one] - costs[other]
            rise[~(terms.valid(left) & terms.valid(right))] = FAR
            at = int(rise.argmin())
            if rise[at] < best:
                best = int(rise[at])
                after = int(one[at]), int(other[at]), int(left[at]), int(right[at])
        if after is None:
            return Way.of(terms, sets)
        one_set, other_set, left_set, right_set = after
        sets[one_set], sets[other_set] = left_set, right_set


def _moves(terms: Terms, sets: Whole) -> Iterator[tuple[Whole, Whole, Whole, Whole]]:
    """Moves and exchanges, each as two sets by position and what they become."""
    places = np.arange(terms.count)
    home = np.argmax(sets[:, None] >> places & 1, axis=0)
    loose = np.array([not terms.pinned >> place & 1 for place in places])
    atoms, to = (each.ravel() for each in np.meshgrid(places[loose], np.arange(len(sets))))
    bit = np.left_shift(np.int64(1), atoms)
    useful = (home[atoms] != to) & (sets[home[atoms]] != bit)
    if useful.any():
        atoms, to, bit = atoms[useful], to[useful], bit[useful]
        yield home[atoms], to, sets[home[atoms]] ^ bit, sets[to] | bit
    one, other = np.triu_indices(terms.count, 1)
    useful = (home[one] != home[other]) & loose[one] & loose[other]
    one, other = one[useful], other[useful]
    if len(one):
        both = np.left_shift(np.int64(1), one) | np.left_shift(np.int64(1), other)
        yield home[one], home[other], sets[home[one]] ^ both, sets[home[other]] ^ both
