"""The fewest knobs that keep everything apart are a chromatic number: known ones must come out.

A graph becomes one voice with a destination for each node, and a required Apart for each edge: two
destinations that may not share a knob. Each value is cited beside its graph. "From memory" means
that no text of the source was at hand when it was written down.

Sources:
    Mycielski 1955, "Sur le coloriage des graphes", Colloquium Mathematicum 3, 161-162.
    Lovász 1978, "Kneser's conjecture, chromatic number, and homotopy", J. Comb. Theory A 25.
    Brooks 1941, "On colouring the nodes of a network", Proc. Cambridge Phil. Soc. 37.
    Kőnig 1931 (bipartite graphs; matchings and covers), "Gráfok és mátrixok".
    Edmonds 1965, "Paths, trees, and flowers", Canadian J. Math. 17 (maximum matching).
    Vizing 1964 (edge colouring); Petersen 1898 (the Petersen graph has no edge 3-colouring).
    DIMACS second implementation challenge, 1993 (instances queen5_5 to queen8_8, myciel3 to
    myciel5): the optimal values 5, 7, 7, 9 and 4, 5, 6 are those listed with the instances at
    github.com/rafaelcalpena/graph-coloring, graph-coloring/testbench/config.js.
All but the last from memory.
"""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

import networkx as nx
import pytest

from benchmarks.known import graph_request, queens
from knobpack.allocator import allocate_request
from knobpack.explanation.least import least_knobs
from knobpack.words import Apart, Destination, Fixed, Request, Snapshot, Surface, Together, Voice


def spindle() -> nx.Graph[Any]:
    """The Moser spindle: two rhombi of unit triangles, joined at one tip, the others adjacent."""
    return nx.Graph(
        [(0, 1), (0, 2), (1, 2), (1, 3), (2, 3), (0, 4), (0, 5), (4, 5), (4, 6), (5, 6), (3, 6)]
    )


SMALL = {
    # Nothing apart: one knob carries all. No destination at all: no knob.
    "nothing": (nx.empty_graph(0), 0),
    "nothing apart": (nx.empty_graph(7), 1),
    # Kőnig: a graph is bipartite just when it has no odd cycle, and then two colours do.
    "path": (nx.path_graph(8), 2),
    "even cycle": (nx.cycle_graph(8), 2),
    "cube": (nx.hypercube_graph(3), 2),
    "grid": (nx.grid_2d_graph(3, 4), 2),
    "tree": (nx.balanced_tree(2, 3), 2),
    "three and four, all joined": (nx.complete_bipartite_graph(3, 4), 2),
    "Heawood graph": (nx.heawood_graph(), 2),
    # An odd cycle needs three; a hub over a cycle one more (textbook).
    "triangle": (nx.cycle_graph(3), 3),
    "odd cycle": (nx.cycle_graph(9), 3),
    "wheel, even rim": (nx.wheel_graph(9), 3),
    "wheel, odd rim": (nx.wheel_graph(8), 4),
    # Complete graphs, and complete multipartite ones, which need one colour for each part (Turán).
    "complete": (nx.complete_graph(6), 6),
    "octahedron": (nx.octahedral_graph(), 3),
    "Turán, 10 in 4": (nx.turan_graph(10, 4), 4),
    "1, 2, 3, 4, 2": (nx.complete_multipartite_graph(1, 2, 3, 4, 2), 5),
    # Brooks: three for a cubic graph that is not complete; all of these have odd cycles.
    "Petersen graph": (nx.petersen_graph(), 3),
    "prism": (nx.circular_ladder_graph(5), 3),
    "Frucht graph": (nx.frucht_graph(), 3),
    "dodecahedron": (nx.dodecahedral_graph(), 3),
    # Planar (four colours do: Appel and Haken 1976), and four are needed (from memory).
    "icosahedron": (nx.icosahedral_graph(), 4),
    "Moser spindle": (spindle(), 4),
    # No triangle and yet four colours: Grötzsch 1958, Chvátal 1970.
    "Grötzsch graph": (nx.mycielski_graph(4), 4),
    "Chvátal graph": (nx.chvatal_graph(), 4),
    # Mycielski: each step adds one to the colours and no triangle.
    "Mycielski 2": (nx.mycielski_graph(2), 2),
    "Mycielski 3": (nx.mycielski_graph(3), 3),
    # The complement of a cycle of n: at most two nodes, side by side, share: n/2 rounded up.
    "complement of a 7-cycle": (nx.complement(nx.cycle_graph(7)), 4),
    "complement of a 10-cycle": (nx.complement(nx.cycle_graph(10)), 5),
    # Kneser graphs K(n, k): n - 2k + 2 (Lovász).
    "Kneser 5, 2": (nx.kneser_graph(5, 2), 3),
    "Kneser 6, 2": (nx.kneser_graph(6, 2), 4),
    # Line graphs: colours for the edges (Vizing). n - 1 for an even complete graph, n for an odd
    # one; Petersen needs one more than its degree.
    "edges of a complete 4": (nx.line_graph(nx.complete_graph(4)), 3),
    "edges of a complete 5": (nx.line_graph(nx.complete_graph(5)), 5),
    "edges of Petersen": (nx.line_graph(nx.petersen_graph()), 4),
    # A square of numbers solved without guessing: every row, column and box holds each once.
    "number squares, 4": (nx.sudoku_graph(2), 4),
}
"""Each with its chromatic number, small enough for all five tiers to be proven."""

