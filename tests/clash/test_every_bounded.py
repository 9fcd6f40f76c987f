"""All clashing sets and all ways out, cut short: nothing false is said, and not too much."""

from __future__ import annotations

import itertools

import attrs
import pytest

from knobpack.clash import mcs
from knobpack.clash.every import MORE_SETS, MORE_WAYS, EveryClash, every_clash
from knobpack.solver import watch as watches
from knobpack.solver.watch import EFFORT, Watch
from tests.clash.test_clash import LIVE
from tests.clash.test_every import found_in, impossible, pins, web
from tests.oracles.every_clash import (
    Everything,
    everything,
    wrong_in,
)


def true_part(truth: Everything, answer: EveryClash) -> bool:
    """Whether nothing false is said in an answer that may not be complete."""
    found = found_in(answer)
    prices = {frozenset(way.demands): way.price for way in answer.ways_out}
    missing = [sum(each.price for each in way) for way in truth.ways - found.ways]
    return (
        found.sets <= truth.sets
        and found.ways <= truth.ways
        and (not answer.proven or found == truth)
        and (answer.stopped != MORE_SETS or found.sets != truth.sets)
        and (answer.stopped != MORE_WAYS or found.ways != truth.ways)
        and all(
            prices[frozenset(way.demands)] <= min(missing, default=way.price)
            for way in answer.ways_out
            if way.proven
        )
    )


@pytest.mark.parametrize("most", [1, 2, 3])
def test_no_more_than_asked_for(most: int) -> None:
    stopped = set()
    for request in impossible(24, 8):
        truth = everything(request)
        answer = every_clash(request, most=most)
        assert true_part(truth, answer)
        assert wrong_in(request, answer) == []
        assert max(len(answer.sets), len(answer.ways_out)) <= most
        assert min(len(answer.sets), len(answer.ways_out)) >= 1
        assert answer.proven == (max(len(truth.sets), len(truth.ways)) <= most)
        stopped.add(answer.stopped)
    assert stopped >= {None, MORE_SETS}


def test_more_ways_out_than_asked_for() -> None:
    """Four clashes of two fixed rules each have sixteen ways out."""
    answer = every_clash(pins(4), most=5)
    assert (len(answer.sets), len(answer.ways_out)) == (4, 5)
    assert (answer.proven, answer.stopped) == (False, MORE_WAYS)
    assert all(way.proven for way in answer.ways_out)
    assert wrong_in(pins(4), answer) == []


def test_a_way_out_is_not_called_cheapest_where_a_cheaper_one_may_be_missing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Without the search that goes by price, the map gives ways out in any order."""
    monkeypatch.setattr(mcs, "ways_out", lambda *_: [])
    for request in impossible(4, 7, first=400):
        truth = everything(request)
        for most in range(1, len(truth.sets) + len(truth.ways)):
            answer = every_clash(request, most=most)
            assert true_part(truth, answer)
            assert wrong_in(request, answer) == []
            assert all(way.proven == answer.proven for way in answer.ways_out)


@pytest.mark.parametrize("seed", [0, 60])
def test_wherever_it_is_stopped_nothing_false_is_said(
    monkeypatch: pytest.MonkeyPatch, seed: int
) -> None:
    tried = impossible(8, 7, first=seed)
    request = max(tried, key=lambda each: len(every_clash(each).sets))
    truth, whole = everything(request), every_clash(request)
    partly: set[tuple[int, int]] = set()
    for most in range(0, 2000, 8):
        looks = itertools.count()

        class Stopping(Watch):
            def over(self, most: int = most, looks: itertools.count[int] = looks) -> bool:
                if next(looks) >= most:
                    self.stopped = EFFORT
                return self.stopped is not None

        monkeypatch.setattr(watches, "Watch", Stopping)
        answer = every_clash(request)
        assert true_part(truth, answer)
        assert wrong_in(request, answer) == []
        if answer.proven:
            assert answer == whole
            break
        assert answer.stopped == EFFORT
        partly.add((len(answer.sets), len(answer.ways_out)))
    else:
        pytest.fail("it never came to its end")
    assert len(partly) > 3


@pytest.mark.parametrize("effort", [0, 1e-9, 1e-7, 1e-6, 1e-5, 1e-4])
def test_little_effort_finds_less(effort: float) -> None:
    request = web(5)
    whole = found_in(every_clash(request))
    answer = every_clash(request, effort=effort)
    assert answer.stopped == EFFORT
    assert not answer.proven
    assert answer.possible is (False if effort else None)
    assert found_in(answer).sets < whole.sets
    assert found_in(answer).ways < whole.ways
    assert wrong_in(request, answer) == []


def test_what_the_search_by_price_takes_is_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    begun: list[Watch] = []

    class Listed(Watch):
        def __attrs_post_init__(self) -> None:
            begun.append(self)

    monkeypatch.setattr(watches, "Watch", attrs.define(Listed))
    every_clash(web(5), most=3, effort=8)
    whole, *_, half = begun
    assert half.effort < 4
    assert 8 - whole.effort > 4 - half.effort


@pytest.mark.parametrize("most", [1, 3])
def test_a_live_setup_shows_its_first_sets(most: int) -> None:
    """12 voices of 2 twins, all parted, on 8 knobs: what a set must be is known by argument.

    Nine voices are one too many. Eight snapshots part nine voices, each from all the others, and
    no fewer do: of each two voices, one is alone in a snapshot. The cheapest way out leaves four
    voices out.
    """
    answer = every_clash(LIVE["12 voices of 2"], most=most)
    assert answer.stopped == MORE_SETS
    assert len(answer.sets) == most
    for each in answer.sets:
        placed = [demand.subject.split("/")[0] for demand in each if demand.kind == "place"]
        parting = {demand.subject for demand in each if demand.kind == "separate"}
        assert len(each) == 9 + 8
        assert len(set(placed)) == 9
        assert len(parting) == 8
        assert parting < {f"only {voice}" for voice in placed}
    assert len(answer.ways_out) >= most
    for way in answer.ways_out[:most]:
        assert [demand.kind for demand in way.demands] == ["place"] * 8
        assert len({demand.subject.split("/")[0] for demand in way.demands}) == 4
        assert way.proven


@pytest.mark.parametrize("name", ["2 on each knob", "12 routes", "pins"])
def test_a_live_setup_takes_little_effort(name: str) -> None:
    """Effort is exact. Of each two sets or ways out neither holds the other: all are minimal."""
    answer = every_clash(LIVE[name], most=4, effort=3.0)
    assert answer.stopped in (MORE_SETS, MORE_WAYS)
    assert 4 in (len(answer.sets), len(answer.ways_out))
    found = found_in(answer)
    for family in (found.sets, found.ways):
        assert not any(a < b for a, b in itertools.permutations(family, 2))
    assert all(each & way for each in found.sets for way in found.ways)
