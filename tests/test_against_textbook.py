"""Requests beyond brute force, against the textbook model solved by another solver (HiGHS)."""

from __future__ import annotations

import random

import attrs
import pytest

from benchmarks.requests import sized
from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.definition.prices import TIERS
from knobpack.words import KnobTravel, Layout, Request, Route
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import Price, price
from tests.oracles.strategies import busy_request
from tests.oracles.textbook import solve

SECONDS = 60.0
"""For each tier of the textbook model."""


def plausible(seed: int) -> Request:
    """10 to 14 destinations in three or four families on 4 to 6 knobs, with a layout before."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    knobs = draw.randint(4, 6)
    asked = sized(seed, knobs, draw.randint(10, 14), draw.randint(3, min(4, knobs - 1)))
    named = draw.sample(list(asked.destinations), 5)
    before = tuple(Route(name, draw.choice(asked.surface.knob_names)) for name in named)
    wanted = [asked.wanted(name) for name in named]
    had = [KnobTravel(knob, draw.choice(wanted)) for knob in asked.surface.knob_names]
    return attrs.evolve(asked, previous=Layout(before, tuple(had)))


def agree(asked: Request) -> bool:
    """Hold the two against each other; whether the textbook model proved every tier."""
    known = solve(asked, SECONDS)
    if known is None:
        with pytest.raises(ImpossibleDemands):
            allocate_request(asked)
        return True
    found = allocate_request(asked)
    assert all(tier.proven for tier in found.tiers)
    for tier, other in zip(found.tiers, known, strict=False):
        if other.proven:
            assert tier.value == other.value
        else:
            # Not proven: what the other solver knows still brackets the least value.
            assert other.bound is None or tier.value >= other.bound
            assert tier.value <= other.value
    totals = tuple(tier.value for tier in found.tiers)
    checked = check(asked, found.layout)
    assert checked.breaches == ()
    assert checked.prices.totals == totals
    assert price(asked, found.layout) == Price(valid=True, totals=totals)
    return len(known) == len(TIERS) and all(tier.proven for tier in known)


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 100)))
def test_plausible_requests_agree_with_the_textbook_model(seed: int) -> None:
    assert agree(plausible(seed)), "raise SECONDS: this one is to be proven by both"


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 100)))
def test_busy_requests_agree_with_the_textbook_model(seed: int) -> None:
    agree(busy_request(seed) if seed % 3 else on_routes(busy_request(seed)))


def test_the_textbook_model_proves_requests_as_busy_as_these() -> None:
    # Else the test above could compare bounds alone. These take it a second together.
    for seed in range(3):
        known = solve(busy_request(seed), SECONDS)
        assert known is not None
        assert [tier.proven for tier in known] == [True] * len(TIERS)
