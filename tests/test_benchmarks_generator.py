"""The generated requests: of the sizes promised, as varied as promised, and possible."""

from __future__ import annotations

from collections import Counter

import pytest

from benchmarks.generator import KINDS, SIZES, destinations_for, plain, tight, varied
from benchmarks.peers.annealing import Annealing
from benchmarks.peers.answer import Clock
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import State
from benchmarks.requests import sized
from knobpack import Request, allocate_request
from knobpack.checker import check
from knobpack.questions import fewest_knobs
from knobpack.words import Apart, Barred, Fixed, Together


def features(request: Request) -> set[str]:
    """What is asked in a request that a plain one may not ask."""
    rules = request.rules
    preferred = [rule for rule in rules if rule.weight is not None]
    found = {
        "pair": any(isinstance(rule, Apart) for rule in preferred),
        "together": any(isinstance(rule, Together) for rule in preferred),
        "barred": any(isinstance(rule, Barred) for rule in preferred),
        "required barred": any(isinstance(r, Barred) and r.weight is None for r in rules),
        "fixed": any(isinstance(rule, Fixed) for rule in preferred),
        "breakable": any(each.break_weight is not None for each in request.played),
        "previous": request.previous is not None,
        "must be placed": any(each.must_place for each in request.destinations.values()),
        "reserved": bool(request.surface.reserved),
        "routes": request.surface.routes is not None,
        "per knob": request.surface.destinations_per_knob is not None,
        "kept": bool(request.keep.routes),
        "groups": bool(request.groups),
        "bundle": any(each.source_knob for each in request.destinations.values()),
    }
    return {name for name, holds in found.items() if holds}


@pytest.mark.parametrize("knobs", SIZES)
@pytest.mark.parametrize("kind", KINDS)
def test_sizes_are_as_they_say(kind: str, knobs: int) -> None:
    request = KINDS[kind](1, knobs)
    assert len(request.surface.knobs) == knobs
    assert len(request.destinations) == SIZES[knobs] == destinations_for(knobs)


def test_the_same_seed_gives_the_same_request() -> None:
    assert varied(5, 16) == varied(5, 16)
    assert len({str(varied(seed, 8)) for seed in range(10)}) == 10


def test_plain_requests_are_those_of_before() -> None:
    assert plain(7, 16) == sized(7, 16, 70)


def test_the_knobs_of_a_source_lie_as_they_are_first_named() -> None:
    request = plain(3, 16)
    lies: dict[tuple[str | None, int], str | None] = {}
    for name, each in request.destinations.items():
        assert (each.source_place is None) == (each.source_knob is None)
        if each.source_place is not None:
            knob = lies.setdefault(
                (request.voice_of[name].source, each.source_place), each.source_knob
            )
            assert knob == each.source_knob
    assert max(place for _, place in lies) > 10
    assert len(request.sequence) > 30


def test_of_tight_requests_something_is_left_out_or_broken() -> None:
    for seed in range(12):
        request = tight(seed, 8)
        found = allocate_request(request)
        # With all snapshots firm, no number of knobs as small as this holds everything.
        assert fewest_knobs(request).bound > 8 or any(each.break_weight for each in request.played)
        assert found.unplaced or found.tiers[2].value
        assert found.proven


def test_every_kind_of_variety_comes_about_as_often_as_it_says() -> None:
    count = 120
    seen = Counter(name for seed in range(count) for name in features(varied(seed, 16)))
    always = ("pair", "together", "barred", "required barred", "fixed", "groups", "bundle")
    assert all(seen[name] == count for name in always)
    # Three snapshots or more besides the first, two in five breakable: none in 0.6 ** 3 at most.
    assert seen["breakable"] > 0.65 * count
    chances = {"previous": 3, "must be placed": 4, "reserved": 4, "routes": 8, "per knob": 3}
    for name, one_in in chances.items():
        expected = count / one_in
        # Four standard deviations of so many draws: a wrong chance would be seen.
        margin = 4 * (expected * (1 - 1 / one_in)) ** 0.5
        assert abs(seen[name] - expected) < margin, name


def test_the_first_snapshot_is_never_breakable() -> None:
    assert all(varied(seed, 16).played[0].break_weight is None for seed in range(20))


def test_what_is_in_an_earlier_layout_may_be_new_and_keeps_families_apart() -> None:
    for seed in range(12):
        request = varied(seed, 16)
        if request.previous is None:
            continue
        before = [route.destination for route in request.previous.routes]
        had = {each.knob for each in request.previous.travels}
        assert had == {route.knob for route in request.previous.routes}
        assert 0.6 < len(before) / len(request.destinations) < 0.95


@pytest.mark.parametrize("knobs", [8, 16, 32, 64])
@pytest.mark.parametrize("kind", KINDS)
def test_requests_are_possible(kind: str, knobs: int) -> None:
    for seed in range(12 if knobs < 32 else 3):
        request = KINDS[kind](seed, knobs)
        state = State(Costs(shape_of(request)))
        insert_all(state)
        # A layout in which every demand is met, made without the solver.
        if not check(request, state.shape.layout(state.knob)).valid:
            search = Annealing(state, lambda *_: None, Clock.of(600))
            search.cool(20_000)
            state.set_to(search.best)
        assert check(request, state.shape.layout(state.knob)).breaches == ()
