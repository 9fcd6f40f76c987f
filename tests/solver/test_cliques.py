"""The clique cover: every edge is held, nothing else is, and each clique is a clique."""

from __future__ import annotations

import random
from itertools import combinations

import networkx as nx

from knobpack.numbered.problem import bits
from knobpack.solver.cliques import clique_cover, largest_clique
from tests.oracles.problems import random_graph


def test_the_cliques_hold_every_edge_and_no_other_pair() -> None:
    for seed in range(200):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(0, 9))
        joined = {number: sum(1 << other for other in graph[number]) for number in graph}
        cover = list(clique_cover(joined))
        held = {frozenset(pair) for clique in cover for pair in combinations(clique, 2)}
        assert held == {frozenset(edge) for edge in graph.edges}, seed
        assert cover == list(clique_cover(joined))


def test_what_all_differs_is_one_clique() -> None:
    complete = {number: 127 & ~(1 << number) for number in range(7)}
    assert [len(clique) for clique in clique_cover(complete)] == [7]


def test_the_largest_clique_is_one_of_those_that_networkx_lists() -> None:
    for seed in range(200):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(0, 9))
        joined = [sum(1 << other for other in graph[number]) for number in sorted(graph)]
        among = (1 << len(joined)) - 1
        most = max(map(len, nx.find_cliques(graph)), default=0)
        found = [*bits(largest_clique(joined, among))]
        assert len(found) == most
        assert all(graph.has_edge(*pair) for pair in combinations(found, 2))
        assert largest_clique(joined, among, more_than=most) == 0
