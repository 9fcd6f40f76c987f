"""The fast way: what brute force finds, wherever it answers, and no answer where it is not sure."""

from __future__ import annotations

import attrs
import pytest

from benchmarks.requests import sized
from knobpack.numbered.problem import bits
from knobpack.numbered.request import problem_of
from knobpack.solver.column_generation import knapsack_pricing as within
from knobpack.solver.column_generation import large_family as large
from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.contraction import contracted
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.value_functions import of_families as fast
from knobpack.solver.value_functions.known import known_costs
from knobpack.solver.value_functions.of_families import (
    ValueFunctions,
    arranged,
    proven_value_functions_of,
    value_functions_of,
)
from knobpack.solver.value_functions.subset_dp import LARGEST
from knobpack.solver.watch import Watch
from tests.oracles.problems import (
    a_problem,
    atoms_of,
    cases,
    every_placement,
    needed_atoms,
    possible,
    size_of,
    watch,
)

SEEDS = range(480)


def test_it_is_what_brute_force_finds() -> None:
    found = none = impossible = 0
    for case in cases(SEEDS):
        if case.problem.impossible:
            assert case.best is None, case.seed
            continue
        try:
            solved = proven_value_functions_of(case.problem, watch())
        except ImpossibleError:
            assert case.best is None, case.seed
            impossible += 1
            continue
        outcome = arranged(case.problem, solved, watch()) if solved else None
        if solved is None or outcome is None:
            none += 1
            continue
        assert solved.values == case.upper, case.seed
        assert outcome.values == case.values, case.seed
        assert outcome.bounds == case.values, case.seed
        assert all(outcome.proven)
        found += 1
    assert found >= 300
    assert none < 100
    assert impossible > 0


def all_sets(solved: ValueFunctions) -> set[int]:
    """Masks of the atoms of every set in some best solution of the first four tiers."""
    found = set()
    for family, counts in zip(solved.families, solved.division.counts(), strict=True):
        waiting, atoms = [(knobs, family.table.full) for knobs in counts], family.table.atoms
        while waiting:
            knobs, left = waiting.pop()
            for chosen, rest, still in family.choices(knobs, left) if left else ():
                found.add(sum(1 << atoms[place] for place in bits(chosen)))
                waiting.append((still, rest))
    return found


def test_every_set_of_a_best_placement_is_among_the_best_sets() -> None:
    seen = 0
    for case in possible(range(200)):
        solved = proven_value_functions_of(case.problem, watch())
        if solved is None or size_of(case.request) > 1100:
            continue
        sets = all_sets(solved)
        for placement in every_placement(case.request):
            if placement.values == solved.values:
                assert {atoms_of(case.problem, m) for m in placement.used} <= sets, case.seed
                seen += 1
    assert seen > 300


def test_it_does_not_answer_where_it_is_not_sure() -> None:
    assert proven_value_functions_of(a_problem(3, 4, routes=3), watch()) is None
    assert proven_value_functions_of(a_problem(3, LARGEST + 1, routes=LARGEST), watch()) is None
    assert proven_value_functions_of(a_problem(3, 4), Watch(0.0)) is None
    assert proven_value_functions_of(a_problem(3, 4), watch()) is not None


def test_too_few_knobs_for_what_is_needed_are_impossible() -> None:
    problem = needed_atoms(a_problem(2, 3, clashes=(0b110, 0b101, 0b011)))
    with pytest.raises(ImpossibleError):
        proven_value_functions_of(problem, watch())
    assert (
        proven_value_functions_of(attrs.evolve(problem, clashes=(0b110, 0b001, 0b001)), watch())
        is not None
    )


def test_too_many_ways_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    # Five that cost nothing however they share are in S(5, 1) + S(5, 2) + S(5, 3) = 1 + 15 + 25
    # ways on three knobs; places that differ from item to item make all of these differ.
    places = tuple((1 << item, 0, 0) for item in range(5))
    problem = needed_atoms(a_problem(3, 5, places=places))
    solved = proven_value_functions_of(problem, watch())
    assert solved is not None
    # To remember are the 2, 4 or 8 parts of each where there is a choice, and each division.
    monkeypatch.setattr(fast, "MOST_WORK", 15 * 4 + 25 * 8 + 3)
    assert arranged(problem, solved, watch()) is not None
    monkeypatch.setattr(fast, "MOST_WORK", 15 * 4 + 25 * 8 + 2)
    with pytest.raises(TooManyVariantsError):
        arranged(problem, solved, watch())


