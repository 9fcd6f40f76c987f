"""Large families: what going through all subsets finds, for those small enough to do that."""

from __future__ import annotations

import pytest

from knobpack.solver.column_generation import knapsack_pricing as within
from knobpack.solver.column_generation import large_family as large
from knobpack.solver.column_generation import terms as terms_room
from knobpack.solver.column_generation.knapsack_pricing import TooManySetsError
from knobpack.solver.column_generation.large_family import LargeFamily
from knobpack.solver.costs import FAR
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.value_functions.division import share
from knobpack.solver.value_functions.of_families import most_knobs
from knobpack.solver.value_functions.subset_dp import ValueFunction
from knobpack.solver.watch import Watch
from tests.oracles.problems import watch
from tests.solver.column_generation.family_terms import given, value_function


def silent(cost: int, bound: int) -> None:
    """Takes the news, and does nothing."""
    assert bound <= cost


def every(family: ValueFunction, knobs: int, atoms: int) -> set[tuple[int, ...]]:
    """Every cheapest way to place or leave out some atoms, as sets."""
    if not atoms:
        return {()}
    return {
        (chosen, *way)
        for chosen, rest, left in family.choices(knobs, atoms)
        for way in every(family, left, rest)
    }


def settled(seeds: range) -> tuple[int, int, int]:
    """How many entries no way was found for, were exact, and were not, all of them checked."""
    missed = exact = open_ = 0
    for problem, terms in given(seeds):
        known = value_function(problem, terms)
        most = most_knobs(problem, terms.atoms)
        for knobs in range(most + 1):
            family = LargeFamily(terms, most, watch())
            found = share([family], knobs, watch(), silent)
            least = min(known.costs[: knobs + 1])
            for at in range(most + 1):
                assert family.lower(at) <= known.costs[at] <= family.upper(at)
            if found is None:
                # Merging does not always find a way where there is one.
                assert all(cost >= FAR for cost in family.uppers[: knobs + 1])
                missed += least < FAR
                continue
            assert found.bound <= least <= found.cost
            if not found.exact:
                open_ += 1
                continue
            assert found.bound == least == found.cost
            counts = {at for at in range(knobs + 1) if known.costs[at] == least}
            assert found.division.counts() == [counts]
            for at in sorted(counts):
                try:
                    ways = every(family, at, terms.full)
                except TooManyVariantsError:
                    assert within.MOST_STATES < 100
                    continue
                assert ways == every(known, at, terms.full)
            exact += 1
    return missed, exact, open_


def test_every_entry_is_what_going_through_subsets_finds() -> None:
    missed, exact, open_ = settled(range(12))
    assert exact > 60
    assert open_ == 0
    assert missed == 0


def test_so_it_is_where_sets_are_no_words_and_rows_are_gone_through_a_few_at_a_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(terms_room, "WORD", 2)
    monkeypatch.setattr(within, "MOST_AT_ONCE", 1)
    missed, exact, open_ = settled(range(12, 20))
    assert exact > 30
    assert open_ == missed == 0


def test_many_atoms_are_priced_by_all_that_they_cost_or_not_at_all(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(large, "WORD", 2)
    monkeypatch.setattr(within, "MOST_NUMBERS", 1)
    refused = 0
    for _, terms in given(range(6)):
        if len(terms.groups):
            refused += 1
            with pytest.raises(TooManySetsError):
                LargeFamily(terms, 3, watch())
    assert refused > 3


def test_bounds_hold_where_there_is_too_much_to_list(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(within, "MOST_STATES", 3)
    _, exact, open_ = settled(range(12))
    assert exact > 20
    assert open_ > 3


def test_it_is_chosen_from_few_sets_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(large, "FEW_SETS", 20)
    _, exact, open_ = settled(range(6))
    assert exact > 30
    assert open_ == 0


def test_a_watch_that_is_over_leaves_a_way_and_a_bound() -> None:
    for problem, terms in given(range(1, 6)):
        most = most_knobs(problem, terms.atoms)
        stopped = Watch(0.0)
        found = share([LargeFamily(terms, most, stopped)], most, stopped, silent)
        assert found is not None
        assert found.bound <= min(value_function(problem, terms).costs) <= found.cost
