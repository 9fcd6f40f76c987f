"""Families: against the complement of a graph, and against layouts that are valid."""

from __future__ import annotations

import random

import attrs
import networkx as nx

from knobpack.numbered.problem import Atom
from knobpack.solver.families import families
from tests.oracles.problems import (
    a_problem,
    atoms_of,
    every_placement,
    of_graph,
    possible,
    random_graph,
    size_of,
)


def test_they_are_the_components_of_the_complement() -> None:
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        graph = random_graph(draw, draw.randint(1, 14))
        parts = {frozenset(part) for part in nx.connected_components(nx.complement(graph))}
        found = families(of_graph(graph, 3))
        assert {frozenset(part) for part in found} == parts
        assert list(found) == sorted(tuple(sorted(part)) for part in parts)


def test_what_shares_in_a_valid_placement_is_of_one_family() -> None:
    shared = several = 0
    for case in possible(range(150)):
        if size_of(case.request) > 1100:
            continue
        of = {n: at for at, part in enumerate(families(case.problem)) for n in part}
        several += len(set(of.values())) > 1
        for placement in every_placement(case.request):
            for items in placement.used:
                atoms = atoms_of(case.problem, items)
                inside = {of[n] for n in range(len(case.problem.atoms)) if atoms >> n & 1}
                assert len(inside) == 1, case.seed
                shared += atoms.bit_count() > 1
    assert shared > 1000
    assert several > 10


def test_atoms_with_no_knob_in_common_or_too_large_together_are_not_joined() -> None:
    atoms = (
        Atom(0b0011, 2, 0b01, None, False, 1),
        Atom(0b0100, 1, 0b10, None, False, 1),
        Atom(0b1000, 1, 0b11, None, False, 1),
    )
    problem = a_problem(2, 4, atoms=atoms, clashes=(0, 0, 0))
    assert families(problem) == ((0, 1, 2),)
    assert families(attrs.evolve(problem, per_knob=2)) == ((0,), (1, 2))
    # Without the one that may be on both knobs, the first two have none in common.
    nowhere = attrs.evolve(atoms[2], knobs=0)
    assert families(attrs.evolve(problem, atoms=(*atoms[:2], nowhere))) == ((0,), (1,))
    assert families(attrs.evolve(problem, per_knob=1)) == ((0,), (1,), (2,))


def test_what_may_be_nowhere_belongs_to_none() -> None:
    nowhere = Atom(1, 1, 0, None, False, 1)
    problem = a_problem(2, 2, atoms=(nowhere, *a_problem(2, 2).atoms[1:]))
    assert families(problem) == ((1,),)
    assert families(a_problem(2, 0)) == ()
