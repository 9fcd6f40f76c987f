"""A call to stop is heard soon: counted in units of work, so that no clock decides.

How soon in seconds is measured by ``python -m benchmarks.stops``.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from benchmarks.foreign_requests import FOREIGN
from benchmarks.generator import plain, tight, varied
from knobpack import Request, allocate_request
from knobpack.checker import check
from knobpack.solver.watch import Watch

MOST_UNITS = 120
"""Units of work after a stop, at most: a first layout is made all the same, of which each step is
noted, and each stage notes something on its way out."""

REQUESTS: dict[str, Callable[[int], Request]] = {
    "plain": lambda seed: plain(seed, 32),
    "tight": lambda seed: tight(seed, 16),
    "varied": lambda seed: varied(seed, 16),
    **{kind: make for kind, make in FOREIGN.items() if kind != "huge"},
}


@pytest.mark.parametrize("kind", REQUESTS)
def test_little_is_done_after_a_stop(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    request, plainly = REQUESTS[kind](2), Watch.spend
    looks = after = 0

    def spend(watch: Watch, effort: float) -> None:
        nonlocal after
        after += looks > most and watch.whole is None  # what a part spends, the whole spends too
        plainly(watch, effort)

    def stop() -> bool:
        nonlocal looks
        looks += 1
        return looks > most

    monkeypatch.setattr(Watch, "spend", spend)
    for most in (0, 3, 30, 300):
        looks = after = 0
        found = allocate_request(request, cancel=stop, effort=1.0)
        assert check(request, found.layout).valid
        assert found.stopped == "cancelled" or looks <= most
        assert after <= MOST_UNITS, most
