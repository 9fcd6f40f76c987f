"""Bounds at any prices: against every value function."""

from __future__ import annotations

import random

from knobpack.solver.column_generation.knapsack_pricing import knapsack_of
from knobpack.solver.costs import FAR, QUANTUM
from tests.oracles.problems import watch
from tests.solver.column_generation.family_terms import given, random_prices, value_function


def test_lines_bound_every_entry_of_the_frontier() -> None:
    draw = random.Random(3)  # noqa: S311 (no secret)
    close = seen = 0
    for problem, terms in given(range(18)):
        costs, knapsack = value_function(problem, terms).costs, knapsack_of(terms, watch())
        lines = [knapsack.found(random_prices(draw, terms), watch())[0] for _ in range(5)]
        for knobs, cost in enumerate(costs):
            best = max(line.at(knobs) for line in lines)
            if cost < FAR:
                assert best <= QUANTUM * cost
                close += best > QUANTUM * cost * 0.5
                seen += 1
    assert seen > 50
    assert close > 5
