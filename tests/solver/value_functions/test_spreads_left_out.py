"""Spreads over several families, some left out whole, against every assignment."""

from __future__ import annotations

import random
from itertools import product

from knobpack.numbered.problem import Atom, Before, Mix, Problem, Spread
from knobpack.solver.evaluate import values_of
from knobpack.solver.solve import solve
from knobpack.solver.value_functions.of_families import arranged, value_functions_of
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
        before=(Before(1, 1, draw.randrange(knobs), None),),
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


def test_what_is_sure_is_what_the_best_assignment_makes_of_them() -> None:
    settled = unsure = 0
    for seed in range(160):
        problem = tight_problem(random.Random(seed))  # noqa: S311 (no secret)
        best = best_of_all(problem)
        if best is None:
            continue
        solved = value_functions_of(problem, watch())
        assert solved is not None
        assert solved.values <= best[:4], seed
        if solved.sure:
            assert solved.values == best[:4], seed
            outcome = arranged(problem, solved, watch())
            assert outcome is not None
            assert outcome.values == outcome.bounds == best, seed
        settled += solved.sure
        unsure += not solved.sure
        found = solve(problem, watch())
        assert found.values == found.bounds == best, seed
    assert settled > 60
    assert unsure > 10
