"""The knapsack with set-up costs: against every set of a family."""

from __future__ import annotations

import random
from collections.abc import Iterator

import numpy as np
import pytest

from knobpack.numbered.problem import bits
from knobpack.solver.column_generation import knapsack_pricing
from knobpack.solver.column_generation.knapsack_pricing import (
    Knapsack,
    TooManySetsError,
    _shared_out,
    knapsack_of,
)
from knobpack.solver.column_generation.reduced_cost_enumeration import near_sets
from knobpack.solver.watch import Watch
from tests.oracles.problems import watch
from tests.solver.column_generation.family_terms import given, random_prices, reduced, valid_sets


def test_the_bound_is_that_of_the_cheapest_set_but_for_limits_on_a_knob(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    draw = random.Random(11)  # noqa: S311 (no secret)
    tight = loose = crowded = 0
    for seed, (_, terms) in enumerate(given(range(60))):
        # Of few numbers of loads, all others are seen by a tangent.
        monkeypatch.setattr(knapsack_pricing, "MOST_LOADS", (16, 3, 1)[seed % 3])
        knapsack = Knapsack(terms)
        prices = random_prices(draw, terms)
        sets = valid_sets(terms)
        costs = reduced(terms, sets, prices)
        line, found = knapsack.found(prices, watch())
        limited = terms.per_knob < terms.sizes.sum() or len(terms.admitted) > 1
        for pin, least in (*line.pins.items(), (-1, line.knob)):
            own = terms.free(sets) if pin < 0 else sets >> pin & 1 == 1
            best = int(costs[own].min())
            assert least <= best
            if not limited and (not terms.heap or knapsack.most >= len(terms.load_masks)):
                assert least == best
                tight += 1
            loose += least < best
        crowded += terms.heap > 0
        valid = found[terms.valid(found)]
        assert np.isin(valid, sets).all()
    assert tight > 20
    assert loose > 0
    assert crowded > 20


def test_it_lists_every_set_within_the_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = random.Random(12)  # noqa: S311 (no secret)
    listed = left = 0
    for seed, (_, terms) in enumerate(given(range(60))):
        monkeypatch.setattr(knapsack_pricing, "MOST_LOADS", (16, 3, 1)[seed % 3])
        knapsack = Knapsack(terms)
        prices = random_prices(draw, terms)
        line = knapsack.found(prices, watch())[0]
        sets = valid_sets(terms)
        waste = reduced(terms, sets, prices)
        for pin in (-1, *terms.pins):
            own = terms.free(sets) if pin < 0 else sets >> pin & 1 == 1
            waste[own] -= line.knob if pin < 0 else line.pins[pin]
        for slack in (0, 60 * 1024, 500 * 1024):
            found = near_sets(terms, knapsack, line, slack, watch())
            wanted = dict(zip(sets[waste <= slack], waste[waste <= slack], strict=True))
            assert dict(zip(found.sets, found.waste, strict=True)) == wanted
            listed += len(found.sets)
            left += len(sets) - len(found.sets)
    assert listed > 300
    assert left > 1_000


def test_what_is_entangled_is_bounded_from_below(monkeypatch: pytest.MonkeyPatch) -> None:
    draw = random.Random(13)  # noqa: S311 (no secret)
    loose = seen = left_out = 0
    for _, terms in given(range(80)):
        monkeypatch.setattr(knapsack_pricing, "MOST_NUMBERS", 200 * len(terms.own))
        knapsack = knapsack_of(terms, watch(), loads=4)
        easiest = knapsack.frontiers == 1 + terms.count
        most = 200 * len(terms.own) // (2 * 5 * len(terms.own) * (1 + len(terms.pins)))
        assert easiest or knapsack.frontiers <= 1 + most
        left_out += knapsack.terms.pairs != terms.pairs
        prices = random_prices(draw, terms)
        sets = valid_sets(terms)
        costs = reduced(terms, sets, prices)
        line = knapsack.found(prices, watch())[0]
        for pin, least in (*line.pins.items(), (-1, line.knob)):
            own = terms.free(sets) if pin < 0 else sets >> pin & 1 == 1
            assert least <= int(costs[own].min())
            loose += least < int(costs[own].min())
            seen += 1
        near = near_sets(terms, knapsack, line, 60 * 1024, watch())
        floor = line.floors(np.array([next(iter(_pins(terms.pinned, own)), -1) for own in sets]))
        assert set(near.sets) == set(sets[costs - floor <= 60 * 1024])
    assert seen > 80
    assert loose > 20
    assert left_out > 3


def test_making_it_easier_is_counted_and_ends_with_the_watch(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(knapsack_pricing, "MOST_NUMBERS", 1)
    counted = 0
    for _, terms in given(range(30)):
        if len(terms.groups):
            own = watch()
            before = own.effort
            knapsack_of(terms, own)
            spent = before - own.effort
            short = Watch(spent / 1_000)
            assert not len(knapsack_of(terms, short).terms.groups)
            assert spent / 1_000 - short.effort < spent
            counted += 1
    assert counted > 5


def _pins(pinned: int, own: int) -> Iterator[int]:
    return bits(pinned & int(own))


def test_too_many_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(knapsack_pricing, "MOST_STATES", 5)
    _, terms = next(given(range(1, 2)))
    knapsack = Knapsack(terms)
    line = knapsack.found(np.zeros(terms.count, dtype=np.int64), watch())[0]
    with pytest.raises(TooManySetsError):
        knapsack.lists(line, 10**9, watch())


def test_where_a_first_class_is_not_told_apart_every_set_has_it_free() -> None:
    seen = 0
    for _, terms in given(range(20)):
        sets = valid_sets(terms)
        for at in np.nonzero(terms.weights < 0)[0].tolist():
            less = terms.costs(sets) - _shared_out(terms, at).costs(sets)
            touched = sets & terms.groups[at] != 0
            assert (less == np.where(touched, 0, -terms.weights[at])).all()
            seen += 1
    assert seen > 10
