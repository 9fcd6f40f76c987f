"""Matching: against networkx, and by what its prices prove."""

from __future__ import annotations

import random
from itertools import permutations

import networkx as nx
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.assignment import match, placed, prices_of, tight
from knobpack.solver.arrangement.cluster import Places
from knobpack.solver.costs import FAR, Whole
from tests.oracles.problems import a_problem


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


def price(problem: Problem, on: dict[int, int]) -> int:
    """What the items cost on their knobs, runs aside."""
    return sum(
        problem.places[item][knob] + problem.pulls[item] * problem.steps[knob]
        for item, knob in on.items()
    )


def test_it_is_the_cheapest_of_all_assignments() -> None:
    draw = random.Random(7)  # noqa: S311 (no secret)
    none = some = 0
    for _ in range(60):
        knobs, items = draw.randint(1, 5), draw.randint(1, 5)
        places = tuple(tuple(draw.randint(0, 9) for _ in range(knobs)) for _ in range(items))
        pulls = tuple(draw.randint(0, 4) for _ in range(items))
        problem = a_problem(knobs, items, places=places, pulls=pulls)
        sets = [1 << item for item in range(items)]
        found = placed(problem, sets)
        if items > knobs:
            assert found is None
            none += 1
            continue
        assert found is not None

        every = (dict(enumerate(each)) for each in permutations(range(knobs), items))
        assert price(problem, found) == min(price(problem, on) for on in every)
        some += 1
    assert min(none, some) > 5


def test_sets_stay_together_and_go_where_they_may() -> None:
    problem = a_problem(3, 4)
    found = placed(problem, [0b0011, 0b1100])
    assert found is not None
    assert found[0] == found[1] != found[2] == found[3]
    assert Places.of(problem).cluster(0b0011).signature.knobs == 0b111
    assert list(bits(0b0011)) == [0, 1]
