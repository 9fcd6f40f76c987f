"""Sets within a limit: exactly those that going through all sets finds."""

from __future__ import annotations

import random
from functools import partial

import numpy as np
import pytest

from knobpack.solver.column_generation import reduced_cost_enumeration as listing
from knobpack.solver.column_generation.lagrangian_bound import found_at
from knobpack.solver.column_generation.min_cut_pricing import seeds_of
from knobpack.solver.column_generation.reduced_cost_enumeration import (
    TooManySetsError,
    found_exactly,
    grown,
    near_sets,
)
from tests.oracles.family_terms import given, reduced, valid_sets
from tests.oracles.problems import watch
from tests.solver.column_generation.test_lagrangian_bound import random_prices


def test_it_lists_every_set_within_the_limit_and_no_other() -> None:
    draw = random.Random(4)  # noqa: S311 (no secret)
    listed = left = 0
    for _, terms in given(range(24)):
        prices = random_prices(draw, terms)
        seeds = seeds_of(terms, apart=draw.random() < 0.7)
        line = found_at([seeds_of(terms, apart=False)], [prices], watch())[0].line
        sets = valid_sets(terms)
        floor = np.full(len(sets), line.knob)
        for pin, least in line.pins.items():
            floor[sets >> pin & 1 == 1] = least
        waste = reduced(terms, sets, prices) - floor
        for slack in (0, 60 * 1024, 500 * 1024):
            found = near_sets(terms, partial(grown, seeds), line, slack, watch())
            wanted = dict(zip(sets[waste <= slack], waste[waste <= slack], strict=True))
            assert dict(zip(found.sets, found.waste, strict=True)) == wanted
            assert (found.costs == terms.costs(found.sets)).all()
            listed += len(found.sets)
            left += len(sets) - len(found.sets)
    assert listed > 300
    assert left > 1_000


def test_the_cheapest_sets_below_a_limit_are_exact() -> None:
    draw = random.Random(5)  # noqa: S311 (no secret)
    below = 0
    for _, terms in given(range(24)):
        prices = random_prices(draw, terms)
        sets = valid_sets(terms)
        costs, free = reduced(terms, sets, prices), terms.free(sets)
        limit = int(np.median(costs))
        found = found_exactly(
            terms, partial(grown, seeds_of(terms, apart=True)), prices, limit, watch()
        )
        assert found.line.knob == min(limit, int(costs[free].min()))
        for pin, least in found.line.pins.items():
            assert least == min(0, int(costs[sets >> pin & 1 == 1].min()))
        over = costs - np.where(free, limit, 0)
        if over.min() < 0:
            assert over[np.isin(sets, found.sets)].min() == over.min()
            below += 1
    assert below > 20


def test_too_many_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(listing, "MOST_STATES", 5)
    _, terms = next(given(range(1, 2)))
    seeds = seeds_of(terms, apart=True)
    with pytest.raises(TooManySetsError):
        found_exactly(
            terms, partial(grown, seeds), np.zeros(terms.count, dtype=np.int64), 10**9, watch()
        )
