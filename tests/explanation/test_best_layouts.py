"""Best layouts: the ways named are those that brute force finds, and all of them."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.explanation.best_layouts import BestLayouts, best_layouts
from knobpack.explanation.ways import all_ways
from knobpack.present.demo import demo_request
from knobpack.solver.optima import best_ways
from knobpack.solver.watch import Watch
from knobpack.words import Request, Weights
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.best_layouts import best_of_all, parted, parted_by, wrong_in
from tests.oracles.reasons_read import read_back
from tests.oracles.strategies import busy_request, seeded_request

EVERY = 10_000
"""More ways than any small request has."""


def even(seed: int) -> Request:
    """A seeded request with weights so low and alike that many layouts cost the same."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    weights = Weights(
        unplaced=(draw.randint(0, 1),) * 4,
        mix_kinds=draw.randint(0, 1),
        mix_voices=draw.randint(0, 1),
        company=0,
        crowd=draw.randint(0, 2),
        travel=(0,) * 5,
        sequence=draw.randint(0, 1),
        voice_runs=draw.randint(0, 1),
        group_runs=draw.randint(0, 1),
        favour=0,
        habit=draw.randint(0, 1),
    )
    return attrs.evolve(seeded_request(seed), weights=weights)


def allocations(requests: Iterator[Request]) -> Iterator[Allocation]:
    """Those of the requests that are possible."""
    for request in requests:
        try:
            yield allocate_request(request)
        except ImpossibleDemands:
            continue


def own_way(allocation: Allocation) -> object:
    """The way to share of an allocation, read from its routes."""
    at = {route.destination: route.knob for route in allocation.routes}
    return parted_by({name: at.get(name) for name in allocation.request.by_full_name})


def told_right(allocation: Allocation) -> BestLayouts:
    """The full answer, once brute force has found nothing wrong in it."""
    answer = best_layouts(allocation, most=EVERY, places=True, effort=100)
    assert wrong_in(allocation.request, read_back(allocation.request, answer.graph)) == []
    assert answer.proven
    assert parted(answer.ways[0]) == own_way(allocation)
    place = list(allocation.request.by_full_name).index
    order = [[list(map(place, names)) for names in way.sets] for way in answer.ways[1:]]
    assert order == sorted(order)
    in_all = [names for names in answer.ways[0].sets if all(names in w.sets for w in answer.ways)]
    assert sorted(place.destinations for place in answer.places) == sorted(in_all)
    assert all(place.only is not None for place in answer.places)
    assert all(
        place.knob == dict(_knobs(allocation))[place.destinations] for place in answer.places
    )
    return answer


def _knobs(allocation: Allocation) -> Iterator[tuple[tuple[str, ...], str]]:
    """What each knob carries, in the order of the request."""
    order = list(allocation.request.by_full_name)
    for knob in allocation.request.surface.knob_names:
        yield tuple(sorted(allocation.on(knob), key=order.index)), knob


def test_the_ways_are_all_that_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    requests = [*map(seeded_request, range(EXAMPLES // 3)), *map(even, range(260))]
    for allocation in allocations(iter(requests)):
        answer = told_right(allocation)
        seen["one way"] += answer.only
        seen["some"] += 1 < answer.count <= 10
        seen["many"] += answer.count > 10
        seen["breakable"] += any(s.break_weight for s in allocation.request.played)
        seen["broken"] += allocation.tiers[2].value > 0
        seen["left out"] += allocation.tiers[0].value > 0
        seen["only there"] += any(place.only for place in answer.places)
        seen["elsewhere too"] += any(place.only is False for place in answer.places)
        seen["together"] += answer.count > 1 and bool(answer.always)
        seen["out in some"] += any(w.unplaced != answer.ways[0].unplaced for w in answer.ways)
    wanted = ("one way", "some", "many", "breakable", "left out", "only there", "elsewhere too")
    assert [each for each in (*wanted, "together", "out in some") if seen[each] < often(5)] == []
    assert seen["broken"]


def test_both_ways_to_find_them_agree() -> None:
    ties = 0
    requests = [*map(seeded_request, range(30)), *map(even, range(30)), busy_request(12)]
    for allocation in allocations(iter(requests)):
        walked = all_ways(allocation, 25, Watch(200.0))
        if walked[1] is None:
            assert all_ways(allocation, 25, Watch(200.0), walk=False) == walked
            ties += len(walked[0]) > 1
    assert ties > 5


def test_what_is_too_much_to_go_through_is_found_by_parting(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    known = [
        (allocation, all_ways(allocation, EVERY, Watch(200.0)))
        for allocation in allocations(even(seed) for seed in range(20))
    ]
    monkeypatch.setattr(best_ways, "MOST_EXAMINED", 1)
    assert [all_ways(allocation, EVERY, Watch(200.0)) for allocation, _ in known] == [
        found for _, found in known
    ]


def test_a_search_bounded_by_most_says_so() -> None:
    bounded = 0
    for allocation in allocations(even(seed) for seed in range(25)):
        count = len(best_of_all(allocation.request).ways)
        for most in {1, count - 1, count, count + 1} - {0}:
            answer = best_layouts(allocation, most=most, places=True, effort=100)
            assert wrong_in(allocation.request, answer) == []
            assert answer.count == min(most, count)
            assert answer.stopped == ("more than asked for" if most < count else None)
            bounded += not answer.proven
        if 1 < count < 12:
            few, stopped = all_ways(allocation, count - 1, Watch(100.0), walk=False)
            assert (len(few), stopped) == (count - 1, "more than asked for")
    assert bounded > 10


def test_a_search_bounded_by_effort_names_best_ways_alone() -> None:
    stopped: Counter[object] = Counter()
    for allocation in allocations(even(seed) for seed in range(40)):
        for effort in (0, 0.005, 0.03, 0.1):
            answer = best_layouts(allocation, most=EVERY, places=True, effort=effort)
            assert wrong_in(allocation.request, answer) == []
            stopped[answer.stopped] += 1
            if not answer.proven:
                assert "roven" in answer.sentences[0]
        known = best_of_all(allocation.request).ways
        for effort in (0.05, 0.3):
            ways, why = all_ways(allocation, EVERY, Watch(effort), walk=False)
            found = {parted(way) for way in ways}
            assert found <= known
            assert why == "effort" or found == known
            stopped["parting"] += why == "effort"
    assert stopped["effort"] > 10
    assert stopped[None] > 10
    assert stopped["parting"] > 10


def test_a_limit_on_routes_and_the_demo_have_answers_too() -> None:
    demo = allocate_request(demo_request())
    answer = best_layouts(demo)
    assert answer.only
    assert all_ways(demo, 100, Watch(100.0), walk=False) == (answer.ways, None)
    narrow = attrs.evolve(demo.request.surface, routes=len(demo.routes) - 1)
    fewer = allocate_request(attrs.evolve(demo.request, surface=narrow))
    other = best_layouts(fewer)
    assert other.proven
    assert all(len(way.unplaced) >= 1 for way in other.ways)
