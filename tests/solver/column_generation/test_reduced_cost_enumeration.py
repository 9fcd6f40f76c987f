"""Sets within a limit: exactly those that going through all sets finds."""

from __future__ import annotations

import random

import numpy as np
import pytest

from knobpack.solver.column_generation import knapsack_pricing
from knobpack.solver.column_generation.knapsack_pricing import TooManySetsError, knapsack_of
from knobpack.solver.column_generation.reduced_cost_enumeration import found_exactly
from tests.oracles.problems import watch
from tests.solver.column_generation.family_terms import given, random_prices, reduced, valid_sets


def test_the_cheapest_sets_below_a_limit_are_exact() -> None:
    draw = random.Random(5)  # noqa: S311 (no secret)
    below = 0
    for _, terms in given(range(24)):
        prices = random_prices(draw, terms)
        sets = valid_sets(terms)
        costs, free = reduced(terms, sets, prices), terms.free(sets)
        limit = int(np.median(costs))
        found = found_exactly(terms, knapsack_of(terms, watch()), prices, limit, watch())
        assert found.line.knob == min(limit, int(costs[free].min()))
        for pin, least in found.line.pins.items():
            assert least == min(0, int(costs[sets >> pin & 1 == 1].min()))
        over = costs - np.where(free, limit, 0)
        if over.min() < 0:
            assert over[np.isin(sets, found.sets)].min() == over.min()
            below += 1
    assert below > 20


def test_too_many_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(knapsack_pricing, "MOST_STATES", 5)
    _, terms = next(given(range(1, 2)))
    nothing, knapsack = np.zeros(terms.count, dtype=np.int64), knapsack_of(terms, watch())
    with pytest.raises(TooManySetsError):
        found_exactly(terms, knapsack, nothing, 10**9, watch())