def test_families_taken_for_large_come_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fast, "SMALL", 0)
    monkeypatch.setattr(fast, "LITTLE_WORK", -1)
    taken = unfit = 0
    for case in possible(range(1000)):
        solved = proven_value_functions_of(case.problem, watch())
        if solved is None or case.values[0]:
            # Where not all is placed, families are taken for small all the same.
            unfit += 1
            continue
        outcome = arranged(case.problem, solved, watch())
        if outcome is None:
            # Every best way to share is one that single knobs do not admit.
            assert solved.values < case.upper, case.seed
            continue
        assert outcome.values == outcome.bounds == case.values, case.seed
        taken += any(isinstance(each, LargeFamily) for each in solved.families)
    assert taken > 100
    assert unfit > 50


def test_bounds_hold_where_large_families_are_not_made_exact(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(fast, "SMALL", 0)
    monkeypatch.setattr(fast, "LITTLE_WORK", -1)
    monkeypatch.setattr(within, "MOST_STATES", 1)
    monkeypatch.setattr(large, "FEW_SETS", 0)
    inexact = 0
    for case in possible(range(660)):
        solved = value_functions_of(case.problem, watch())
        if solved is None or not solved.sure:
            continue
        for tier, bound in enumerate(solved.bounds):
            if solved.bounds[:tier] == case.values[:tier]:
                assert bound <= case.values[tier], case.seed
        inexact += not solved.exact
    assert inexact > 3


def test_what_large_families_tell_of_other_numbers_of_knobs_is_exact(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    told = unsure = 0
    for case in possible(range(200)):
        whole = known_costs(case.problem, case.upper, watch())
        if whole is None:
            continue
        monkeypatch.setattr(fast, "SMALL", 0)
        monkeypatch.setattr(fast, "LITTLE_WORK", -1)
        part = known_costs(case.problem, case.upper, watch())
        monkeypatch.undo()
        if part is None:
            # Taken for large it is not known: that is left to the general way.
            unsure += 1
            continue
        pairs = zip((*part.families, part.whole), (*whole.families, whole.whole), strict=True)
        for one, other in pairs:
            assert one.items == other.items
            assert set(one.costs) <= set(other.costs), case.seed
            told += len(one.costs)
    assert told > 300
    assert unsure < 10


def test_families_taken_for_large_are_what_brute_force_finds(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """All or nothing of such a family is placed; what is between is told as not known."""
    monkeypatch.setattr(fast, "SMALL", 0)
    monkeypatch.setattr(fast, "LITTLE_WORK", 0)
    monkeypatch.setattr(fast, "LARGEST", 0)
    placed = left_out = 0
    for case in possible(range(1000, 1640)):
        solved = value_functions_of(case.problem, watch())
        if solved is None or not solved.proven:
            continue
        outcome = arranged(case.problem, solved, watch())
        if outcome is None:
            continue  # there are knobs enough, but not those that these may be on
        assert outcome.values == outcome.bounds == case.values, case.seed
        placed += not solved.values[0]
        left_out += solved.values[0] > 0
    assert placed > 50
    assert left_out > 15


def test_a_hidden_one_of_a_parted_bundle_may_be_left_out_of_a_large_family(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # To leave it out costs no more in the tier bundles than its knob, and less than to share one.
    contraction = contracted(problem_of(sized(31, 10, 44, 3)))
    assert contraction is not None
    monkeypatch.setattr(fast, "LITTLE_WORK", 10**15)
    whole = proven_value_functions_of(contraction.problem, watch())
    monkeypatch.setattr(fast, "SMALL", 4)
    monkeypatch.setattr(fast, "LITTLE_WORK", -1)
    held = value_functions_of(contraction.problem, watch())
    assert whole is not None
    assert held is not None
    assert held.bounds <= whole.values <= held.values
    assert 0.9 * whole.values[3] < held.bounds[3]
