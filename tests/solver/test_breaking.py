"""Good placements to start from, of which few snapshots are broken: valid, and often the best."""

from __future__ import annotations

import attrs

from knobpack.problem import Problem, bits
from knobpack.solver.breaking import few_broken
from knobpack.solver.evaluate import values_of
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, possible, watch


def is_valid(problem: Problem, knobs: dict[int, int]) -> bool:
    """Whether nothing that clashes is on one knob, and all is where it may be."""
    of = {item: n for n, atom in enumerate(problem.atoms) for item in bits(atom.items)}
    return all(
        problem.atoms[of[item]].knobs >> knob & 1
        and all(on != knob or not problem.clashes[of[item]] >> of[i] & 1 for i, on in knobs.items())
        for item, knob in knobs.items()
    )


def test_what_it_finds_is_valid_and_often_as_good_as_brute_force() -> None:
    found = best = 0
    for case in possible(range(600)):
        if len(case.problem.breakable) < 2:
            continue
        knobs = few_broken(case.problem, watch())
        if knobs is None:
            continue
        assert is_valid(case.problem, knobs), case.seed
        values = values_of(case.problem, knobs)
        assert values >= case.values, case.seed
        found += 1
        best += values[:4] == case.values[:4]
    assert found > 30
    assert best > found / 2


def test_it_breaks_the_cheapest_that_will_do_and_two_only_where_that_is_better() -> None:
    # Each snapshot moves one of three that want one knob: to break one joins a pair, two all.
    firm = a_problem(2, 3, breakable=((0b001, 7), (0b010, 4), (0b100, 9)))
    knobs = few_broken(firm, watch())
    assert knobs is not None
    assert len(knobs) == 3
    assert values_of(firm, knobs)[:3] == (0, 0, min(7 + 4, 7 + 9, 4 + 9))
    assert few_broken(attrs.evolve(firm, breakable=firm.breakable[:1]), watch()) is None
    assert few_broken(firm, Watch(0.0)) is None


def test_snapshots_that_move_the_same_are_broken_together_and_few_are_tried() -> None:
    twice = a_problem(2, 3, breakable=((0b001, 7), (0b010, 4), (0b100, 9), (0b010, 1)))
    knobs = few_broken(twice, watch())
    assert knobs is not None
    # A pair breaks its two: 7 + 4 + 1, 7 + 9 or 9 + 4 + 1.
    assert values_of(twice, knobs)[:3] == (0, 0, 12)
    many = a_problem(2, 3, breakable=tuple((0b001, 1) for _ in range(2_000)))
    spent = watch()
    assert few_broken(many, spent) is None
    assert watch().effort - spent.effort < 1
