"""Every tier of every small request, against brute force over all layouts."""

from __future__ import annotations

from collections import Counter

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.prices import TIERS
from knobpack.words import Request
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import Price, least, price
from tests.oracles.features import ALL_FEATURES, features
from tests.oracles.strategies import seeded_request, small_requests

THOUSANDS = 2000
"""So many requests at least, however few the other tests try."""

# Brute force makes its tables slowly at first; a slow example here is not a fault.
OWN_PACE = [HealthCheck.too_slow]


@settings(
    max_examples=max(THOUSANDS, EXAMPLES),
    deadline=None,
    derandomize=True,
    suppress_health_check=OWN_PACE,
)
@given(small_requests())
def test_every_tier_is_what_brute_force_finds(asked: Request) -> None:
    best = least(asked)
    if best is None:
        with pytest.raises(ImpossibleDemands):
            allocate_request(asked)
        return
    found = allocate_request(asked)
    assert tuple(tier.name for tier in found.tiers) == TIERS
    assert tuple(tier.value for tier in found.tiers) == best.totals
    assert tuple(tier.bound for tier in found.tiers) == best.totals
    assert all(tier.proven for tier in found.tiers)
    assert found.stopped is None
    checked = check(asked, found.layout)
    assert checked.breaches == ()
    assert checked.prices.totals == best.totals
    assert found.prices == checked.prices
    assert price(asked, found.layout) == Price(True, best.totals)
    assert {place.voice for place in found.layers} == {voice.name for voice in asked.voices}


def test_every_feature_occurs_in_the_requests_drawn() -> None:
    seen: Counter[str] = Counter()

    @settings(
        max_examples=4000,
        deadline=None,
        derandomize=True,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=OWN_PACE,
    )
    @given(small_requests())
    def draw(asked: Request) -> None:
        found = features(asked)
        assert found <= ALL_FEATURES
        seen.update(found)
        seen["requests"] += 1

    draw()
    assert seen["requests"] >= 3000
    assert [name for name in sorted(ALL_FEATURES) if seen[name] <= 20] == []


def test_every_feature_occurs_in_seeded_requests_and_every_tier_matters() -> None:
    seen: Counter[str] = Counter()
    for seed in range(2000):
        asked = seeded_request(seed)
        seen.update(features(asked))
        best = least(asked)
        seen["impossible" if best is None else "possible"] += 1
        if best is not None:
            seen.update(
                f"tier {tier}" for tier, value in zip(TIERS, best.totals, strict=True) if value
            )
    wanted = {*ALL_FEATURES, "impossible", "possible", *(f"tier {tier}" for tier in TIERS)}
    assert [name for name in sorted(wanted) if seen[name] <= 20] == []
    # Most requests must be possible, or little but impossibility is tested.
    assert seen["possible"] > 1300
