"""The cheapest way to put a family together from some of its sets, by CP-SAT."""

from __future__ import annotations

import math

import attrs
import numpy as np

from knobpack.solver.column_generation.agglomeration import Way
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import Whole
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.cpsat import Status, hint, solve
from knobpack.solver.watch import Watch


@attrs.frozen
class Parted:
    """What was found.

    Args:
        way: the cheapest way found; None: none was.
        bound: no way of these sets costs less; None: not known.
        done: whether ``way`` is the cheapest of all, or there is none.
    """

    way: Way | None
    bound: int | None
    done: bool


def partition(
    terms: Terms,
    sets: Whole,
    costs: Whole,
    knobs: int,
    watch: Watch,
    *,
    start: Way | None = None,
    enough: int | None = None,
    effort: float = math.inf,
) -> Parted:
    """Choose sets that hold each atom once, ``knobs`` of them on knobs that no atom is pinned to.

    Args:
        terms: the family.
        sets: the sets to choose from, all valid.
        costs: what each costs.
        knobs: how many sets are to be on knobs that no atom is pinned to.
        watch: how long the search may go on.
        start: a way to begin with; its sets need not be among ``sets``.
        enough: a cost that is known to be a bound.
        effort: a limit of deterministic effort for this search.
    """
    known = dict(zip(sets.tolist(), costs.tolist(), strict=True))
    if start is not None:
        own = np.array(start.sets, dtype=np.int64)
        known.update(zip(own.tolist(), terms.costs(own).tolist(), strict=True))
    order = sorted(known)
    holds = terms.holds(np.array(order, dtype=np.int64)).astype(bool)
    model = cp_model.CpModel()
    chosen = [model.new_bool_var("") for _ in order]
    for place in range(terms.count):
        model.add_exactly_one(chosen[at] for at in np.nonzero(holds[:, place])[0])
    free = [v for v, each in zip(chosen, order, strict=True) if not each & terms.pinned]
    model.add(cp_model.LinearExpr.sum(free) == knobs)
    model.minimize(cp_model.LinearExpr.weighted_sum(chosen, [known[each] for each in order]))
    if start is not None:
        hint(model, chosen, [int(each in start.sets) for each in order])
    answer = solve(model, watch, effort=effort, enough=enough)
    if answer.status is Status.IMPOSSIBLE:
        return Parted(None, None, done=True)
    if answer.value is None:
        return Parted(None, answer.bound, done=False)
    taken = tuple(each for v, each in zip(chosen, order, strict=True) if answer.value(v))
    cost = sum(known[each] for each in taken)
    done = answer.status is Status.OPTIMAL or cost == enough
    return Parted(Way(cost, taken), answer.bound, done=done)
