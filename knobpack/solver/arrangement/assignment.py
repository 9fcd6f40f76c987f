"""Matching: clusters put on knobs where only each by itself costs something, and prices for them.

That is the assignment problem. OR-tools solves it; the prices (its dual) follow from the solution
by shortest paths.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from ortools.graph.python import linear_sum_assignment  # type: ignore[import-untyped]

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.cluster import Places
from knobpack.solver.costs import FAR, Whole


def match(costs: Whole) -> NDArray[np.int64] | None:
    """The cheapest way to give each cluster a knob of its own.

    Args:
        costs: for each cluster (row) and knob (column) the price, FAR or more where it may not be;
            as many knobs as clusters.

    Returns:
        The knob of each cluster; None if the knobs do not go round.
    """
    solver = linear_sum_assignment.SimpleLinearSumAssignment()
    rows, columns = np.nonzero(costs < FAR)
    solver.add_arcs_with_cost(rows, columns, costs[rows, columns])
    if set(rows.tolist()) != set(range(len(costs))) or solver.solve() != solver.OPTIMAL:
        return None
    return np.array([solver.right_mate(row) for row in range(len(costs))], dtype=np.int64)


def prices_of(costs: Whole, knobs: NDArray[np.int64]) -> Whole:
    """Prices of the clusters that prove a matching best.

    With them every knob, left to choose any cluster at its cost less its price, may choose the one
    that it has: what the knobs then pay, plus all prices, is what the matching costs.
    """
    here = costs[np.arange(len(costs)), knobs]
    # No price may be so much higher than another that a knob would rather have that cluster.
    most = np.minimum(costs[:, knobs], FAR) - here
    prices = np.zeros(len(costs), dtype=np.int64)
    for _ in range(len(costs)):
        lower = np.minimum(prices, (prices[None, :] + most).min(axis=1))
        if (lower == prices).all():
            break
        prices = lower
    return prices


def tight(costs: Whole, knobs: NDArray[np.int64]) -> NDArray[np.bool_]:
    """For each cluster and knob, whether some matching as cheap as this one may use the two.

    A matching is cheapest exactly if it uses only such pairs.
    """
    prices = prices_of(costs, knobs)
    rest = np.empty(len(costs), dtype=np.int64)
    rest[knobs] = costs[np.arange(len(costs)), knobs] - prices
    allowed: NDArray[np.bool_] = costs - prices[:, None] == rest[None, :]
    return allowed


def placed(problem: Problem, sets: Iterable[int]) -> dict[int, int] | None:
    """Put sets of atoms on knobs, so that what each costs there by itself adds up to the least.

    Runs are not looked at.

    Args:
        problem: the problem.
        sets: masks of atoms; each may be on some knob.

    Returns:
        The knob of each item, or None where the knobs do not go round.
    """
    places = Places.of(problem)
    clusters = [places.cluster(problem.items_of(atoms)) for atoms in sets]
    if len(clusters) > problem.knobs:
        return None
    costs = np.zeros((problem.knobs, problem.knobs), dtype=np.int64)  # knobs may stay empty
    for row, cluster in enumerate(clusters):
        own = cluster.signature
        here = np.array(own.row) + cluster.pull * np.array(problem.steps)
        costs[row] = np.where([own.knobs >> k & 1 for k in range(problem.knobs)], here, FAR)
    knobs = match(costs)
    if knobs is None:
        return None
    return {
        item: int(knobs[row])
        for row, cluster in enumerate(clusters)
        for item in bits(cluster.items)
    }
