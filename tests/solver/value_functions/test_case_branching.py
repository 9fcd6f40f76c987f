"""Spreads over several families: all that can become of them, against every assignment."""

from __future__ import annotations

import random
from itertools import product

import pytest

from knobpack.numbered.problem import Atom, Before, Mix, Problem, Spread
from knobpack.solver.costs import FAR
from knobpack.solver.evaluate import values_of
from knobpack.solver.solve import solve
from knobpack.solver.value_functions import case_branching as losing
from knobpack.solver.value_functions.case_branching import Branch
from knobpack.solver.value_functions.of_families import arranged, value_functions_of
from knobpack.solver.value_functions.offsets import Split
from knobpack.solver.value_functions.subset_dp import SubsetTable
from tests.oracles.problems import a_problem, watch


def tight_problem(draw: random.Random) -> Problem:
    """Three or four families of a few items on one to three knobs, with spreads over them."""
    of = [family for family in range(draw.randint(3, 4)) for _ in range(draw.randint(1, 3))][:7]
    items = len(of)
    clashes = tuple(
        sum(1 << other for other in range(items) if of[other] != of[item]) for item in range(items)
    )
    spreads = tuple(
        Spread(sum(1 << item for item in draw.sample(range(items), draw.randint(2, 3))), weight)
        for weight in draw.choices((1, 2, 5, 9), k=draw.randint(1, 3))
    )
    knobs = draw.randint(1, 3)
    atoms = tuple(
        Atom(1 << item, 1, (1 << knobs) - 1, None, draw.random() < 0.1, draw.randint(0, 2))
        for item in range(items)
    )
    return a_problem(
        knobs,
        items,
        atoms=atoms,
        clashes=clashes,
        spreads=spreads,
        mixes=(Mix(draw.choice((0, 1))),),
        places=tuple(tuple(draw.choice((0, 3)) for _ in range(knobs)) for _ in range(items)),
        before=(Before(1, draw.randrange(knobs), None),),
    )


def best_of_all(problem: Problem) -> tuple[int, ...] | None:
    """The values of the best of all valid assignments."""
    best = None
    for on in product((None, *range(problem.knobs)), repeat=problem.items):
        apart = all(
            on[a] is None or on[a] != on[b] or not problem.clashes[a] >> b & 1
            for a in range(problem.items)
            for b in range(a)
        )
        there = all(k is not None or not a.needed for k, a in zip(on, problem.atoms, strict=True))
        if apart and there:
            values = values_of(problem, {i: k for i, k in enumerate(on) if k is not None})
            best = values if best is None else min(best, values)
    return best


def test_what_becomes_of_them_is_what_the_best_assignment_makes_of_them() -> None:
    settled = parted = lost = several = 0
    for seed in range(160):
        problem = tight_problem(random.Random(seed))  # noqa: S311 (no secret)
        best = best_of_all(problem)
        if best is None:
            continue
        solved = value_functions_of(problem, watch())
        assert solved is not None
        if solved.sure:
            assert solved.values == best[:4], seed
            outcome = arranged(problem, solved, watch())
            assert outcome is not None
            assert outcome.values == outcome.bounds == best, seed
            settled += 1
            parted += solved.families != solved.plain
            several += len(solved.cases) > 1
            gone = [n for n, _ in enumerate(problem.atoms) if n not in outcome.knobs]
            out = sum(1 << number for number in gone)
            lost += any(each.items & out == each.items for each in problem.spreads)
        assert solve(problem, watch()).values == best, seed
    assert settled > 100
    assert parted > 10
    assert lost > 10
    assert several > 3


def test_a_spread_is_left_out_or_one_of_its_parts_is_not() -> None:
    # Two families of one item each, both of one spread of weight 5, and one knob for the two.
    problem = a_problem(1, 2, clashes=(0b10, 0b01), spreads=(Spread(0b11, 5),))
    solved = value_functions_of(problem, watch())
    assert solved is not None
    # One is left out, whichever it is: the spread stands on one knob and costs nothing.
    assert solved.values == (1, 0, 0, 0)
    families = [each for each in solved.plain if isinstance(each, SubsetTable)]
    first, second, none = Branch.of(families, 1).parted(Split(0b11, 2, 5), 1, 5)
    may_go = [[int(f.table.omitted[1]) < FAR for f in c.families] for c in (first, second, none)]
    must_go = [[int(f.table.omitted[0]) == FAR for f in c.families] for c in (first, second, none)]
    assert may_go == [[False, True], [True, False], [True, True]]
    assert must_go == [[False, False], [True, False], [True, True]]
    assert (first.lost, second.lost, none.lost) == (0, 0, 5)


def test_too_many_cases_are_told_as_unsure(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(losing, "MOST_STEPS", 20)
    unsure = 0
    for seed in range(80):
        problem = tight_problem(random.Random(seed))  # noqa: S311 (no secret)
        if best_of_all(problem) is None:
            continue
        solved = value_functions_of(problem, watch())
        assert solved is not None
        unsure += not solved.sure
        assert solved.sure or solved.families == solved.plain
    assert unsure > 10
