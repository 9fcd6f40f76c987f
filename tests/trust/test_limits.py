"""Limits: nothing, one, thousands, weights at the ends, and demands that all contradict."""

from __future__ import annotations

import itertools
import random
from typing import Any, cast

import attrs
import pytest

from knobpack import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    ImpossibleDemands,
    InputError,
    KnobpackError,
    NoLayoutFound,
    Request,
    Snapshot,
    Surface,
    Together,
    Voice,
    allocate,
    allocate_request,
)
from knobpack.checker import check
from knobpack.explanation.least import least_knobs
from knobpack.numbered.request import problem_of
from knobpack.questions import explain
from knobpack.solver.value_functions.scale import scale_of
from knobpack.types import Rule
from knobpack.words.demand import demands_of
from knobpack.words.edits import given_up
from knobpack.words.fields import HIGHEST_WEIGHT, MOST_ITEMS
from tests.oracles.brute import least
from tests.trust.extremes import extreme_request


def voices(count: int, each: int = 1, **changes: Any) -> tuple[Voice, ...]:
    """Voices of so many destinations each."""
    inner = tuple(Destination(f"d{at}", **changes) for at in range(each))
    return tuple(Voice(f"v{at}", inner) for at in range(count))


def agrees(request: Request) -> None:
    """The values are those of brute force over all layouts, and proven."""
    found, best = allocate_request(request), least(request)
    assert best is not None
    assert tuple(tier.value for tier in found.tiers) == best.totals
    assert found.proven
    assert check(request, found.layout).valid


# Nothing, one, thousands --------------------------------------------------------------------------


@pytest.mark.parametrize("knobs", [0, 1, 2])
@pytest.mark.parametrize("count", [0, 1, 2])
@pytest.mark.parametrize("each", [0, 1, 2])
def test_nothing_and_one_of_everything(knobs: int, count: int, each: int) -> None:
    found = allocate(voices(count, each), Surface.row(knobs))
    agrees(found.request)
    placed = count * each if knobs >= count else knobs * each
    assert len(found.routes) == placed
    assert len(found.unplaced) == count * each - placed
    assert str(found)
    assert str(explain(found))
    least = least_knobs(found.request)
    assert least.proven
    assert least.independent == (count if each else 0)


def test_a_thousand_snapshots_of_every_kind() -> None:
    asked = voices(5)
    names = [voice.name for voice in asked]
    draw = random.Random(7)  # noqa: S311 (no secret)
    for break_weight in (None, 1, 10_000):
        snapshots = tuple(
            Snapshot(f"s{at}", tuple(draw.sample(names, draw.randint(0, 5))), break_weight)
            for at in range(1000)
        )
        agrees(Request(Surface.row(3), asked, snapshots=snapshots))


THOUSANDS: dict[str, Any] = {
    "snapshots": {"snapshots": [Snapshot(f"s{at}", (f"v{at % 4}",)) for at in range(10_000)]},
    "breakable snapshots": {
        "snapshots": [Snapshot(f"s{at}", (f"v{at % 4}",), 10_000) for at in range(10_000)]
    },
    "preferred rules": {"rules": [Apart(("v0",), ("v1",), 10_000)] * 10_000},
    "rules of two": {"rules": [Together(("v2/d0", "v2/d1"), 10_000)] * 10_000},
    "required rules": {"rules": [Together(("v2/d0", "v2/d1"))] * 10_000},
    "groups": {
        "groups": [Group(f"g{at}", ("v0",)) for at in range(2_000)],
        "snapshots": [Snapshot("all", ("v0", "v1"))],
    },
}


@pytest.mark.parametrize("name", THOUSANDS)
def test_ten_thousand_of_something_is_answered_and_proven(name: str) -> None:
    found = allocate(voices(4, 2), Surface.row(4), **THOUSANDS[name])
    assert found.proven
    assert found.unplaced == ()


def test_a_thousand_knobs_for_a_few_destinations() -> None:
    found = allocate(voices(3, 2), Surface.row(1000))
    assert found.proven
    assert len({route.knob for route in found.routes}) == 6


# Weights ------------------------------------------------------------------------------------------


def test_weights_at_the_ends_of_their_range_against_brute_force() -> None:
    possible = 0
    for seed in range(80):
        request = extreme_request(seed)
        if least(request) is None:
            with pytest.raises(ImpossibleDemands):
                allocate_request(request)
            continue
        agrees(request)
        possible += 1
    assert possible > 50


def test_weights_whose_tiers_do_not_fit_into_one_number_against_brute_force() -> None:
    """Tiers that would overflow 64 bits if they were put into one number are solved apart."""
    apart = 0
    for seed in range(45):
        request = extreme_request(seed, most=3_000)
        if scale_of(problem_of(request)).fits or least(request) is None:
            continue
        agrees(request)
        apart += 1
    assert apart > 3


