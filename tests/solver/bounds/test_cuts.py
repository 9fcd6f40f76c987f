"""Bounds by minimum cuts: never above brute force, and as good as listing every set allows."""

from __future__ import annotations

import attrs

from knobpack.numbered.problem import Mix
from knobpack.solver.bounds.cuts import cut_bound
from knobpack.solver.families import families
from knobpack.solver.set_partitioning.column_pool import column_pools_of, columns_of, knob_slots
from knobpack.solver.set_partitioning.relaxation import relax
from tests.oracles.problems import a_problem, atoms_of, every_placement, possible, size_of, watch


def test_no_bound_is_above_what_brute_force_finds() -> None:
    met = [0, 0, 0, 0]
    tried = seen = 0
    for case in possible(range(420)):
        problem = case.problem
        if size_of(case.request) > 1100:
            continue
        best = next(p for p in every_placement(case.request) if p.values == case.upper)
        start = columns_of(problem, {atoms_of(problem, items) for items in best.used})
        for tier in (1, 3):
            bound, sets = cut_bound(problem, case.values[:tier], start, 1 << 40, watch())
            assert bound <= case.values[tier], (case.seed, tier)
            assert {column.atoms for column in start} <= set(sets)
            met[tier] += bound == case.values[tier]
        tried += 1
        seen += bool(problem.breakable) and bool(case.values[2])
    assert tried > 60
    assert seen > 3
    assert met[1] > 0.6 * tried
    assert met[3] > 0.4 * tried


def test_where_nothing_else_is_asked_it_is_that_of_the_relaxation_over_every_set() -> None:
    equal = tried = 0
    for case in possible(range(200)):
        mixes = tuple(attrs.evolve(mix, heap=0) for mix in case.problem.mixes)
        plain = attrs.evolve(
            case.problem, pairs={}, breakable=(), per_knob=case.problem.items, mixes=mixes
        )
        slots, parts = knob_slots(plain), families(plain)
        if len(slots) > 1 or any(plain.clashes) or not parts:
            continue
        catalogues = column_pools_of(plain, parts, slots, watch())
        assert catalogues is not None
        start = columns_of(plain, [(1 << len(plain.atoms)) - 1])
        held = (0, 1 << 20, 0)
        relaxed = relax(plain, catalogues, slots, held, start, watch())
        assert relaxed is not None
        bound, _ = cut_bound(plain, held, start, 1 << 40, watch())
        tried += 1
        equal += abs(bound - max(0, relaxed.bound)) <= 1
    assert tried > 8
    assert equal == tried


def test_what_is_broken_is_seen_where_snapshots_are_few() -> None:
    # Pairs of a kind move apart: to share one, what is not to be broken, would cost nothing.
    kinds = Mix(10, tuple(0b11 << 2 * at for at in range(3)))
    apart = sum(1 << item for item in range(0, 6, 2))
    problem = a_problem(3, 6, breakable=((apart, 1),), mixes=(kinds,))
    start = columns_of(problem, [0b010101, 0b101010])
    assert cut_bound(problem, (0, 0, 0), start, 1 << 40, watch())[0] == 30
    assert cut_bound(problem, (0, 0, 3), start, 1 << 40, watch())[0] == 0


def test_a_bound_that_is_reached_ends_it() -> None:
    problem = a_problem(2, 4)
    start = columns_of(problem, [0b11, 0b1100])
    spent = watch()
    assert cut_bound(problem, (0, 0, 0), start, 0, spent)[0] == 0
    assert spent.effort == watch().effort
