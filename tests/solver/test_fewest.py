"""The fewest knobs: chromatic numbers by trying, fractional ones as known, and honest bounds."""

from __future__ import annotations

import math
import random
from itertools import product

import attrs
import networkx as nx
import pytest

from knobpack.problem import Atom, Problem
from knobpack.solver import fewest
from knobpack.solver.fewest import fewest_knobs
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, of_graph, partitions, random_graph, watch


def chromatic(graph: nx.Graph[int]) -> int:
    """The fewest colours, by trying every colouring with one colour, two and so on."""
    nodes = range(len(graph))
    for colours in range(len(graph) + 1):
        for chosen in product(range(colours), repeat=len(graph)):
            if all(chosen[one] != chosen[other] for one, other in graph.edges):
                return colours
    raise AssertionError(f"{len(nodes)} nodes need no more than {len(nodes)} colours")


def test_it_is_the_chromatic_number() -> None:
    seen = set()
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(0, 7))
        number = chromatic(graph)
        assert fewest_knobs(of_graph(graph, 7), watch()) == (number, number), seed
        seen.add(number)
    assert seen >= {0, 1, 2, 3, 4, 5}


def test_with_a_limit_on_a_knob_it_is_the_fewest_sets_of_any_partition() -> None:
    harder = 0
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        count = draw.randint(1, 6)
        graph, limit = random_graph(draw, count), draw.randint(2, 4)
        sizes = [draw.randint(1, 2) for _ in range(count)]
        atoms, at = [], 0
        for size in sizes:
            atoms.append(Atom(((1 << size) - 1) << at, size, (1 << 6) - 1, None, False, 1))
            at += size
        clashes = of_graph(graph, 6).clashes
        problem = a_problem(6, at, atoms=tuple(atoms), clashes=clashes, per_knob=limit)
        number = min(
            len(parts)
            for parts in partitions(tuple(range(count)))
            if all(_fits(part, sizes, limit, clashes) for part in parts)
        )
        assert fewest_knobs(problem, watch()) == (number, number), seed
        harder += number > chromatic(graph)
    assert harder > 10


def _fits(part: int, sizes: list[int], limit: int, clashes: tuple[int, ...]) -> bool:
    inside = [at for at in range(len(sizes)) if part >> at & 1]
    return sum(sizes[at] for at in inside) <= limit and not any(clashes[at] & part for at in inside)


def test_pins_to_different_knobs_take_different_knobs() -> None:
    atoms = a_problem(4, 3).atoms
    pinned = [attrs.evolve(atom, pinned=at, knobs=1 << at) for at, atom in enumerate(atoms[:2])]
    problem = a_problem(4, 3, atoms=(*pinned, atoms[2]))
    assert fewest_knobs(problem, watch()) == (2, 2)


def test_what_can_be_on_no_knob_is_impossible() -> None:
    problem = a_problem(2, 2)
    nowhere = attrs.evolve(problem.atoms[0], knobs=0)
    with pytest.raises(ImpossibleError):
        fewest_knobs(attrs.evolve(problem, atoms=(nowhere, problem.atoms[1])), watch())


def of_known(name: str) -> tuple[nx.Graph[int], float]:
    """A graph and its fractional chromatic number.

    Scheinerman and Ullman, "Fractional Graph Theory", chapter 3 (from memory): 2 + 1/k for a
    circle of 2k+1; n/k for the Kneser graph of k-sets of n, the Petersen graph being that of pairs
    of 5; f + 1/f for Mycielski's graph over a graph with f, the Grötzsch graph being over a
    circle of 5.
    """
    if name == "Grötzsch graph":
        return nx.mycielski_graph(4), 5 / 2 + 2 / 5
    if name == "Petersen graph":
        return nx.petersen_graph(), 5 / 2
    count = int(name.rsplit(maxsplit=1)[-1])
    return nx.cycle_graph(count), 2 + 2 / (count - 1)


@pytest.mark.parametrize("name", ["circle of 5", "circle of 9", "Petersen graph", "Grötzsch graph"])
def test_the_relaxation_is_the_fractional_chromatic_number(name: str) -> None:
    graph, fraction = of_known(name)
    problem = of_graph(graph, len(graph))
    bound = fewest._fractional(problem, tuple(range(len(graph))), watch())
    assert bound == math.ceil(fraction)


def test_a_search_that_is_cut_off_still_brackets_the_number() -> None:
    # Three are needed by any clique or fraction of the Grötzsch graph, and four are right
    # (Mycielski 1955, from memory).
    problem = of_graph(nx.mycielski_graph(4), 11)
    enough, needed = fewest_knobs(problem, Watch(0.0))
    assert needed <= 3
    assert enough >= 4
    assert fewest_knobs(problem, watch()) == (4, 4)


def test_costs_and_previous_places_do_not_matter() -> None:
    def dear(problem: Problem) -> Problem:
        return attrs.evolve(
            problem, crowd=500, before=dict.fromkeys(range(problem.items)), routes=0
        )

    for seed in range(10):
        graph = random_graph(random.Random(seed), 6)  # noqa: S311 (no secret)
        problem = of_graph(graph, 6)
        assert fewest_knobs(dear(problem), watch()) == fewest_knobs(problem, watch())
