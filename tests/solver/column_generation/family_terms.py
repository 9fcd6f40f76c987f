"""Families of seeded requests with all that makes sets hard to price, for the solver's modules."""

from __future__ import annotations

import random
from collections.abc import Iterator

import attrs
import numpy as np

from benchmarks.requests import sized
from knobpack.numbered.problem import Problem
from knobpack.numbered.request import problem_of
from knobpack.solver.column_generation.terms import Terms, terms_of
from knobpack.solver.costs import FAR, Whole
from knobpack.solver.families import families
from knobpack.solver.value_functions.of_families import most_knobs
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import SubsetTable, subset_table_of, table_of

LEAST, MOST = 3, 9
"""Atoms of a family that is given."""

BUNDLE = 250
"""What each bundle counts that a set holds some of: about as much as other groups."""


def problems(seeds: range) -> Iterator[Problem]:
    """Problems whose families are small enough to go through all sets.

    Every third has a tight limit on a knob; every second has pairs with a price, destinations
    that may not share, and a set that would rather be alone, all in one family. All but every fifth
    join and heap at no price of their own, so that kinds, voices and travels decide.
    """
    for seed in seeds:
        request = sized(seed, 8, 24)
        if seed % 5:
            request = attrs.evolve(request, weights=attrs.evolve(request.weights, join=0, heap=0))
        problem = problem_of(request)
        if seed % 3 == 0:
            problem = attrs.evolve(problem, per_knob=2 + seed % 2)
        if seed % 2 == 0:
            first = max(families(problem), key=len)
            one, other, third, *_ = first
            clashes = list(problem.clashes)
            if seed % 4 == 0:
                clashes[other] |= 1 << third
                clashes[third] |= 1 << other
            problem = attrs.evolve(
                problem,
                clashes=tuple(clashes),
                pairs={(problem.atoms[one].items.bit_length() - 1, _item(problem, third)): 170},
                intrusions=((problem.items_of(1 << one | 1 << other), 130),),
            )
        yield problem


def _item(problem: Problem, number: int) -> int:
    return problem.atoms[number].items.bit_length() - 1


def given(seeds: range) -> Iterator[tuple[Problem, Terms]]:
    """Each family of those problems, with its terms; nothing in it may be broken."""
    for problem in problems(seeds):
        plain = attrs.evolve(problem, breakable=())
        for part in families(plain):
            if LEAST <= len(part) <= MOST:
                yield plain, terms_of(plain, part, BUNDLE)


def valid_sets(terms: Terms) -> Whole:
    """Every set that may be on one knob."""
    sets = np.arange(1, terms.full + 1, dtype=np.int64)
    return sets[terms.valid(sets)]


def value_function(problem: Problem, terms: Terms) -> SubsetTable:
    """The value function by going through all subsets, with everything placed."""
    scale = attrs.evolve(scale_of(problem), bundles=BUNDLE)
    table = table_of(problem, scale, terms.atoms)
    nothing = np.where(np.arange(1 << terms.count) == 0, 0, FAR)
    placed = attrs.evolve(table, omitted=nothing)
    return subset_table_of(placed, most_knobs(problem, terms.atoms))


def random_prices(draw: random.Random, terms: Terms) -> Whole:
    """Prices of about what an atom costs, not whole points."""
    drawn = [draw.randint(-50_000, 900_000) for _ in terms.atoms]
    return np.array(drawn, dtype=np.int64)


def reduced(terms: Terms, sets: Whole, prices: Whole) -> Whole:
    """The reduced cost of each set, in 1024ths."""
    costs = [1024 * int(cost) for cost in terms.costs(sets)]
    worth = [
        sum(int(price) for place, price in enumerate(prices) if own >> place & 1)
        for own in sets.tolist()
    ]
    return np.array([c - w for c, w in zip(costs, worth, strict=True)], dtype=np.int64)
