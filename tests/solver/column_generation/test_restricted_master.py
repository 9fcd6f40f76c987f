"""Ways put together, by choice and by a walk: those that all partitions hold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from knobpack.solver.column_generation.agglomeration import merged
from knobpack.solver.column_generation.knapsack_pricing import knapsack_of
from knobpack.solver.column_generation.lagrangian_bound import LagrangianBound
from knobpack.solver.column_generation.reduced_cost_enumeration import near_sets
from knobpack.solver.column_generation.restricted_master import RestrictedMaster, partition
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import FAR, QUANTUM
from knobpack.solver.optima import optima_dag as following
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.optima.optima_dag import OptimaDag
from tests.oracles.problems import partitions, watch
from tests.solver.column_generation.family_terms import given, valid_sets, value_function


def every_way(terms: Terms, knobs: int) -> dict[tuple[int, ...], int]:
    """Every way on exactly so many knobs, and its cost."""
    sets = valid_sets(terms)
    price = dict(zip(sets.tolist(), terms.costs(sets).tolist(), strict=True))
    found = {}
    for parts in partitions(tuple(range(terms.count))):
        free = sum(1 for part in parts if not part & terms.pinned)
        if free == knobs and all(part in price for part in parts):
            key = tuple(sorted(parts, key=lambda part: part & -part))
            found[key] = sum(price[part] for part in parts)
    return found


def a_line(terms: Terms, knobs: int) -> LagrangianBound:
    """A bound at the prices of the linear programme over a few sets."""
    duals = RestrictedMaster(terms, merged(terms)[1]).duals(knobs)
    return knapsack_of(terms, watch()).found(duals.atoms, watch())[0]


def ways_of(trails: OptimaDag, knobs: int, atoms: int) -> Iterator[tuple[int, ...]]:
    """Every way that a walk from a state comes by."""
    if not atoms:
        yield ()
        return
    for chosen, rest, left in trails.steps[knobs, atoms]:
        for way in ways_of(trails, left, rest):
            yield (chosen, *way)


def test_both_find_the_cheapest_ways() -> None:
    seen = several = 0
    for problem, terms in given(range(18)):
        if terms.count > 7:
            continue
        costs = value_function(problem, terms).costs
        for knobs, cost in enumerate(costs):
            if cost >= FAR or knobs + len(terms.pins) == 0:
                continue
            ways = every_way(terms, knobs)
            assert min(ways.values()) == cost
            line = a_line(terms, knobs)
            slack = QUANTUM * cost - line.at(knobs)
            best = {way for way, price in ways.items() if price == cost}
            sets = valid_sets(terms)
            parted = partition(terms, sets, terms.costs(sets), knobs, watch())
            assert parted.done
            assert parted.way is not None
            assert parted.way.cost == parted.bound == cost
            trails = OptimaDag(terms, watch())
            near = near_sets(terms, knapsack_of(terms, watch()), line, slack, watch())
            trails.follow(near, knobs, slack)
            assert set(ways_of(trails, knobs, terms.full)) == best
            seen += 1
            several += len(best) > 1
    assert seen > 40
    assert several > 5


def test_too_many_ways_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    _, terms = next(pair for pair in given(range(1, 9)) if pair[1].count > 5)
    knobs = 3
    line = a_line(terms, knobs)
    slack = 3_000 * QUANTUM
    near = near_sets(terms, knapsack_of(terms, watch()), line, slack, watch())
    monkeypatch.setattr(following, "MOST_LOOKED_AT", 0)
    with pytest.raises(TooManyVariantsError):
        OptimaDag(terms, watch()).follow(near, knobs, slack)


def test_what_cannot_be_put_together_is_said_to_be_impossible() -> None:
    _, terms = next(given(range(1, 9)))
    lone = np.left_shift(np.int64(1), np.arange(terms.count))
    parted = partition(terms, lone, terms.costs(lone), 1, watch())
    assert parted.way is None
    assert parted.done
