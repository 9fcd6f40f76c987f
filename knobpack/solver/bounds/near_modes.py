"""The sets that a placement can be made of which breaks no more than one that is known.

The prices of the p-median dual (``modes.py``) say of each centre, and of each atom beside it, what
it wastes: all that a placement wastes comes to what it breaks, less the bound. Where bound and
value are near to each other, that leaves few centres, most atoms must be at theirs or may not be,
and the sets that are left can be listed: reduced-cost fixing, as for p-median problems (Briant and
Naddef 2004, "The optimal diversity management problem", from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from knobpack.numbered.problem import Problem
from knobpack.solver.bounds.modes import QUANTUM, Medians
from knobpack.solver.bounds.ways import Points
from knobpack.solver.costs import Whole
from knobpack.solver.families import families
from knobpack.solver.set_partitioning.column_pool import (
    ColumnPool,
    Flags,
    column_pool_of,
    pool_of_sets,
)
from knobpack.solver.watch import Watch

MOST_SETS = 60_000
"""Sets that are listed, at most."""


def near_pools(
    problem: Problem, held: Sequence[int], slots: tuple[int, ...], watch: Watch
) -> list[ColumnPool] | None:
    """For each family the sets that placements may have that are no worse in three tiers.

    Args:
        problem: the problem.
        held: the values of the tiers *unplaced*, *bundles* and *independence* of one that is known.
        slots: the classes of knobs.
        watch: what may cut it short.

    Returns:
        The sets; None where there are too many, or it is not known which they are.
    """
    medians, knobs = Medians(problem, held), problem.open_knobs.bit_count()
    if not medians.every or not medians.parts or not knobs:
        return None
    medians.dual.climb(knobs, held[2], watch, whole=False)
    best, leaving = medians.dual.best
    # To leave one out pays for it, so that it is worth no more than that.
    clipped = [
        np.where(omission > 0, np.minimum(own, leaving * omission), own)
        for (omission, _, _), own in zip(medians.sorts, best, strict=True)
    ]
    value, *_ = medians.dual.at(clipped, leaving, knobs)
    gap = QUANTUM * held[2] - value
    gains = [
        counts @ np.maximum(0, own[:, None] - QUANTUM * rows)
        for (_, rows, counts), own in zip(medians.sorts, clipped, strict=True)
    ]
    knob = int(np.sort(np.concatenate(gains))[-knobs:][0])
    if not 0 <= gap < knob or len(np.concatenate(gains)) < knobs:
        return None  # two knobs might have the same centre, which is not looked at
    worth = np.zeros(len(problem.atoms), dtype=np.int64)
    spare: dict[int, Whole] = {}
    for own, of, prices, gain in zip(medians.parts, medians.sort_of, clipped, gains, strict=True):
        worth[own] = prices[of]
        spare[own[0]] = gap - np.maximum(0, knob - gain)
    none: Whole = np.zeros(0, dtype=np.int64)
    pools: list[ColumnPool] = []
    for part in families(problem):
        room = next((spare[number] for number in part if number in spare), none)
        near = np.nonzero(room >= 0)[0]
        points = Points.of(problem, part, medians.columns)
        wastes = QUANTUM * points.distances(medians.ways[near]) - worth[list(part), None]
        sets = _listed(wastes.T, room[near])
        pool = (
            column_pool_of(problem, part, slots, watch, MOST_SETS)
            if sets is None
            else pool_of_sets(problem, part, slots, sets, watch)
        )
        if pool is None or watch.over():
            return None
        pools.append(pool)
    return pools


def _listed(wastes: Whole, spare: Whole) -> Flags | None:
    """Every set that wastes no more at some centre than it may; None: there are too many.

    Args:
        wastes: (C, atoms) what each atom adds at each centre: a set without one that adds less
            than nothing wastes that as well.
        spare: (C,) what a set may waste there.
    """
    found: list[Flags] = [np.zeros((0, wastes.shape[1]), dtype=bool)]
    total = 0
    for waste, most in zip(wastes, spare, strict=True):
        sets, spent = (waste < 0)[None], np.zeros(1, dtype=np.int64)
        for at in np.argsort(abs(waste), kind="stable"):
            fits = spent + abs(waste[at]) <= most
            if not fits.any():
                break
            more = sets[fits]
            more[:, at] ^= True
            sets, spent = (
                np.concatenate([sets, more]),
                np.append(spent, spent[fits] + abs(waste[at])),
            )
            if total + len(sets) > MOST_SETS:
                return None
        total += len(sets)
        found.append(sets)
    rows = np.packbits(np.concatenate(found), axis=1)
    _, first = np.unique(rows, axis=0, return_index=True)
    every: Flags = np.concatenate(found)[first]
    return every[every.any(axis=1)]
