"""Tabu search: what it places meets every demand, and against a chromatic number it gives up."""

from __future__ import annotations

import networkx as nx

from benchmarks.foreign_requests import FOREIGN
from knobpack.numbered.problem import bits
from knobpack.numbered.request import problem_of
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.primal.tabu import needed_by_tabu
from knobpack.solver.watch import Watch
from tests.oracles.problems import needed_atoms, of_graph, watch


def test_it_places_most_of_what_is_not_placed_at_once() -> None:
    hard = placed = 0
    for seed in range(60):
        problem = problem_of(FOREIGN["planted"](seed))
        if greedy(problem, watch()) is not None:
            continue
        hard += 1
        found = needed_by_tabu(problem, watch())
        if found is None:
            continue
        placed += 1
        assert needed_by_tabu(problem, watch()) == found
        for number, atom in enumerate(problem.atoms):
            (knob,) = {found[item] for item in bits(atom.items)}
            beside = bits(problem.items_of(problem.clashes[number]))
            assert atom.knobs >> knob & 1
            assert all(found[item] != knob for item in beside)
    assert 4 * placed > 3 * hard > 60


def test_it_finds_a_colouring_where_there_is_one_alone() -> None:
    petersen = nx.petersen_graph()  # chromatic number 3
    assert needed_by_tabu(needed_atoms(of_graph(petersen, 3)), watch())
    assert needed_by_tabu(needed_atoms(of_graph(petersen, 2)), watch()) is None


def test_limits_on_a_knob_and_on_routes_and_the_watch_are_kept() -> None:
    pair = nx.empty_graph(2)
    assert needed_by_tabu(needed_atoms(of_graph(pair, 1, per_knob=1)), watch()) is None
    assert needed_by_tabu(needed_atoms(of_graph(pair, 1, routes=1)), watch()) is None
    assert needed_by_tabu(of_graph(pair, 1), watch()) == {}
    triangle = needed_atoms(of_graph(nx.complete_graph(3), 2))
    stopped = Watch(0.0)
    assert needed_by_tabu(triangle, stopped) is None
    assert stopped.effort == 0.0
