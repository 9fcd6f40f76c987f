"""The store: it keeps the best, and a bound only while it holds."""

from __future__ import annotations

from knobpack.numbered.problem import Mix
from knobpack.solver.store import Store
from tests.oracles.problems import a_problem


def test_it_keeps_the_better_placement_and_says_what_is_met() -> None:
    store = Store(a_problem(2, 2, mixes=(Mix(5),)))
    assert store.bound(0) == 0
    assert not store.met(0)
    store.offer(None)
    assert store.values is None
    store.offer({0: 0, 1: 0})
    store.offer({0: 0, 1: 1})
    store.offer({0: 0, 1: 0})
    assert store.knobs == {0: 0, 1: 1}
    assert all(map(store.met, range(4)))


def test_a_bound_holds_while_no_earlier_tier_is_worse_than_it_was_for() -> None:
    store = Store(a_problem(2, 3, breakable=((0b001, 4),), mixes=(Mix(5),)))
    store.offer({0: 0, 1: 0, 2: 1})
    assert store.values is not None
    assert store.values[2:4] == (4, 5)
    store.raise_to(3, 5, (0, 0, 9))
    assert store.bound(3) == 5
    store.raise_to(3, 4, (0, 0, 4))
    assert store.bound(3) == 5
    strict = Store(store.problem)
    strict.offer(store.knobs)
    strict.raise_to(3, 5, (0, 0, 0))
    assert strict.bound(3) == 0
    strict.offer({0: 0, 1: 1, 2: 1})
    assert strict.bound(3) == 5
    assert strict.outcome().proven[:4] == (True, True, True, True)
