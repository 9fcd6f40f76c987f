"""The scale: no tier is ever outweighed by the next, and the values come out as they went in."""

from __future__ import annotations

import random

import pytest

from knobpack.solver.scale import Scale, scale_of
from knobpack.words import Layout
from tests.oracles.brute import price
from tests.oracles.layouts import random_layout
from tests.oracles.problems import a_problem, cases


def test_comparing_numbers_compares_tiers() -> None:
    draw = random.Random(5)  # noqa: S311 (no secret)
    for _ in range(500):
        sharing, breaks = draw.randint(1, 50), draw.randint(1, 20)
        scale = Scale((breaks + 1) * (sharing + 1), sharing + 1, fits=True)
        one, other = (
            (draw.randint(0, 9), draw.randint(0, breaks), draw.randint(0, sharing))
            for _ in range(2)
        )
        assert (one < other) == (scale.cost(*one) < scale.cost(*other))
        assert scale.values(scale.cost(*one)) == one


def test_no_layout_costs_more_than_the_scale_leaves_room_for() -> None:
    fullest = 0.0
    for case in cases(range(250)):
        scale = scale_of(case.problem)
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        layout = Layout(random_layout(draw, case.request).routes)
        _, breaks, sharing = price(case.request, layout).totals[:3]
        # Spreads are counted once more before they come off.
        counted = sharing + sum(spread.weight for spread in case.problem.spreads)
        assert counted < scale.breaks, case.seed
        assert breaks * scale.breaks + counted < scale.unplaced, case.seed
        fullest = max(fullest, counted / scale.breaks)
    assert fullest > 0.5


@pytest.mark.parametrize(("crowd", "fits"), [(10_000, True), (10**18, False)])
def test_it_says_whether_all_fits_into_64_bits(crowd: int, *, fits: bool) -> None:
    scale = scale_of(a_problem(2, 3, crowd=crowd))
    assert scale.fits == fits
    if fits:
        # Three omissions at one point each, on top of the most the other tiers can be.
        assert scale.cost(3, 0, scale.breaks - 1) < 2**60
