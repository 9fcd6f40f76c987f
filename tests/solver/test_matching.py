"""Matching: against networkx, and by what its prices prove."""

from __future__ import annotations

import random
from itertools import permutations

import networkx as nx
import numpy as np

from knobpack.solver.costs import FAR, Whole
from knobpack.solver.matching import match, prices_of, tight


def random_costs(draw: random.Random, size: int) -> Whole:
    """Prices of which some are barred."""
    rows = [
        [FAR if draw.random() < 0.45 else draw.randint(0, 12) for _ in range(size)]
        for _ in range(size)
    ]
    return np.array(rows, dtype=np.int64)


def total(costs: Whole, knobs: tuple[int, ...]) -> int:
    return min(sum(int(costs[row, knob]) for row, knob in enumerate(knobs)), FAR)


def test_it_is_the_cheapest_of_all_permutations_and_tight_pairs_make_up_all_cheapest() -> None:
    none = many = 0
    for seed in range(150):
        costs = random_costs(random.Random(seed), 5)  # noqa: S311 (no secret)
        least = min(total(costs, knobs) for knobs in permutations(range(5)))
        found = match(costs)
        if least == FAR:
            none += 1
            assert found is None
            continue
        assert found is not None
        assert total(costs, tuple(found.tolist())) == least
        allowed = tight(costs, found)
        cheapest = set()
        for knobs in permutations(range(5)):
            best = total(costs, knobs) == least
            assert best == all(allowed[row, knob] for row, knob in enumerate(knobs))
            cheapest |= {knobs} if best else set()
        many += len(cheapest) > 1
    assert none > 10
    assert many > 5


def test_its_prices_prove_it() -> None:
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        costs = random_costs(draw, 9)
        found = match(costs)
        if found is not None:
            prices = prices_of(costs, found)
            paid = (costs - prices[:, None]).min(axis=0)
            assert int(paid.sum() + prices.sum()) == total(costs, tuple(found.tolist()))


def test_larger_ones_cost_what_networkx_finds() -> None:
    # The assignment problem; networkx solves it by scipy.
    for seed in range(10):
        costs = np.random.default_rng(seed).integers(0, 90, (20, 20))
        graph: nx.Graph[str] = nx.Graph()
        for i in range(20):
            for j in range(20):
                graph.add_edge(f"row {i}", f"column {j}", weight=int(costs[i, j]))
        rows = [f"row {i}" for i in range(20)]
        matched = nx.bipartite.minimum_weight_full_matching(graph, rows)
        found = match(costs)
        assert found is not None
        assert total(costs, tuple(found.tolist())) == sum(
            graph[row][matched[row]]["weight"] for row in rows
        )
