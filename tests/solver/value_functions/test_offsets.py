"""Offsets: from one number to the values of the tiers, and bounds that hold tier by tier."""

from __future__ import annotations

import random

import attrs

from knobpack.numbered.problem import Atom, Mix, Spread
from knobpack.solver.value_functions.scale import Offsets, Scale, scale_of
from tests.oracles.problems import a_problem

SCALE = Scale(unplaced=4 * 5 * 6, bundles=5 * 6, breaks=6, fits=True)
"""Room for 3 bundles, 4 breaks and 5 points of sharing."""


def test_a_bound_holds_for_whatever_is_as_good_in_the_tiers_before() -> None:
    draw = random.Random(3)  # noqa: S311 (no secret)
    offsets = Offsets(SCALE, (0, 0, 0, 0), 0, 0, None)
    met = nothing = 0
    for _ in range(400):
        bound, cost = sorted(draw.choices(range(3 * SCALE.unplaced), k=2))
        bound = cost if draw.random() < 0.1 else max(bound, cost - draw.choice((4, 30, 200)))
        values, bounds = offsets.values(cost), offsets.bounds(cost, bound)
        for number in range(bound, cost + 1):
            own = offsets.values(number)
            for tier in range(4):
                # The best of all has the values of the bounds in the tiers before, if proven.
                if own[:tier] == values[:tier] == bounds[:tier]:
                    assert own[tier] >= bounds[tier]
        met += values == bounds
        nothing += bounds[3] == 0 < values[3]
        assert (values == bounds) >= (bound == cost)
        assert bounds <= values
    assert met > 30
    assert nothing > 30


def test_after_a_tier_that_is_not_proven_nothing_is_bounded() -> None:
    offsets = Offsets(SCALE, (0, 0, 0, 0), 0, 0, None)
    cost, less = SCALE.cost(1, 2, 3, 4), SCALE.cost(1, 1, 4, 5)
    assert offsets.bounds(cost, less) == (1, 1, 0, 0)
    assert offsets.bounds(cost, SCALE.cost(1, 2, 3, 1)) == (1, 2, 3, 1)
    assert offsets.bounds(cost, cost) == (1, 2, 3, 4)
    assert offsets.bounds(cost, SCALE.cost(0, 3, 4, 5)) == (0, 0, 0, 0)


def test_what_comes_off_and_what_is_lost_in_any_case() -> None:
    bundles, spreads = (0b0011, 0b1100), (Spread(0b0110, 50),)
    problem = a_problem(2, 4, bundles=bundles, spreads=spreads, mixes=(Mix(7),))
    nowhere = Atom(0b0001, 1, 0, None, False, 3, 1, 6)
    problem = attrs.evolve(problem, atoms=(nowhere, *problem.atoms[1:]))
    scale = scale_of(problem)
    offsets = Offsets.of(problem, scale, range(4), [(1, 2, 3)])
    # All but the first on one knob: each bundle and the spread are counted on it.
    values = offsets.values(scale.cost(0, 2, 0, 2 * 7 + 50))
    # One bundle has one of its two left out: a knob and one, less one.
    assert values == (3, 1, 0, 2 * 7 + 6)
    # Of three atoms only those bundles and spreads are counted that they have something of.
    assert Offsets.of(problem, scale, (2, 3), [(2, 3)]).values(scale.cost(0, 1, 0, 50)) == (0,) * 4
