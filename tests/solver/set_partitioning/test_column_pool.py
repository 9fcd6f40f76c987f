"""The catalogue: the number of sets, which is known for many graphs, and their prices."""

from __future__ import annotations

from itertools import combinations
from math import comb

import attrs
import networkx as nx
import numpy as np
import pytest

from knobpack.numbered.problem import Atom, Mix, Problem, bits
from knobpack.numbered.request import problem_of
from knobpack.solver.families import families
from knobpack.solver.set_partitioning.column_pool import (
    ColumnPool,
    column_pool_of,
    column_pools_of,
    columns_of,
    knob_slots,
)
from knobpack.solver.watch import Kept, Watch
from knobpack.words import Request
from knobpack.words.edits import without_rule, without_snapshot
from tests.oracles import masks
from tests.oracles.problems import a_problem, of_graph, possible, watch
from tests.oracles.reading import Reading, read


def all_of(problem: Problem) -> ColumnPool:
    everything = tuple(range(len(problem.atoms)))
    found = column_pool_of(problem, everything, knob_slots(problem), watch())
    assert found is not None
    return found


def rows_of(catalogue: ColumnPool) -> list[int]:
    """The sets, as masks of atom numbers."""
    return [
        sum(1 << number for number, here in zip(catalogue.atoms, row, strict=True) if here)
        for row in catalogue.members.tolist()
    ]


@pytest.mark.parametrize("count", [1, 4, 9])
def test_free_items_make_every_set(count: int) -> None:
    sets = rows_of(all_of(a_problem(3, count)))
    assert sorted(sets) == list(range(1, 2**count))


@pytest.mark.parametrize("count", [3, 5, 8, 10])
def test_a_path_has_fibonacci_and_a_circle_lucas_many(count: int) -> None:
    # Independent sets, the empty one included (Prodinger and Tichy 1982, "Fibonacci numbers of
    # graphs"; from memory): a path of n has F(n+2), a circle of n has L(n).
    fibonacci = [0, 1]
    while len(fibonacci) < count + 3:
        fibonacci.append(fibonacci[-1] + fibonacci[-2])
    path = all_of(of_graph(nx.path_graph(count), 2))
    circle = all_of(of_graph(nx.cycle_graph(count), 2))
    assert len(path.members) + 1 == fibonacci[count + 2]
    assert len(circle.members) + 1 == fibonacci[count - 1] + fibonacci[count + 1]


@pytest.mark.parametrize("limit", [1, 2, 5])
def test_so_many_on_a_knob_are_binomials(limit: int) -> None:
    found = all_of(a_problem(2, 7, per_knob=limit))
    assert len(found.members) == sum(comb(7, size) for size in range(1, limit + 1))
    assert found.sizes.tolist() == [mask.bit_count() for mask in rows_of(found)]


def test_there_is_none_of_more_than_the_most_sets_or_when_the_watch_is_over() -> None:
    problem = a_problem(2, 7)
    everything, slots = tuple(range(7)), knob_slots(problem)
    assert column_pool_of(problem, everything, slots, watch(), 2**7 - 1) is not None
    assert column_pool_of(problem, everything, slots, watch(), 7 + comb(7, 2)) is None
    assert column_pool_of(problem, everything, slots, Watch(0.0)) is None
    assert column_pools_of(problem, [everything], slots, Watch(0.0)) is None


def test_too_many_that_may_all_share_are_seen_at_once() -> None:
    problem = a_problem(2, 60)
    spent = watch()
    assert column_pools_of(problem, [tuple(range(60))], knob_slots(problem), spent) is None
    few = a_problem(2, 60, per_knob=2)
    found = column_pools_of(few, [tuple(range(60))], knob_slots(few), watch())
    assert found is not None
    assert len(found[0].members) == 60 + comb(60, 2)


def test_a_knob_with_a_pinned_atom_takes_only_sets_with_it() -> None:
    atoms = a_problem(3, 4).atoms
    pinned = Atom(1, 1, 0b001, 0, True, 1)
    barred = Atom(8, 1, 0b110, None, False, 1)
    problem = a_problem(3, 4, atoms=(pinned, *atoms[1:3], barred))
    assert sorted(knob_slots(problem)) == [0b001, 0b110]
    found = all_of(problem)
    # With the pinned one: any of the two in the middle. Without it: any set of the other three.
    assert sorted(rows_of(found)) == sorted(
        [1 | 2 * a | 4 * b for a in (0, 1) for b in (0, 1)] + [2 * mask for mask in range(1, 8)]
    )
    for row, mask in enumerate(rows_of(found)):
        slots = [
            slot for slot, here in zip(knob_slots(problem), found.slots[row], strict=True) if here
        ]
        assert slots == ([0b001] if mask & 1 else [0b110])


