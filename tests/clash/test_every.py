"""All clashing sets and all ways out: against every part of the demands, and known by argument."""

from __future__ import annotations

import itertools
import math

import attrs
import pytest

from knobpack.clash.every import EveryClash, every_clash
from knobpack.clash.find import find_clash
from knobpack.words import Apart, Fixed, Request, Rule, Surface, Weights
from knobpack.words.demand import Demand, demands_of
from tests.clash.clash_requests import seeded, voices, watch
from tests.oracles.amount import EXAMPLES
from tests.oracles.every_clash import (
    MOST_DEMANDS,
    Everything,
    everything,
    may_be_met,
    wrong_in,
)


def found_in(answer: EveryClash) -> Everything:
    return Everything(
        frozenset(map(frozenset, answer.sets)),
        frozenset(frozenset(way.demands) for way in answer.ways_out),
    )


def impossible(count: int, most_demands: int, first: int = 0) -> list[Request]:
    """The first seeded requests, from seed ``first`` on, that brute force finds impossible."""
    found: list[Request] = []
    for seed in itertools.count(first):
        request = seeded(seed)
        demands = demands_of(request)
        if len(demands) <= most_demands and not may_be_met(request, demands):
            found.append(request)
        if len(found) == count:
            break
    return found


def per_knob(count: int, knobs: int) -> Request:
    """So many destinations of one voice on knobs that carry one each, with no other demands."""
    surface = Surface.row(knobs, destinations_per_knob=1)
    return Request(surface, voices(1, count), snapshots=())


def pins(count: int) -> Request:
    """So many destinations, each of them fixed to two knobs."""
    rules: list[Rule] = []
    for number in range(1, count + 1):
        rules += [Fixed((f"V1/d{number}",), knob) for knob in ("K1", "K2")]
    return Request(Surface.row(2), voices(1, count), snapshots=(), rules=tuple(rules))


def web(count: int) -> Request:
    """So many destinations, each apart from each other by a rule of its own, on two knobs."""
    names = [f"V1/d{number}" for number in range(1, count + 1)]
    rules = tuple(Apart((a,), (b,)) for a, b in itertools.combinations(names, 2))
    return Request(Surface.row(2), voices(1, count), snapshots=(), rules=rules)


# Against every part of the demands --------------------------------------------------------------


@pytest.mark.parametrize(
    ("count", "most_demands", "rich"),
    [
        (max(12, EXAMPLES // 50), MOST_DEMANDS, max(12, EXAMPLES // 50) // 4),
        (EXAMPLES // 15, 7, EXAMPLES // 80),  # small ones are seldom rich
    ],
)
def test_every_part_of_the_demands_shows_the_same(count: int, most_demands: int, rich: int) -> None:
    many = 0
    for request in impossible(count, most_demands):
        answer = every_clash(request)
        truth = everything(request)
        assert found_in(answer) == truth
        assert answer.proven
        assert wrong_in(request, answer) == []
        many += min(len(truth.sets), len(truth.ways)) > 2
    assert many >= rich


def test_larger_requests_have_sets_and_ways_out_that_hit_each_other() -> None:
    """As many demands as there are: the two families prove each other complete."""
    kinds, possible, largest = set(), 0, 0
    for seed in range(EXAMPLES // 10):
        request = seeded(1000 + seed)
        answer = every_clash(request)
        assert wrong_in(request, answer) == []
        assert answer.proven
        possible += bool(answer.possible)
        largest = max(largest, len(answer.sets))
        kinds |= {demand.kind for each in answer.sets for demand in each}
    assert possible > 5
    assert largest > 20
    assert len(kinds) >= 9


def test_what_is_free_to_give_up_is_not_given_up_for_nothing() -> None:
    free = Weights(unplaced=(0, 0, 0, 0))
    for request in impossible(8, 7, first=500):
        priceless = attrs.evolve(request, weights=free)
        answer = every_clash(priceless)
        assert found_in(answer) == everything(priceless)
        assert wrong_in(priceless, answer) == []


def test_find_clash_tells_some_of_the_same() -> None:
    for request in impossible(15, 12, first=200):
        clash = find_clash(request, watch())
        answer = every_clash(request)
        assert clash is not None
        assert clash.demands in answer.sets
        ways = {way.demands: way.price for way in answer.ways_out}
        assert all(ways[way.demands] == way.price for way in clash.ways_out)
        cheapest = [way.price for way in answer.ways_out[: len(clash.ways_out)]]
        assert [way.price for way in clash.ways_out] == cheapest


# Known by argument ------------------------------------------------------------------------------


def test_voices_that_need_more_layers_than_there_are() -> None:
    answer = every_clash(Request(Surface.row(9, layers=2), voices(4, 1), snapshots=()))
    assert [len(each) for each in answer.sets] == [4] * math.comb(4, 3)
    assert [len(way.demands) for way in answer.ways_out] == [1] + [2] * math.comb(4, 2)
    assert answer.proven


def test_clashes_that_have_nothing_in_common() -> None:
    """Of each pair one must go: two to the power of the number of pairs."""
    answer = every_clash(pins(4))
    assert [len(each) for each in answer.sets] == [2] * 4
    assert [len(way.demands) for way in answer.ways_out] == [4] * 2**4
    assert answer.proven


def test_twins_are_in_one_set_each_and_left_out_together() -> None:
    """Three voices, all parted by any two of their three snapshots, of three destinations each."""
    request = Request(Surface.row(2), voices(3, 3))
    answer = every_clash(request)
    places = [[Demand("place", f"V{v}/d{d}") for d in (1, 2, 3)] for v in (1, 2, 3)]
    parting = [Demand("separate", f"only V{v}") for v in (1, 2, 3)]
    pairs = list(itertools.combinations(parting, 2))
    known = {(*one, *pair) for one in itertools.product(*places) for pair in pairs}
    assert answer.proven
    assert set(answer.sets) == known
    assert len(answer.sets) == 3**3 * 3
    assert {way.demands for way in answer.ways_out} == {*map(tuple, places), *pairs}
