"""Every tier of every small request, against brute force over all layouts."""

from __future__ import annotations

from collections import Counter
from functools import partial

import pytest

from knobpack.definition.prices import TIERS
from knobpack.words import Request, Rule
from knobpack.words.rules import RULES
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.differential import Sort, Verdict, by_brute_force, compared
from tests.oracles.features import ALL_FEATURES, features
from tests.oracles.strategies import request_with, seeded_request

FEW, THOUSANDS = 300, 2000
"""So many requests at least, however few the other tests try."""


def small(seed: int) -> Request:
    """A seeded request; of some the travels are on routes."""
    return seeded_request(seed) if seed % 4 else on_routes(seeded_request(seed))


def agreeing(seed: int) -> Verdict:
    """What came of one request, on which the two agree."""
    verdict = compared(seed, Sort("small", small, by_brute_force))
    assert (verdict.faults, verdict.open) == ((), False), seed
    return verdict


def test_every_tier_is_what_brute_force_finds() -> None:
    assert any(agreeing(seed).impossible for seed in range(FEW))


@pytest.mark.parametrize("kind", RULES)
def test_so_it_is_of_every_rule(kind: type[Rule]) -> None:
    sort = Sort("of one rule", partial(request_with, kind), by_brute_force)
    verdicts = [compared(seed, sort) for seed in range(60)]
    assert [each.seed for each in verdicts if each.faults or each.open] == []
    assert sum(each.best is not None for each in verdicts) > 30


@pytest.mark.long
def test_so_it_is_of_thousands_in_which_every_feature_occurs() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(THOUSANDS, EXAMPLES)):
        verdict = agreeing(seed)
        seen.update(features(small(seed)))
        seen["impossible" if verdict.best is None else "possible"] += 1
        best = zip(TIERS, verdict.best or (), strict=False)
        seen.update(f"tier {tier}" for tier, value in best if value)
    wanted = {*ALL_FEATURES, "impossible", "possible", *(f"tier {tier}" for tier in TIERS)}
    assert wanted >= set(seen)
    assert [name for name in sorted(wanted) if seen[name] <= 20] == []
    # Most requests must be possible, or little but impossibility is tested.
    assert seen["possible"] > THOUSANDS * 13 // 20
