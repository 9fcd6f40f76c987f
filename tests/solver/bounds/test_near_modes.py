"""Sets that may break as little as is known: none that a placement could need is left out."""

from __future__ import annotations

import random
from itertools import product

import pytest

from knobpack.numbered.problem import Atom, Mix, Problem, bits
from knobpack.solver import general
from knobpack.solver.bounds import near_modes
from knobpack.solver.bounds.near_modes import near_pools
from knobpack.solver.evaluate import values_of
from knobpack.solver.set_partitioning.column_pool import ColumnPool, knob_slots
from knobpack.solver.store import Store
from tests.oracles.problems import a_problem, meets, watch


def listed(pools: list[ColumnPool]) -> set[int]:
    return {
        sum(1 << pool.atoms[place] for place, held in enumerate(row) if held)
        for pool in pools
        for row in pool.members.tolist()
    }


def small(seed: int) -> Problem:
    """Eight items for two knobs, some of which may be left out, some do not share."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    snapshots = tuple((draw.getrandbits(8), draw.randint(1, 3)) for _ in range(3))
    apart = [[draw.random() < 0.2 for _ in range(8)] for _ in range(8)]
    clashes = tuple(
        sum(1 << at for at in range(8) if at != own and apart[min(own, at)][max(own, at)])
        for own in range(8)
    )
    atoms = tuple(
        Atom(1 << item, 1, 3, None, draw.random() < 0.5, draw.choice((0, 1, 4)))
        for item in range(8)
    )
    return a_problem(2, 8, breakable=snapshots, atoms=atoms, clashes=clashes)


def placements(problem: Problem) -> list[tuple[tuple[int, ...], list[int]]]:
    """Every placement: its first three values, and its sets."""
    found: list[tuple[tuple[int, ...], list[int]]] = []
    for where in product((None, 0, 1), repeat=8):
        knobs = {item: knob for item, knob in enumerate(where) if knob is not None}
        if meets(problem, knobs):
            sets = [atoms for atoms in problem.atoms_on(knobs).values() if atoms]
            found.append((values_of(problem, knobs)[:3], sets))
    return found


def test_every_set_of_each_placement_that_breaks_as_little_is_listed() -> None:
    looked_at = left_out = 0
    for seed in range(16):
        problem = small(seed)
        every = placements(problem)
        if not every:
            continue
        best = min(values for values, _ in every)
        for more in ((0, 0, 0), (0, 0, 1), (1, 0, 0), (4, 0, 2)):
            held = [value + extra for value, extra in zip(best, more, strict=True)]
            pools = near_pools(problem, held, knob_slots(problem), watch())
            if pools is None:
                continue
            known = listed(pools)
            looked_at += 1
            for values, sets in every:
                if all(value <= most for value, most in zip(values, held, strict=True)):
                    assert known.issuperset(sets), (seed, held)
            left_out += any(not known.issuperset(sets) for _, sets in every)
    assert looked_at > 10
    assert left_out > 5


def drawn(seed: int) -> Problem:
    """Three knobs, and more sorts of items than that; three priced mixes of classes drawn."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    snapshots = tuple((draw.getrandbits(12), draw.randint(1, 3)) for _ in range(5))
    mixes = []
    for weight, heap in ((300, 0), (200, 0), (50, 40)):
        sorts = [draw.randrange(4) for _ in range(12)]
        masks = [sum(1 << at for at, own in enumerate(sorts) if own == sort) for sort in range(4)]
        several = tuple(mask for mask in masks if mask.bit_count() > 1)
        mixes.append(Mix(weight, several, heap))
    return a_problem(3, 12, breakable=snapshots, mixes=tuple(mixes))


def test_with_few_sets_the_same_is_best_as_with_all(monkeypatch: pytest.MonkeyPatch) -> None:
    fewer = 0
    for seed in range(3):
        problem = drawn(seed)
        found = general.general(Store(problem), watch())
        assert found.values[:4] == found.bounds[:4]
        pools = near_pools(problem, found.values[:3], knob_slots(problem), watch())
        fewer += pools is not None and sum(len(pool.members) for pool in pools) < 2_000
        with monkeypatch.context() as patched:
            patched.setattr(general, "near_pools", lambda *_: None)
            whole = general.general(Store(problem), watch())
        assert found.values[:4] == whole.values[:4]
        assert whole.values[:4] == whole.bounds[:4]
    assert fewer > 1


def test_where_there_are_too_many_none_is_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = drawn(0)
    held = general.general(Store(problem), watch()).values[:3]
    slots = knob_slots(problem)
    whole = near_pools(problem, held, slots, watch())
    assert whole is not None
    assert all(next(bits(mask), None) is not None for mask in listed(whole))
    monkeypatch.setattr(near_modes, "MOST_SETS", 1)
    assert near_pools(problem, held, slots, watch()) is None
    # So much may be broken that two knobs could follow in the same way.
    assert near_pools(problem, (*held[:2], 10**6), slots, watch()) is None