LARGER = {
    "queen5_5": (queens(5), 5),
    "queen6_6": (queens(6), 7),
    "queen7_7": (queens(7), 7),
    "queen8_8": (queens(8), 9),
    "myciel4": (nx.mycielski_graph(5), 5),
    "myciel5": (nx.mycielski_graph(6), 6),
    "Kneser 7, 2": (nx.kneser_graph(7, 2), 5),
    "Kneser 7, 3": (nx.kneser_graph(7, 3), 3),
    "edges of a complete 7": (nx.line_graph(nx.complete_graph(7)), 7),
    "edges of a complete 8": (nx.line_graph(nx.complete_graph(8)), 7),
    "number squares, 9": (nx.sudoku_graph(3), 9),
    "Turán, 60 in 9": (nx.turan_graph(60, 9), 9),
    "complement of a 31-cycle": (nx.complement(nx.cycle_graph(31)), 16),
    "long odd cycle": (nx.cycle_graph(101), 3),
}

COLOURABLE = SMALL | LARGER


@pytest.mark.parametrize("name", COLOURABLE)
def test_the_fewest_knobs_are_the_chromatic_number(name: str) -> None:
    graph, colours = COLOURABLE[name]
    found = least_knobs(graph_request(graph))
    assert (found.independent, found.independent_bound) == (colours, colours)


@pytest.mark.parametrize("name", [name for name in SMALL if len(SMALL[name][0]) <= 12])
def test_so_many_knobs_place_everything_and_one_fewer_does_not(name: str) -> None:
    graph, colours = SMALL[name]
    enough = allocate_request(graph_request(graph, colours))
    assert enough.unplaced == ()
    assert enough.tiers[0].value == 0
    number = {node: f"Graph/n{position}" for position, node in enumerate(graph)}
    knob = {route.destination: route.knob for route in enough.routes}
    assert all(knob[number[a]] != knob[number[b]] for a, b in graph.edges)
    if colours:
        short = allocate_request(graph_request(graph, colours - 1))
        assert short.tiers[0].proven
        assert short.tiers[0].value > 0
        assert short.unplaced != ()


