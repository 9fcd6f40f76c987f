"""allocate() cut short: a marked result with honest bounds, or none, and never silence."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import attrs
import pytest

import knobpack
from benchmarks.requests import eight_knobs
from knobpack import (
    Allocation,
    Destination,
    ImpossibleDemands,
    NoLayoutFound,
    Request,
    Surface,
    Voice,
    allocate,
    allocate_request,
)
from knobpack.checker import TIERS, check
from knobpack.limits import Progress
from tests.oracles.problems import possible


def values_of(found: Allocation) -> tuple[int, ...]:
    return tuple(tier.value for tier in found.tiers)


def general_request(seed: int) -> Request:
    """A request that takes the general way: one route too few for everything."""
    request = eight_knobs(seed)
    limit = len(request.by_full_name) - 1
    return attrs.evolve(request, surface=attrs.evolve(request.surface, routes=limit))


def assert_bracketed(found: Allocation, reason: str) -> None:
    """A result that is marked as cut short, valid, and with bounds below its values."""
    assert found.stopped == reason
    assert not found.proven
    assert check(found.request, found.layout).valid
    assert all(tier.bound <= tier.value for tier in found.tiers)
    gaps = [tier.bound < tier.value for tier in found.tiers]
    first = gaps.index(True)
    assert [tier.proven for tier in found.tiers] == [at < first for at in range(len(TIERS))]


def found_or_why(request: Request, **limits: Any) -> Allocation | str:
    """The allocation, or what stopped the search before there was one."""
    try:
        return allocate_request(request, **limits)
    except NoLayoutFound as error:
        return error.stopped


@pytest.mark.parametrize(
    ("limits", "reason"),
    [
        ({"time_limit": 0}, "time limit"),
        ({"cancel": lambda: True}, "cancelled"),
        ({"effort": 0}, "effort"),
    ],
)
def test_stopped_at_once_it_gives_a_marked_result_or_none(
    limits: dict[str, Any], reason: str
) -> None:
    marked = 0
    for each in possible(range(45)):
        found = found_or_why(each.request, **limits)
        if isinstance(found, str):
            assert found == reason
            continue
        assert values_of(found) >= each.values, each.seed
        if found.stopped is None:
            assert values_of(found) == each.values, each.seed
            continue
        assert_bracketed(found, reason)
        marked += 1
    assert marked > 20


def test_it_does_not_take_a_lack_of_time_for_impossible() -> None:
    # Three that must be placed and may not share, on two knobs; and on three, where it can be.
    voices = [Voice(name, (Destination("x", must_place=True),)) for name in "ABC"]
    rules = [knobpack.Apart((one,), (other,)) for one, other in ("AB", "AC", "BC")]
    with pytest.raises(NoLayoutFound, match="time limit"):
        allocate(voices, Surface.row(2), rules=rules, time_limit=0)
    with pytest.raises(ImpossibleDemands):
        allocate(voices, Surface.row(2), rules=rules)
    assert allocate(voices, Surface.row(3), rules=rules).proven


def test_it_is_cancelled_at_whichever_question() -> None:
    outcomes: set[str] = set()
    request = general_request(5)
    for calls in (1, 2, 3, 5, 8, 13, 21, 34):
        left = iter([False] * calls)

        def asked(left: Iterator[bool] = left) -> bool:
            return next(left, True)

        found = found_or_why(request, cancel=asked)
        if isinstance(found, Allocation) and found.stopped is not None:
            assert_bracketed(found, "cancelled")
            outcomes.add(found.stopped)
    assert "cancelled" in outcomes


def test_progress_is_told_from_the_first_layout_on() -> None:
    for seed in range(3):
        news: list[Progress] = []
        found = allocate_request(general_request(seed), progress=news.append)
        seconds = [each.seconds for each in news]
        assert seconds == sorted(seconds)
        assert all(second >= 0 for second in seconds)
        assert {TIERS.index(each.tier) for each in news} >= {0, 1, 2, 3}
        for each in news:
            assert each.value is not None
            assert each.bound <= each.value
            assert each.bound <= found.tiers[TIERS.index(each.tier)].value


def test_what_is_told_first_is_known_if_it_is_stopped_then() -> None:
    for seed in range(3):
        news: list[Progress] = []
        stopped = found_or_why(
            general_request(seed), progress=news.append, cancel=lambda news=news: bool(news)
        )
        assert isinstance(stopped, Allocation)
        assert stopped.stopped in (None, "cancelled")
        assert stopped.tiers[0].value <= (news[0].value or 0)
