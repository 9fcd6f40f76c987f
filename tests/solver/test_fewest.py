"""The fewest knobs: chromatic numbers by trying, fractional ones as known, and honest bounds.

Every answer is held against the problem by :func:`bracket`: what is joined, and what is counted.
"""

from __future__ import annotations

import math
import random
from itertools import combinations, product

import attrs
import networkx as nx
import pytest

from knobpack.numbered.problem import Atom, Before, Mix, Problem, bits
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


def bracket(problem: Problem, stop: Watch | None = None) -> tuple[int, int]:
    """How many knobs are enough and how many are needed, once the witnesses are looked through."""
    found = fewest_knobs(problem, stop or watch())
    assert sorted(at for atoms in found.sets for at in bits(atoms)) == [*range(len(problem.atoms))]
    assert list(found.sets) == sorted(found.sets, key=lambda atoms: min(bits(atoms)))
    for atoms in found.sets:
        assert problem.knobs_of(atoms), "there is a knob for each set"
        assert sum(problem.atoms[at].size for at in bits(atoms)) <= problem.per_knob
        assert not any(problem.clashes[at] & atoms for at in bits(atoms))
    assert not any(
        _share(problem, one, other) for one, other in combinations(bits(found.separated), 2)
    )
    counted = found.separated
    for crowd in found.crowds:
        outside = set(range(len(problem.atoms))) - set(bits(crowd))
        assert not any(_share(problem, a, b) for a, b in product(bits(crowd), outside))
        counted &= ~crowd
    knobs = [-(-problem.items_of(crowd).bit_count() // problem.per_knob) for crowd in found.crowds]
    assert found.counted == counted.bit_count() + sum(knobs)
    assert found.separated.bit_count() <= found.counted <= found.needed <= found.enough
    return found.enough, found.needed


def _share(problem: Problem, one: int, other: int) -> bool:
    atom, beside = problem.atoms[one], problem.atoms[other]
    fit = atom.size + beside.size <= problem.per_knob
    return bool(fit and atom.knobs & beside.knobs and not problem.clashes[one] >> other & 1)


def clique_number(graph: nx.Graph[int]) -> int:
    """The most nodes that are all joined, by trying every set of them."""
    return max(
        len(nodes)
        for count in range(len(graph) + 1)
        for nodes in combinations(graph, count)
        if all(graph.has_edge(one, other) for one, other in combinations(nodes, 2))
    )


def test_it_is_the_chromatic_number() -> None:
    seen = set()
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(0, 7))
        number = chromatic(graph)
        assert bracket(of_graph(graph, 7)) == (number, number), seed
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
        assert bracket(problem) == (number, number), seed
        harder += number > chromatic(graph)
    assert harder > 10


def _fits(part: int, sizes: list[int], limit: int, clashes: tuple[int, ...]) -> bool:
    inside = [at for at in range(len(sizes)) if part >> at & 1]
    return sum(sizes[at] for at in inside) <= limit and not any(clashes[at] & part for at in inside)


def test_pins_to_different_knobs_take_different_knobs() -> None:
    atoms = a_problem(4, 3).atoms
    pinned = [attrs.evolve(atom, pinned=at, knobs=1 << at) for at, atom in enumerate(atoms[:2])]
    problem = a_problem(4, 3, atoms=(*pinned, atoms[2]))
    assert bracket(problem) == (2, 2)


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
    enough, needed = bracket(problem, Watch(0.0))
    assert needed <= 3
    assert enough >= 4
    assert bracket(problem) == (4, 4)


def test_the_separated_are_the_most_there_are() -> None:
    for seed in range(80):
        graph = random_graph(random.Random(seed), 8)  # noqa: S311 (no secret)
        found = fewest_knobs(of_graph(graph, 8), watch())
        assert found.separated.bit_count() == clique_number(graph), seed


def test_what_two_are_too_many_for_is_separated() -> None:
    found = fewest_knobs(a_problem(9, 4, per_knob=1), watch())
    assert (found.separated.bit_count(), found.crowds, found.needed) == (4, (), 4)
    found = fewest_knobs(a_problem(9, 4, per_knob=2), watch())
    assert (found.separated.bit_count(), found.crowds, found.needed) == (1, (15,), 2)
    # Two pairs do not go on a knob for three; a single goes with either, so all are one family.
    atoms = tuple(
        Atom(items, items.bit_count(), (1 << 9) - 1, None, False, 1) for items in (3, 12, 16)
    )
    found = fewest_knobs(a_problem(9, 5, atoms=atoms, clashes=(0, 0, 0), per_knob=3), watch())
    assert (found.separated, found.crowds, found.needed, found.enough) == (3, (), 2, 2)


def test_costs_and_previous_places_do_not_matter() -> None:
    def dear(problem: Problem) -> Problem:
        before = tuple(Before(1 << item, 1 << item, None, None) for item in range(problem.items))
        return attrs.evolve(
            problem, mixes=(Mix(500),), before=before, routes=0, bundles=(0b000011, 0b011000)
        )

    for seed in range(10):
        graph = random_graph(random.Random(seed), 6)  # noqa: S311 (no secret)
        problem = of_graph(graph, 6)
        assert bracket(dear(problem)) == bracket(problem)