@pytest.mark.parametrize(("size", "chance", "seed"), [(12, 0.3, 1), (20, 0.4, 2), (30, 0.5, 3)])
def test_the_complement_of_a_bipartite_graph_needs_as_many_as_stay_unmatched(
    size: int, chance: float, seed: int
) -> None:
    # There two nodes share just when they are matched in the bipartite graph, and no three do:
    # nodes less a largest matching (Kőnig).
    graph = nx.bipartite.random_graph(size // 2, size - size // 2, chance, seed=seed)
    matching = nx.max_weight_matching(graph, maxcardinality=True)
    found = least_knobs(graph_request(nx.complement(graph)))
    assert (found.independent, found.proven) == (size - len(matching), True)


@pytest.mark.parametrize("seed", range(4))
def test_two_to_a_knob_is_a_matching(seed: int) -> None:
    # At most two on a knob: each pair is an edge of the complement, so nodes less a largest
    # matching there (Edmonds).
    graph = nx.gnp_random_graph(15, 0.6, seed=seed)
    matching = nx.max_weight_matching(nx.complement(graph), maxcardinality=True)
    found = least_knobs(graph_request(graph, per_knob=2))
    assert (found.independent, found.proven) == (15 - len(matching), True)


@pytest.mark.parametrize(("count", "per_knob"), [(7, 3), (12, 4), (10, 1)])
def test_a_limit_alone_divides(count: int, per_knob: int) -> None:
    found = least_knobs(graph_request(nx.empty_graph(count), per_knob=per_knob))
    assert (found.independent, found.proven) == (math.ceil(count / per_knob), True)


@pytest.mark.parametrize("seed", range(4))
def test_interval_graphs_need_as_many_as_overlap_at_once(seed: int) -> None:
    # Interval graphs are perfect: the largest clique is what overlaps at one moment (Hajós 1958,
    # from memory). This is how registers are counted in code without branches.
    starts = [(7 * i * (seed + 3) + 5 * i * i) % 40 for i in range(25)]
    spans = [(start, start + 1 + (11 * i + seed) % 9) for i, start in enumerate(starts)]
    graph = nx.empty_graph(len(spans))
    for (i, (a, b)), (j, (c, d)) in combinations(enumerate(spans), 2):
        if a < d and c < b:
            graph.add_edge(i, j)
    overlap = max(sum(a <= moment < b for a, b in spans) for moment in range(60))
    found = least_knobs(graph_request(graph))
    assert (found.independent, found.proven) == (overlap, True)


def test_each_movement_needs_a_knob_of_its_own() -> None:
    # Snapshots instead of rules: destinations share just when all snapshots agree on them. The
    # subsets of three snapshots are eight movements, and each has two destinations here.
    voices = tuple(
        Voice(f"V{number}", (Destination("level"), Destination("pan"))) for number in range(8)
    )
    snapshots = tuple(
        Snapshot(f"S{bit}", tuple(f"V{number}" for number in range(8) if number >> bit & 1))
        for bit in range(3)
    )
    found = least_knobs(Request(Surface.row(2), voices, snapshots=snapshots))
    assert (found.independent, found.proven) == (8, True)
    # One that may be broken asks for as much: what is counted is independence in full.
    breakable = (*snapshots[:2], Snapshot("S2", snapshots[2].moves, break_weight=1))
    found = least_knobs(Request(Surface.row(2), voices, snapshots=breakable))
    assert (found.independent, found.proven) == (8, True)
    found = least_knobs(Request(Surface.row(2), voices, snapshots=snapshots[:2]))
    assert (found.independent, found.proven) == (4, True)


def test_what_must_be_together_is_one_node() -> None:
    # A 4-cycle needs two. With two opposite nodes together and the others apart it is a triangle.
    cycle = graph_request(nx.cycle_graph(4))
    joined = (*cycle.rules, Together(("Graph/n0", "Graph/n2")), Apart(("Graph/n1",), ("Graph/n3",)))
    found = least_knobs(Request(cycle.surface, cycle.voices, rules=joined))
    assert (found.independent, found.proven) == (3, True)


def test_preferred_rules_ask_for_no_knob() -> None:
    graph = nx.complete_graph(5)
    asked = graph_request(graph)
    preferred = tuple(
        Apart(rule.first, rule.second, 5) for rule in asked.rules if isinstance(rule, Apart)
    )
    found = least_knobs(Request(asked.surface, asked.voices, rules=preferred))
    assert (found.independent, found.proven) == (1, True)


def test_fixed_to_one_knob_is_together() -> None:
    asked = graph_request(nx.path_graph(4))
    fixed = (*asked.rules, Fixed(("Graph/n0",), "K1"), Fixed(("Graph/n3",), "K1"))
    # n0 and n3 on one knob: n1 and n2 need two more between them.
    found = least_knobs(Request(asked.surface, asked.voices, rules=fixed))
    assert (found.independent, found.proven) == (3, True)
