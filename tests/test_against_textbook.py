"""Requests beyond brute force, against the textbook model solved by another solver (HiGHS)."""

from __future__ import annotations

import pytest

from knobpack.words import Request
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.differential import PLAUSIBLE, Sort, by_the_textbook, compared
from tests.oracles.strategies import busy_request


def busy(seed: int) -> Request:
    """A busy request; of every third the travels are on routes."""
    return busy_request(seed) if seed % 3 else on_routes(busy_request(seed))


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 100)))
def test_plausible_requests_agree_with_the_textbook_model(seed: int) -> None:
    verdict = compared(seed, PLAUSIBLE)
    assert (verdict.faults, verdict.open) == ((), False)
    assert not verdict.unknown, "raise SECONDS: this one is to be proven by both"


@pytest.mark.parametrize("seed", range(max(4, EXAMPLES // 100)))
def test_busy_requests_agree_with_the_textbook_model(seed: int) -> None:
    verdict = compared(seed, Sort("busy", busy, by_the_textbook))
    assert (verdict.faults, verdict.open, verdict.unknown) == ((), False, False)