def test_no_request_costs_more_in_a_tier_than_doubles_are_exact_in() -> None:
    """10,000 of everything at 10,000 points, all of it paid: still below 2**53."""
    most, weight = MOST_ITEMS, HIGHEST_WEIGHT
    unplaced = most * weight
    bundles = 2 * most  # each destination apart from its bundle, or hidden among others
    breaks = most * most * weight  # each snapshot broken by each destination
    mixed = 3 * most * weight
    missed = most * 200 * weight  # a reversed travel misses by 200 hundredths
    spread = most * most * weight  # each rule on every knob
    intruded = most * most * weight
    hidden = most * weight
    pairs = most * (most - 1) // 2 * most * weight  # each rule about each pair
    sharing = mixed + missed + spread + intruded + hidden + pairs
    # Each knob drives something else, each route is elsewhere, each travel is set anew.
    change = most * (most + 1) ** 2 + most * (most + 1) + most
    placed = 2 * most * weight  # each knob before the one that it should come after
    runs = 2 * most * most * weight  # each voice and each group on every knob
    reach = most * 4 * most * weight
    off = (most + most * most) * weight  # each off its usual knobs, each rule about each
    layout = placed + runs + reach + off
    assert max(unplaced, bundles, breaks, sharing, change, layout) < 2**53


# All equal, all apart, all against all ------------------------------------------------------------


@pytest.mark.parametrize(("knobs", "count"), [(3, 6), (4, 5), (2, 2)])
def test_all_equal_and_all_apart(knobs: int, count: int) -> None:
    alike = voices(1, count)
    agrees(Request(Surface.row(knobs), alike))
    names = [f"v0/d{at}" for at in range(count)]
    pairs = itertools.combinations(names, 2)
    apart = tuple(Apart((one,), (other,)) for one, other in pairs)
    agrees(Request(Surface.row(knobs), alike, rules=apart))
    found = allocate(alike, Surface.row(knobs), rules=apart)
    assert len(found.unplaced) == max(0, count - knobs)
    needed = voices(1, count, must_place=True)
    if count > knobs:
        with pytest.raises(ImpossibleDemands) as caught:
            allocate(needed, Surface.row(knobs), rules=apart)
        minimal(caught.value, Request(Surface.row(knobs), needed, rules=apart))
    else:
        assert allocate(needed, Surface.row(knobs), rules=apart).proven


def minimal(error: ImpossibleDemands, request: Request) -> None:
    """The clash says it is minimal, and is: its demands clash, and no others are needed.

    Every demand outside it is given up first; then each one of it in turn.
    """
    clash = error.clash
    assert clash.minimal
    inside = set(clash.demands)
    left = request
    for demand in demands_of(request):
        if demand not in inside:
            left = given_up(left, demand)
    with pytest.raises(ImpossibleDemands):
        allocate_request(left)
    for demand in clash.demands:
        assert allocate_request(given_up(left, demand)), demand


@pytest.mark.parametrize("count", [2, 4, 5])
def test_every_rule_against_every_other(count: int) -> None:
    knobs = [f"K{at}" for at in range(1, count + 1)]
    names = [f"v0/d{at}" for at in range(count)]
    rules: list[Rule] = []
    for one, other in itertools.combinations(names, 2):
        rules += [Apart((one,), (other,)), Together((one, other))]
    for name, knob in itertools.product(names, knobs):
        rules += [Fixed((name,), knob), Barred((name,), (knob,))]
    rules += [Alone((name,)) for name in names]
    random.Random(count).shuffle(rules)  # noqa: S311 (no secret)
    surface = Surface.row(count)
    request = Request(surface, voices(1, count, must_place=True), rules=tuple(rules))
    with pytest.raises(ImpossibleDemands) as caught:
        allocate_request(request)
    assert len(caught.value.clash.demands) <= 4
    assert len(str(caught.value)) < 20_000
    minimal(caught.value, request)
    # Preferred, they contradict one another just as much, and something is done all the same.
    preferred = tuple(attrs.evolve(cast("Any", rule), weight=10_000) for rule in rules)
    soft = attrs.evolve(request, rules=preferred)
    if count <= 4:
        agrees(soft)
    else:
        assert allocate_request(soft, effort=2).unplaced == ()


# Limits of time -----------------------------------------------------------------------------------


@pytest.mark.parametrize("time_limit", [0, 0.0, 1e-9, 1e-300, 5e-324, 1e-3, 1e9, 10**9])
def test_no_tiny_and_huge_limits_of_time(time_limit: float) -> None:
    request = extreme_request(3)
    best = least(request)
    assert best is not None
    try:
        found = allocate_request(request, time_limit=time_limit)
    except NoLayoutFound:
        assert time_limit < 1
        return
    values = tuple(tier.value for tier in found.tiers)
    assert values >= best.totals
    assert found.proven == (found.stopped is None)
    assert values == best.totals or found.stopped == "time limit"
    assert all(tier.bound <= tier.value for tier in found.tiers)
    if time_limit >= 1:
        assert values == best.totals


@pytest.mark.parametrize(
    "wrong", [-1, -1e-300, float("nan"), float("inf"), 10**9 + 1, 10**400, True, "1", 1j, [1]]
)
def test_limits_of_time_that_are_none(wrong: Any) -> None:
    for limits in ({"time_limit": wrong}, {"effort": wrong}):
        with pytest.raises(InputError, match="give a number from 0"):
            allocate(voices(2, 2), Surface.row(1), **limits)
    assert issubclass(InputError, KnobpackError)
