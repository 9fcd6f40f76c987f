"""Families: atoms that may share a knob with each other, directly or through others.

Two families never share a knob, so they bear on each other only by the knobs they take.
"""

from __future__ import annotations

import networkx as nx

from knobpack.problem import Problem


def families(problem: Problem) -> tuple[tuple[int, ...], ...]:
    """The connected components of the may-share graph, as ascending atom numbers.

    Atoms that may be on no knob belong to none.
    """
    graph: nx.Graph[int] = nx.Graph()
    placeable = [number for number, atom in enumerate(problem.atoms) if atom.knobs]
    graph.add_nodes_from(placeable)
    for position, one in enumerate(placeable):
        atom, clashes = problem.atoms[one], problem.clashes[one]
        for other in placeable[position + 1 :]:
            beside = problem.atoms[other]
            fits = atom.size + beside.size <= problem.per_knob
            if fits and atom.knobs & beside.knobs and not clashes >> other & 1:
                graph.add_edge(one, other)
    parts = (tuple(sorted(part)) for part in nx.connected_components(graph))
    return tuple(sorted(parts))
