"""Contraction: bundles as single atoms, against every placement and against the way without it."""

from __future__ import annotations

import attrs
import pytest

from benchmarks.requests import sized
from knobpack.numbered.problem import Atom, Problem
from knobpack.numbered.request import problem_of
from knobpack.solver import contraction
from knobpack.solver.contraction import contracted
from knobpack.solver.evaluate import values_of
from knobpack.solver.families import families
from knobpack.solver.general import general
from knobpack.solver.outcome import ImpossibleError, Outcome
from knobpack.solver.solve import solve
from knobpack.solver.store import Store
from tests.oracles.problems import a_problem, every_placement, possible, size_of, watch
from tests.oracles.strategies import busy_request

PATH = (0b010, 0b101, 0b010)
"""The first may not share with the second, nor that with the third."""


def everything(problem: Problem) -> int:
    return (1 << problem.items) - 1


def bundles_of(problem: Problem, on: tuple[int, ...], items: int) -> int:
    """The tier *bundles*, of some items alone, when so much is on each knob."""
    total = 0
    for bundle in problem.bundles:
        own = bundle & items
        knobs = sum(1 for mask in on if mask & own)
        total += knobs + (own & ~sum(on)).bit_count() - bool(own)
    return total


def test_no_placement_has_less_than_the_floor() -> None:
    met = above = parts = 0
    for case in possible(range(800)):
        found = contracted(case.problem)
        if found is None or size_of(case.request) > 1100:
            continue
        problem = case.problem
        own = [problem.items_of(sum(1 << n for n in part)) for part in families(problem)]
        for items in (everything(problem), *own):
            floor = found.floor(items)
            reached = [
                bundles_of(problem, each.on, items) for each in every_placement(case.request)
            ]
            assert min(reached) >= floor, case.seed
            met += min(reached) == floor
            above += floor > 0
        parts += len(own) > 1
    assert met > 100
    assert above > 2
    assert parts > 5


def test_what_it_comes_to_is_the_best_if_all_is_placed_and_the_floor_is_met() -> None:
    held = not_held = parted = 0
    for case in possible(range(700)):
        found = contracted(case.problem)
        if found is None:
            continue
        least = 0, found.floor(everything(case.problem))
        try:
            outcome = general(Store(found.problem), watch())
        except ImpossibleError:
            outcome = None
        holds = case.values[:2] == least
        assert (outcome is not None and outcome.values[:2] == least) == holds, case.seed
        if outcome is not None and holds:
            assert outcome.values == outcome.bounds == case.values, case.seed
            assert values_of(case.problem, outcome.knobs) == case.values, case.seed
            parted += least[1] > 0
        held, not_held = held + holds, not_held + (not holds)
    assert held > 60
    assert not_held > 20
    assert parted > 5


def without(problem: Problem, monkeypatch: pytest.MonkeyPatch) -> Outcome:
    """What is found if nothing is contracted."""
    with monkeypatch.context() as patched:
        patched.setattr(contraction, "contracted", lambda _: None)
        return solve(problem, watch())


def test_with_and_without_it_the_same_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    compared = joined = 0
    problems = [problem_of(sized(seed, 8, 20)) for seed in range(12)]
    problems += [problem_of(busy_request(seed)) for seed in range(60)]
    for at, problem in enumerate(problems):
        try:
            one = solve(problem, watch())
        except ImpossibleError:
            with pytest.raises(ImpossibleError):
                without(problem, monkeypatch)
            continue
        other = without(problem, monkeypatch)
        for tier, proven in enumerate(map(all, zip(one.proven, other.proven, strict=True))):
            if proven:
                assert one.values[tier] == other.values[tier], (at, tier)
        assert values_of(problem, one.knobs) == one.values, at
        compared += all(one.proven) and all(other.proven)
        joined += contracted(problem) is not None
    assert compared > 40
    assert joined > 30


def test_by_hand() -> None:
    # Of the three of a bundle, the first may share with neither of the others.
    clashes = (0b0110, 0b0001, 0b0001, 0)
    problem = a_problem(3, 4, bundles=(0b0111,), clashes=clashes)
    found = contracted(problem)
    assert found is not None
    assert [atom.items for atom in found.problem.atoms] == [0b0001, 0b0110, 0b1000]
    assert found.problem.clashes == (0b010, 0b001, 0)
    assert [atom.size for atom in found.problem.atoms] == [1, 2, 1]
    assert [atom.omission for atom in found.problem.atoms] == [1, 2, 1]
    assert found.joined == (True,)
    assert [found.floor(items) for items in (0b1111, 0b0110, 0b0001, 0b1000)] == [1, 0, 0, 0]


def test_what_is_joined_may_be_where_all_of_it_may_be() -> None:
    pinned = Atom(0b001, 1, 0b010, 1, True, 3, 1, 0)
    hidden = Atom(0b010, 1, 0b110, None, False, 0, 1, 70)
    other = Atom(0b100, 1, 0b111, None, False, 1)
    problem = a_problem(3, 3, bundles=(0b011,), atoms=(pinned, hidden, other))
    found = contracted(problem)
    assert found is not None
    assert found.problem.atoms == (Atom(0b011, 2, 0b010, 1, True, 3, 2, 70), other)


def test_nothing_is_joined_where_it_is_not_clear_how_or_cannot_be() -> None:
    assert contracted(a_problem(3, 4)) is None
    bundle = a_problem(3, 3, bundles=(0b111,))
    assert contracted(bundle) is not None
    # The one in the middle of a path may share with neither: it is parted, the ends are joined.
    path = contracted(attrs.evolve(bundle, clashes=PATH))
    assert path is not None
    assert [atom.items for atom in path.problem.atoms] == [0b101, 0b010]
    # Here the first two are apart, and each other may go with either.
    four = a_problem(3, 4, bundles=(0b1111,), clashes=(0b0010, 0b0001, 0, 0))
    assert contracted(four) is None
    # Three do not go on a knob for two, nor on knobs that they have not in common.
    assert contracted(attrs.evolve(bundle, per_knob=2)) is None
    first, *rest = bundle.atoms
    barred = attrs.evolve(first, knobs=0b001), *(attrs.evolve(each, knobs=0b110) for each in rest)
    assert contracted(attrs.evolve(bundle, atoms=barred)) is None


def test_of_several_bundles_those_are_joined_of_which_it_is_clear() -> None:
    clashes = (0b10, 0b01, 0, 0, 0)
    problem = a_problem(4, 5, bundles=(0b00111, 0b11000), clashes=clashes)
    found = contracted(problem)
    assert found is not None
    assert [atom.items for atom in found.problem.atoms] == [0b00001, 0b00010, 0b00100, 0b11000]
    assert found.joined == (False, True)
    # Of the other it is clear that two of it clash: it takes two knobs at least.
    assert found.floor(0b11111) == 1
    assert found.floor(0b11100) == 0
    # So it is where a knob has no room for all of it.
    narrow = contracted(attrs.evolve(problem, per_knob=2, clashes=(0,) * 5))
    assert narrow is not None
    assert narrow.joined == (False, True)
    assert narrow.floor(0b11111) == 1
