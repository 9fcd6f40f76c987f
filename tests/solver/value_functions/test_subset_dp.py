"""Frontiers: against every partition of a family, and by counts that are known.

Sources, all from memory: the ways to part n things into k sets are Stirling's numbers of the second
kind, S(n, k), and into any number of sets Bell's (Graham, Knuth and Patashnik, "Concrete
Mathematics", 6.1); the pairs of a set of n things and a subset of it are 3**n.
"""

from __future__ import annotations

import random

import numpy as np
import pytest

from knobpack.solver.costs import FAR
from knobpack.solver.families import families
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import (
    Table,
    ValueFunction,
    _subsets,
    subset_table_of,
    table_of,
)
from tests.oracles.problems import (
    a_problem,
    atoms_of,
    every_placement,
    needed_atoms,
    partitions,
    possible,
    size_of,
)

STIRLING = {
    4: (0, 1, 7, 6, 1),
    5: (0, 1, 15, 25, 10, 1),
    6: (0, 1, 31, 90, 65, 15, 1),
    7: (0, 1, 63, 301, 350, 140, 21, 1),
}
BELL = {4: 15, 5: 52, 6: 203, 7: 877}


def random_table(draw: random.Random, count: int) -> Table:
    """Prices without any order: on a free knob, on a pinned one, and left out."""

    def prices(size: int, chance: float) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
        drawn = [FAR if draw.random() < chance else draw.randint(0, 9) for _ in range(size)]
        return np.array(drawn, dtype=np.int64)

    free, pinned = prices(1 << count, 0.3), prices(1 << count, draw.choice((0.8, 1.0)))
    omitted = prices(1 << count, 0.5)
    free[0] = pinned[0] = FAR
    omitted[0] = 0
    return Table(tuple(range(10, 10 + count)), free, pinned, omitted)


def by_partitions(table: Table, atoms: int, most: int) -> list[int]:
    """The least cost of some atoms on 0, 1, … free knobs, over every use of every partition."""
    best = [FAR] * (most + 1)
    inside = tuple(at for at in range(len(table.atoms)) if atoms >> at & 1)
    for parts in partitions(inside):
        # So many free knobs used so far, and what it costs.
        costs = {0: 0}
        for part in parts:
            after: dict[int, int] = {}
            for knobs, cost in costs.items():
                ways = [(knobs + 1, int(table.free[part])), (knobs, int(table.pinned[part]))]
                for used, own in ways:
                    after[used] = min(after.get(used, FAR), cost + own)
            costs = after
        for knobs, cost in costs.items():
            if knobs <= most:
                best[knobs] = min(best[knobs], cost)
    return best


def some_left_out(table: Table, most: int) -> list[int]:
    """The least cost over every set that is left out."""
    best = [FAR] * (most + 1)
    for left_out in range(table.full + 1):
        placed = by_partitions(table, table.full ^ left_out, most)
        own = int(table.omitted[left_out])
        best = [min(one, own + other) for one, other in zip(best, placed, strict=True)]
    return best


def walks(value_function: ValueFunction, knobs: int, atoms: int) -> list[list[int]]:
    """Every cheapest arrangement, by following the choices to the end; 0 stands for left out."""
    if not atoms:
        return [[]]
    return [
        [chosen, *others]
        for chosen, rest, left in value_function.choices(knobs, atoms)
        for others in walks(value_function, left, rest)
    ]


def test_every_set_on_every_number_of_knobs_is_the_best_of_all_partitions() -> None:
    ruled_out = 0
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        count = draw.randint(1, 5)
        table = random_table(draw, count)
        value_function = subset_table_of(table, count)
        for atoms in range(1 << count):
            known = by_partitions(table, atoms, count)
            found = [min(int(cost), FAR) for cost in value_function.best[:, atoms]]
            assert found == known, (seed, atoms)
            ruled_out += FAR in known
        assert value_function.costs == some_left_out(table, count), seed
    assert ruled_out > 50


def test_choices_lead_to_every_cheapest_arrangement_and_to_no_other() -> None:
    for seed in range(40):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        count = draw.randint(2, 4)
        table = random_table(draw, count)
        value_function = subset_table_of(table, count)
        for knobs in range(count + 1):
            target = value_function.costs[knobs]
            if target >= FAR:
                continue
            found = walks(value_function, knobs, table.full)
            for sets in found:
                covered = 0
                for each in sets:
                    assert not covered & each
                    covered |= each
                left_out = [at for at in range(count) if not covered >> at & 1]
                cost = int(table.omitted[sum(1 << at for at in left_out)])
                on = [each for each in sets if each]
                # Some choice of free and pinned makes up the rest on exactly so many knobs.
                costs = {0: cost}
                for each in on:
                    after: dict[int, int] = {}
                    for used, so_far in costs.items():
                        for at, own in ((used + 1, table.free[each]), (used, table.pinned[each])):
                            after[at] = min(after.get(at, FAR), so_far + int(own))
                    costs = after
                assert costs[knobs] == target, seed


@pytest.mark.parametrize("count", sorted(STIRLING))
def test_where_nothing_costs_anything_every_partition_is_best(count: int) -> None:
    problem = needed_atoms(a_problem(count, count))
    table = table_of(problem, scale_of(problem), tuple(range(count)))
    value_function = subset_table_of(table, count)
    assert value_function.costs == [FAR, *[0] * count]
    found = [len(walks(value_function, knobs, table.full)) for knobs in range(1, count + 1)]
    assert found == list(STIRLING[count][1:])
    assert sum(found) == BELL[count]


@pytest.mark.parametrize("count", [0, 1, 5, 9])
def test_sets_with_their_subsets_are_three_to_the_n(count: int) -> None:
    groups = _subsets(count)
    assert sum(subsets.size for _, subsets in groups) == 3**count
    for whole, subsets in groups:
        assert not (subsets & ~whole[:, None]).any()
        assert all(len(set(row)) == len(row) for row in subsets.tolist())


def test_a_set_that_may_be_somewhere_is_one_that_a_valid_placement_has() -> None:
    seen = 0
    for case in possible(range(150)):
        problem = case.problem
        if size_of(case.request) > 1100:
            continue
        used = {atoms_of(problem, m) for p in every_placement(case.request) for m in p.used}
        for part in families(problem):
            sets = table_of(problem, scale_of(problem), part)
            for chosen in range(1, 1 << len(part)):
                atoms = sum(1 << number for at, number in enumerate(part) if chosen >> at & 1)
                if atoms in used:
                    seen += 1
                    holds = any(problem.atoms[n].pinned is not None for n in part if atoms >> n & 1)
                    # Every atom that is pinned is placed, so what shares with it is with it.
                    assert (sets.pinned[chosen] < FAR) == holds, case.seed
                    assert holds or sets.free[chosen] < FAR, case.seed
    assert seen > 300
