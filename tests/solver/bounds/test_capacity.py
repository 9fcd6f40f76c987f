"""Bounds by counting: never above brute force, and what a player would reckon."""

from __future__ import annotations

import attrs

from knobpack.numbered.problem import Mix
from knobpack.solver.bounds.capacity import counted
from tests.oracles.problems import a_problem, possible, watch


def test_no_bound_is_above_what_brute_force_finds() -> None:
    met = [0, 0, 0, 0]
    for case in possible(range(300)):
        for tier in range(4):
            bound = counted(case.problem, tier, case.values[:tier], watch())
            assert bound <= case.values[tier], (case.seed, tier)
            met[tier] += 0 < bound == case.values[tier]
    assert all(met[tier] > 5 for tier in (0, 1, 3))


def test_where_routes_bind_the_cheapest_are_left_out() -> None:
    problem = a_problem(3, 6, routes=4)
    prices = (9, 2, 5, 7, 3, 8)
    atoms = zip(problem.atoms, prices, strict=True)
    dear = attrs.evolve(
        problem, atoms=tuple(attrs.evolve(atom, omission=price) for atom, price in atoms)
    )
    assert counted(dear, 0, (), watch()) == 2 + 3


def test_families_take_a_knob_each_and_as_many_as_their_size_asks_for() -> None:
    # Three pairs that clash with each other, on two knobs: one of them is left out.
    pairs = (0b11, 0b1100, 0b110000)
    clashes = tuple(sum(pair for pair in pairs if not pair >> at & 1) for at in range(6))
    problem = a_problem(2, 6, clashes=clashes)
    omission = problem.atoms[0].omission
    assert counted(problem, 0, (), watch()) == 2 * omission
    tight = a_problem(3, 6, clashes=clashes, per_knob=1)
    assert counted(tight, 0, (), watch()) == 3 * omission


def test_so_many_on_so_few_knobs_are_crowded_and_mixed() -> None:
    kinds = tuple(0b11 << 2 * at for at in range(4))
    problem = a_problem(2, 8, mixes=(Mix(10, kinds), Mix(100, among=0b11111), Mix(1)))
    assert counted(problem, 3, (0, 0, 0), watch()) == 2 * 10 + 3 * 100 + 6 * 1
