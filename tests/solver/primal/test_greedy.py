"""The first placement: always valid, and as good as theory says where theory says something."""

from __future__ import annotations

import random

import networkx as nx
import pytest

from knobpack.checker import check
from knobpack.numbered.problem import Atom, Mix
from knobpack.solver.primal.greedy import FEW, greedy
from knobpack.solver.watch import Watch
from knobpack.words import Layout, Route
from tests.oracles.problems import a_problem, cases, needed_atoms, of_graph, random_graph


def test_what_it_gives_is_valid() -> None:
    found = left_out = 0
    for case in cases(range(300)):
        placed = greedy(case.problem, Watch(1.0))
        if placed is None or case.problem.impossible:
            continue
        names, knobs = tuple(case.request.by_full_name), case.request.surface.knob_names
        routes = tuple(Route(names[item], knobs[knob]) for item, knob in placed.items())
        assert check(case.request, Layout(routes)).breaches == (), case.seed
        assert case.best is not None, case.seed
        found += 1
        left_out += len(placed) < len(names)
    assert found > 150
    assert left_out > 20


@pytest.mark.parametrize("seed", range(30))
def test_two_knobs_are_enough_for_any_bipartite_graph(seed: int) -> None:
    # Colouring by saturation is exact there (Brélaz 1979, "New methods to color the vertices of a
    # graph"; from memory).
    draw = random.Random(seed)  # noqa: S311 (no secret)
    graph = nx.bipartite.random_graph(draw.randint(1, 9), draw.randint(1, 9), 0.4, seed=seed)
    placed = greedy(needed_atoms(of_graph(graph, 2)), Watch(1.0))
    assert placed is not None
    assert sorted(placed) == sorted(graph)
    assert all(placed[one] != placed[other] for one, other in graph.edges)


@pytest.mark.parametrize("seed", range(30))
def test_a_knob_more_than_the_most_neighbours_is_enough(seed: int) -> None:
    # Any greedy colouring needs at most one colour more than the highest degree.
    draw = random.Random(seed)  # noqa: S311 (no secret)
    graph = random_graph(draw, draw.randint(1, 12))
    highest = max(degree for _, degree in graph.degree)
    placed = greedy(needed_atoms(of_graph(graph, highest + 1)), Watch(1.0))
    assert placed is not None
    assert len(placed) == len(graph)
    assert all(placed[one] != placed[other] for one, other in graph.edges)


def test_spare_knobs_take_what_relieves_most() -> None:
    problem = a_problem(3, 3, mixes=(Mix(1),), pairs={(0, 1): 100, (0, 2): 100})
    placed = greedy(problem, Watch(1.0))
    assert placed is not None
    assert len(set(placed.values())) == 3
    assert len(set((greedy(a_problem(3, 3), Watch(1.0)) or {}).values())) == 1


def test_where_room_is_short_the_dearest_is_placed() -> None:
    atoms = tuple(Atom(1 << item, 1, 0b1, None, False, cost) for item, cost in enumerate((1, 9, 4)))
    assert greedy(a_problem(1, 3, atoms=atoms, per_knob=2), Watch(1.0)) == {1: 0, 2: 0}
    assert greedy(a_problem(1, 3, atoms=atoms, routes=1), Watch(1.0)) == {1: 0}


def test_it_gives_up_where_something_needed_finds_no_knob() -> None:
    assert greedy(needed_atoms(of_graph(nx.complete_graph(3), 2)), Watch(1.0)) is None
    assert greedy(needed_atoms(of_graph(nx.complete_graph(3), 3)), Watch(1.0)) is not None
    assert greedy(of_graph(nx.complete_graph(3), 2), Watch(1.0)) is not None


def test_a_large_request_is_placed_in_a_hurry_too() -> None:
    """Once there is no time left, each atom goes to the first knob that takes it."""
    problem = a_problem(2, FEW + 1)
    placed = greedy(problem, Watch(0.0))
    assert placed is not None
    assert len(placed) == FEW + 1
    assert set(placed.values()) == {0}
