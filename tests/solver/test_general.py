"""The general way: what brute force finds, and no set of a best placement thrown away."""

from __future__ import annotations

import attrs
import networkx as nx
import pytest

from knobpack.numbered.problem import Problem
from knobpack.solver.evaluate import values_of
from knobpack.solver.families import families
from knobpack.solver.general import general
from knobpack.solver.outcome import UPPER, ImpossibleError, NothingFoundError
from knobpack.solver.set_partitioning.closing import Shelf
from knobpack.solver.set_partitioning.column_pool import column_pools_of, columns_of, knob_slots
from knobpack.solver.set_partitioning.relaxation import relax
from knobpack.solver.store import Store
from knobpack.solver.watch import CANCELLED, Watch
from tests.oracles.problems import (
    Placement,
    a_problem,
    atoms_of,
    cases,
    every_placement,
    needed_atoms,
    of_graph,
    possible,
    size_of,
    watch,
)


def test_it_is_what_brute_force_finds() -> None:
    found = impossible = 0
    for case in cases(range(440)):
        if case.problem.impossible:
            continue
        if case.best is None:
            with pytest.raises(ImpossibleError):
                general(Store(case.problem), watch())
            impossible += 1
            continue
        outcome = general(Store(case.problem), watch())
        assert outcome.values == case.values, case.seed
        assert outcome.bounds == case.values, case.seed
        assert values_of(case.problem, outcome.knobs) == case.values, case.seed
        found += 1
    assert found >= 300
    assert impossible > 5


def shelf_of(problem: Problem) -> Shelf:
    slots = knob_slots(problem)
    parts = families(problem)
    catalogues = column_pools_of(problem, parts, slots, watch())
    assert catalogues is not None
    return Shelf(problem, slots, catalogues)


def sets_of(problem: Problem, placement: Placement) -> set[int]:
    return {atoms_of(problem, items) for items in placement.used}


def test_no_set_of_a_placement_that_is_good_enough_is_passed_over() -> None:
    near, passed_over = 0, 0
    for case in possible(range(200)):
        problem = case.problem
        if size_of(case.request) > 1100:
            continue
        shelf, placements = shelf_of(problem), every_placement(case.request)
        catalogues = shelf.catalogues or ()
        best = next(p for p in placements if p.values == case.upper)
        start = columns_of(problem, sets_of(problem, best))
        for tier in range(UPPER):
            held = case.values[:tier]
            relaxed = relax(problem, catalogues, shelf.slots, held, start, watch())
            assert relaxed is not None
            assert relaxed.bound <= case.values[tier], (case.seed, tier)
            for more in (0, 1, 60):
                value = case.values[tier] + more
                pool = shelf.near(relaxed, tier, value, watch())
                assert pool is not None
                assert pool.complete
                kept = {column.atoms: column for column in pool.columns}
                reduced = {each.column.atoms: each.reduced for each in pool.priced}
                for placement in placements:
                    if placement.values[:tier] == held and placement.values[tier] <= value:
                        sets = sets_of(problem, placement)
                        assert sets <= kept.keys(), (case.seed, tier, more)
                        assert sum(reduced[each] for each in sets) <= pool.slack
                        near += 1
                passed_over += sum(len(c.members) for c in catalogues) - len(kept)
    assert near > 1000
    assert passed_over > 500


def test_impossible_and_never_found_are_told_apart() -> None:
    crowded = needed_atoms(a_problem(2, 3, clashes=(0b110, 0b101, 0b011)))
    with pytest.raises(ImpossibleError):
        general(Store(crowded), Watch(0.0))
    # No three of a circle of five clash with each other, and yet two knobs are not enough.
    circle = needed_atoms(of_graph(nx.cycle_graph(5), 2))
    with pytest.raises(ImpossibleError):
        general(Store(circle), watch())
    with pytest.raises(NothingFoundError):
        general(Store(circle), Watch(0.0))


def test_stopped_at_once_it_gives_the_first_placement_with_bounds_that_hold() -> None:
    marked = 0
    for case in possible(range(80)):
        stop = Watch(60.0, cancelled=lambda: True)
        try:
            outcome = general(Store(case.problem), stop)
        except NothingFoundError:
            continue
        assert values_of(case.problem, outcome.knobs) == outcome.values
        assert outcome.values >= case.values, case.seed
        for tier in range(len(case.values)):
            if outcome.values[:tier] == case.values[:tier]:
                assert outcome.bounds[tier] <= case.values[tier], case.seed
        if not all(outcome.proven):
            assert stop.stopped == CANCELLED
            marked += 1
    assert marked > 25


def test_it_tells_of_each_tier_with_bounds_that_hold() -> None:
    told = 0
    for case in possible(range(40)):
        news: list[tuple[int, int | None, int]] = []
        listening = attrs.evolve(watch(), told=lambda *each: news.append(each))  # noqa: B023
        general(Store(case.problem), listening)
        assert [tier for tier, _, _ in news[:4]] == [0, 1, 2, 3]
        for tier, value, bound in news:
            assert value is not None
            assert bound <= value
            assert bound <= case.values[tier], case.seed
        told += len(news)
    assert told > 40
