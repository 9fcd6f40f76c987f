"""Cliques: what all differs from each other, so that one constraint says it of all at once."""

from __future__ import annotations

from collections.abc import Iterable

import networkx as nx


def clique_cover(graph: nx.Graph[int]) -> Iterable[tuple[int, ...]]:
    """Cliques that hold every edge of ``graph`` between them, the same ones every time."""
    left = {frozenset(edge) for edge in graph.edges}
    for first, second in sorted(tuple(sorted(edge)) for edge in graph.edges):
        if frozenset((first, second)) not in left:
            continue
        clique = [first, second]
        both = set(graph[first]) & set(graph[second])
        while both:
            best = min(both, key=lambda n: (-sum(frozenset((n, c)) in left for c in clique), n))
            clique.append(best)
            both &= set(graph[best])
        left -= {frozenset((a, b)) for a in clique for b in clique if a != b}
        yield tuple(clique)
