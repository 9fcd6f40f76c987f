"""Every tier of every small request, against brute force over all layouts."""

from __future__ import annotations

from collections import Counter

import pytest

from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.definition.prices import TIERS
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import Price, least, price
from tests.oracles.features import ALL_FEATURES, features
from tests.oracles.strategies import seeded_request

THOUSANDS = 2000
"""So many requests at least, however few the other tests try."""


def test_every_tier_is_what_brute_force_finds_and_every_feature_occurs() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(THOUSANDS, EXAMPLES)):
        asked = seeded_request(seed) if seed % 4 else on_routes(seeded_request(seed))
        seen.update(features(asked))
        best = least(asked)
        seen["impossible" if best is None else "possible"] += 1
        if best is None:
            with pytest.raises(ImpossibleDemands):
                allocate_request(asked)
            continue
        seen.update(f"tier {tier}" for tier, value in zip(TIERS, best.totals, strict=True) if value)
        found = allocate_request(asked)
        assert tuple(tier.name for tier in found.tiers) == TIERS
        assert tuple(tier.value for tier in found.tiers) == best.totals, seed
        assert tuple(tier.bound for tier in found.tiers) == best.totals, seed
        assert all(tier.proven for tier in found.tiers)
        assert found.stopped is None
        checked = check(asked, found.layout)
        assert checked.breaches == ()
        assert found.prices == checked.prices
        assert price(asked, found.layout) == Price(True, best.totals), seed
        on_route = asked.surface.travel_on == "route"
        seen["shared, travels on routes"] += on_route and len(found.routes) > len(found.used)
        assert {place.voice for place in found.layers} == {voice.name for voice in asked.voices}
        assert {*asked.destinations} - {*found.unplaced} == {r.destination for r in found.routes}
    wanted = {
        *ALL_FEATURES,
        "impossible",
        "possible",
        "shared, travels on routes",
        *(f"tier {tier}" for tier in TIERS),
    }
    assert wanted >= set(seen)
    assert [name for name in sorted(wanted) if seen[name] <= 20] == []
    # Most requests must be possible, or little but impossibility is tested.
    assert seen["possible"] > THOUSANDS * 13 // 20