def test_on_seeded_requests_it_holds_what_fits_and_prices_it_right() -> None:
    seen = bundled = 0
    for case in possible(range(80)):
        problem, reading = case.problem, read(case.request)
        slots = knob_slots(problem)
        assert sum(slots) == (1 << problem.knobs) - 1
        assert all(not one & other for one, other in combinations(slots, 2))
        for part in families(problem):
            found = column_pool_of(problem, part, slots, watch())
            assert found is not None
            sets = rows_of(found)
            assert len(set(sets)) == len(sets)
            for row, atoms in enumerate(sets):
                items = problem.items_of(atoms)
                column = found.column(problem, row)
                knobs = [k for k in range(problem.knobs) if _may_be(reading, k, items)]
                open_knobs = sum(1 << knob for knob in knobs) & ~_pinned_elsewhere(problem, atoms)
                assert column.knobs == open_knobs, (case.seed, bin(items))
                in_slots = sum(s for s, h in zip(slots, found.slots[row], strict=True) if h)
                assert in_slots == open_knobs
                assert (column.items, column.atoms) == (items, atoms)
                sharing = masks.sharing(reading, knobs[0], items) + _touched(reading, items)
                held = sum(1 for mask in reading.bundles if mask & items)
                assert column.costs == (0, held, masks.breaks(reading, items), sharing)
                bundled += held > 0
                assert column == columns_of(problem, [atoms])[0]
                seen += 1
            inside = [n for n in range(1, 1 << len(part)) if _wanted(problem, reading, part, n)]
            assert len(inside) == len(sets), case.seed
    assert seen > 300
    assert bundled > 100


def _touched(reading: Reading, items: int) -> int:
    """The weights of the spreads that these items are of, each counted on every knob it is on."""
    return sum(
        weight for mask, weight in masks.spreads(reading) if mask & items and mask.bit_count() > 1
    )


def _may_be(reading: Reading, knob: int, items: int) -> bool:
    """Whether these items together may be on this knob, what is kept there aside."""
    return masks.fits(reading, knob, items | reading.kept[knob]) and (
        items & reading.kept[knob] == reading.kept[knob]
    )


def _pinned_elsewhere(problem: Problem, atoms: int) -> int:
    """The knobs that an atom outside ``atoms`` is pinned to."""
    others = (a for n, a in enumerate(problem.atoms) if not atoms >> n & 1 and a.pinned is not None)
    return sum({1 << atom.pinned for atom in others if atom.pinned is not None})


def _wanted(problem: Problem, reading: Reading, part: tuple[int, ...], chosen: int) -> bool:
    atoms = sum(1 << number for at, number in enumerate(part) if chosen >> at & 1)
    items = problem.items_of(atoms)
    shut = _pinned_elsewhere(problem, atoms)
    return any(
        not shut >> knob & 1 and _may_be(reading, knob, items) for knob in range(problem.knobs)
    )


def test_no_sets_have_no_columns() -> None:
    assert columns_of(a_problem(2, 3), []) == ()


def test_columns_come_once_and_in_order() -> None:
    problem = attrs.evolve(a_problem(2, 3), mixes=(Mix(7),))
    found = columns_of(problem, [0b110, 0b001, 0b110])
    assert [(column.atoms, column.costs) for column in found] == [
        (0b001, (0, 0, 0, 0)),
        (0b110, (0, 0, 0, 7)),
    ]
    assert [list(bits(column.knobs)) for column in found] == [[0, 1], [0, 1]]


def test_what_is_kept_of_a_search_like_it_is_what_is_worked_out_anew() -> None:
    kept_ones = other_ones = 0
    for case in possible(range(60)):
        searches = watch()
        searches.kept = Kept(4)
        before: list[ColumnPool] = []
        for request in (case.request, *_with_less(case.request)):
            problem = problem_of(request)
            parts, slots = families(problem), knob_slots(problem)
            pools = column_pools_of(problem, parts, slots, searches.slice()) or []
            for part, pool in zip(parts, pools, strict=False):
                anew = column_pool_of(problem, part, slots, watch())
                assert anew is not None
                for field in attrs.fields(ColumnPool):
                    pairs = (getattr(pool, field.name), getattr(anew, field.name))
                    assert np.array_equal(*pairs), (case.seed, field.name)
            kept_ones += sum(any(pool is each for each in before) for pool in pools)
            other_ones += sum(all(pool is not each for each in before) for pool in pools)
            before += pools
    assert min(kept_ones, other_ones) > 30


def test_what_is_kept_is_told_apart_by_what_counts() -> None:
    searches = watch()
    searches.kept = Kept(4)
    for among in (0b011, 0b110, 0b011):
        problem = a_problem(2, 3, mixes=(Mix(5, among=among),))
        part, slots = families(problem)[0], knob_slots(problem)
        pools = column_pools_of(problem, [part], slots, searches.slice()) or []
        columns = (pools[0].column(problem, row) for row in range(len(pools[0].sizes)))
        dear = [column.atoms for column in columns if column.costs[3]]
        assert dear == [among, 0b111]


def _with_less(request: Request) -> list[Request]:
    """The request without each of its rules and snapshots, and on knobs that carry less."""
    surface = attrs.evolve(request.surface, destinations_per_knob=2)
    found = [without_rule(request, rule) for rule in dict.fromkeys(request.rules)]
    found += [without_snapshot(request, each.name) for each in request.played]
    return [*found, attrs.evolve(request, surface=surface)]
