"""Minimum cuts and the bounds that follow: against every set and every value function."""

from __future__ import annotations

import random

import numpy as np

from knobpack.solver.column_generation.lagrangian_bound import found_at
from knobpack.solver.column_generation.min_cut_pricing import QUANTUM, Ask, cheapest, seeds_of
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import FAR, Whole
from tests.oracles.family_terms import given, reduced, valid_sets, value_function
from tests.oracles.problems import watch


def random_prices(draw: random.Random, terms: Terms) -> Whole:
    """Prices of about what an atom costs, not whole points."""
    drawn = [draw.randint(-50_000, 900_000) for _ in terms.atoms]
    return np.array(drawn, dtype=np.int64)


def test_cuts_find_the_cheapest_set_of_every_centre() -> None:
    draw = random.Random(1)  # noqa: S311 (no secret)
    tight = loose = 0
    for _, terms in given(range(24)):
        prices = random_prices(draw, terms)
        sets = valid_sets(terms)
        costs = reduced(terms, sets, prices)
        free = [at for at in range(terms.count) if not terms.pinned >> at & 1]
        clashing = any(terms.clashes[at] & ~terms.pinned for at in free)
        seen = not (terms.pairs or clashing or terms.heap)
        for apart in (False, True):
            seeds = seeds_of(terms, apart=apart)
            (answer,) = cheapest([Ask(seeds, prices)], watch())
            within_limit = terms.per_knob >= terms.sizes.sum()
            for pin in sorted(set(seeds.pin.tolist())):
                own = terms.free(sets) if pin < 0 else sets >> pin & 1 == 1
                least = int(answer.least[seeds.pin == pin].min())
                best = int(costs[own].min())
                assert least <= best
                if within_limit and seen:
                    assert least == best
                    tight += 1
                loose += least < best
    assert tight > 40
    assert loose > 0


def test_every_set_has_a_centre_that_it_is_no_cheaper_than() -> None:
    draw = random.Random(2)  # noqa: S311 (no secret)
    seen = 0
    for _, terms in given(range(30)):
        prices = random_prices(draw, terms)
        seeds = seeds_of(terms, apart=False)
        (pricing,) = cheapest([Ask(seeds, prices)], watch())
        sets = valid_sets(terms)
        costs = reduced(terms, sets, prices)
        holds = (sets[:, None] & seeds.inside == seeds.inside) & (
            sets[:, None] & seeds.outside == 0
        )
        assert (np.where(holds, pricing.least, 1 << 60).min(axis=1) <= costs).all()
        seen += len(sets)
    assert seen > 2_000


def test_lines_bound_every_entry_of_the_frontier() -> None:
    draw = random.Random(3)  # noqa: S311 (no secret)
    close = seen = 0
    for problem, terms in given(range(18)):
        costs = value_function(problem, terms).costs
        lines = [
            found_at([seeds_of(terms, apart=False)], [random_prices(draw, terms)], watch())[0].line
            for _ in range(5)
        ]
        for knobs, cost in enumerate(costs):
            best = max(line.at(knobs) for line in lines)
            if cost < FAR:
                assert best <= QUANTUM * cost
                close += best > QUANTUM * cost * 0.5
                seen += 1
    assert seen > 50
    assert close > 5
