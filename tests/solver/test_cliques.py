"""The clique cover: every edge is held, nothing else is, and each clique is a clique."""

from __future__ import annotations

import random
from itertools import combinations

import networkx as nx

from knobpack.solver.cliques import clique_cover
from tests.oracles.problems import random_graph


def test_the_cliques_hold_every_edge_and_no_other_pair() -> None:
    for seed in range(200):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(0, 9))
        cover = list(clique_cover(graph))
        held = {frozenset(pair) for clique in cover for pair in combinations(clique, 2)}
        assert held == {frozenset(edge) for edge in graph.edges}, seed
        assert cover == list(clique_cover(graph))


def test_what_all_differs_is_one_clique() -> None:
    assert [len(clique) for clique in clique_cover(nx.complete_graph(7))] == [7]
