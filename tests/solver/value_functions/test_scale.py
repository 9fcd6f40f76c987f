"""The scale: no tier is ever outweighed by the next, and the values come out as they went in.

So do bounds, tier by tier, once what was counted twice has come off.
"""

from __future__ import annotations

import random
from typing import Any

import attrs
import pytest

from knobpack.checker import check
from knobpack.numbered.problem import Atom, Mix, Problem, Spread, bits
from knobpack.solver.costs import indicator, set_costs
from knobpack.solver.families import families
from knobpack.solver.value_functions.scale import Offsets, Scale, scale_of
from knobpack.words import Layout, Request
from tests.oracles.brute import price
from tests.oracles.layouts import random_layout
from tests.oracles.problems import a_problem, cases


def test_comparing_numbers_compares_tiers() -> None:
    draw = random.Random(5)  # noqa: S311 (no secret)
    for _ in range(500):
        most = draw.randint(1, 6), draw.randint(1, 20), draw.randint(1, 50)
        bundles, breaks, sharing = most
        bundle = (breaks + 1) * (sharing + 1)
        scale = Scale((bundles + 1) * bundle, bundle, sharing + 1, fits=True)
        one, other = (
            (draw.randint(0, 9), *(draw.randint(0, highest) for highest in most)) for _ in range(2)
        )
        assert (one < other) == (scale.cost(*one) < scale.cost(*other))
        assert scale.values(scale.cost(*one)) == one


def test_no_layout_costs_more_than_the_scale_leaves_room_for() -> None:
    fullest = parted = 0.0
    for case in cases(range(250)):
        scale = scale_of(case.problem)
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        layout = _of_families(case.problem, case.request, random_layout(draw, case.request))
        _, bundles, breaks, sharing = price(case.request, layout).totals[:4]
        # Spreads and bundles are counted once more before they come off.
        counted = sharing + sum(spread.weight for spread in case.problem.spreads)
        joined = sum(
            each.term == "intruding" for each in check(case.request, layout).prices.bundles
        )
        held = bundles - joined + len(case.problem.bundles)
        assert counted < scale.breaks, case.seed
        assert breaks * scale.breaks + counted < scale.bundles, case.seed
        upper = held * scale.bundles + breaks * scale.breaks + counted
        assert upper < scale.unplaced, case.seed
        parted = max(parted, held * scale.bundles / scale.unplaced)
        fullest = max(fullest, counted / scale.breaks)
    assert fullest > 0.5
    assert parted > 0.5


def _of_families(problem: Problem, request: Request, layout: Layout) -> Layout:
    """What of a layout is on a knob with its own family only."""
    names = list(request.by_full_name)
    family = {
        names[item]: number
        for number, part in enumerate(families(problem))
        for item in bits(problem.items_of(sum(1 << atom for atom in part)))
    }
    of_knob: dict[str, int | None] = {}
    return Layout(
        tuple(
            route
            for route in layout.routes
            if of_knob.setdefault(route.knob, family.get(route.destination))
            == family.get(route.destination)
        )
    )


@pytest.mark.parametrize(
    ("costs", "most"),
    [
        # What three items on one knob, one on each of three, or none of them on any, cost by each
        # term alone.
        ({"mixes": (Mix(50),)}, 100),
        ({"mixes": (Mix(50, (3,)),)}, 50),
        ({"mixes": (Mix(50, among=6),)}, 50),
        ({"pairs": {(0, 1): 40, (0, 2): 1, (1, 2): 30}}, 71),
        ({"intrusions": ((1, 40), (2, 9))}, 49),
        ({"spreads": (Spread(7, 50),)}, 150),
        ({"atoms": tuple(Atom(1 << at, 1, 7, None, False, 0, 0, 60) for at in range(3))}, 180),
        ({"travel_prices": ((0, 9, 90), (80, 0, 0)), "wanted": (0, 1, 1)}, 80),
    ],
)
def test_each_term_alone_is_left_room_for(costs: dict[str, Any], most: int) -> None:
    problem = a_problem(3, 3, **costs)
    together, alone = indicator([7], [0, 1, 2]).T, indicator([1, 2, 4], [0, 1, 2]).T
    reached = [int(set_costs(problem, [0, 1, 2], sets)[2].sum()) for sets in (together, alone)]
    assert max(*reached, sum(atom.hidden for atom in problem.atoms)) == most
    assert most < scale_of(problem).breaks


def test_breaks_are_left_room_for() -> None:
    problem = a_problem(2, 4, breakable=((0b0011, 7), (0b0001, 5)))
    scale = scale_of(problem)
    # Two and two on one knob, and one and three: 2 * 7 + 1 * 5.
    assert 19 * scale.breaks + scale.breaks - 1 < scale.bundles


def test_bundles_are_left_room_for() -> None:
    breakable = ((0b00011, 7),)
    problem = a_problem(2, 5, bundles=(0b00011, 0b11100), mixes=(Mix(7),), breakable=breakable)
    scale = scale_of(problem)
    # Each of the five on a knob of its own, or left out.
    assert 5 * scale.bundles + scale.bundles - 1 < scale.unplaced


@pytest.mark.parametrize(("crowd", "fits"), [(10_000, True), (10**18, False)])
def test_it_says_whether_all_fits_into_64_bits(crowd: int, *, fits: bool) -> None:
    scale = scale_of(a_problem(2, 3, mixes=(Mix(crowd),)))
    assert scale.fits == fits
    if fits:
        # Three omissions at one point each, on top of the most the other tiers can be.
        assert scale.cost(3, 0, 0, scale.breaks - 1) < 2**60


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
