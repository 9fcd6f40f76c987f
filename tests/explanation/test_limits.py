"""Questions that are stopped: what is known by then is given back, marked, and right."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial
from itertools import islice
from typing import Any

import pytest

from benchmarks.foreign_requests import FOREIGN
from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash.every import every_clash
from knobpack.errors import NoLayoutFound
from knobpack.explanation import budget as budgeting
from knobpack.explanation.best_layouts import best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.demand_prices import each_price, price_of_demands
from knobpack.explanation.here import why_here
from knobpack.explanation.least import least_knobs
from knobpack.explanation.not_there import why_not
from knobpack.explanation.shared import why_shared
from knobpack.explanation.unplaced import why_unplaced
from knobpack.explanation.what_if import what_if
from knobpack.explanation.whole import explain
from knobpack.limits import Limits, Progress
from knobpack.present.demo import demo_request
from knobpack.reasons.answer_graph import Answer
from knobpack.solver.value_functions import known
from knobpack.solver.watch import Watch
from knobpack.words.edits import placed, with_knobs, without_knob
from tests.oracles import best_layouts as ties
from tests.oracles import budget as budgets
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.strategies import seeded_edit


@pytest.fixture
def counted_effort(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """All effort that is counted, by whatever watch, in its order."""
    every, spend = list[float](), Watch.spend

    def counted(watch: Watch, effort: float) -> None:
        if watch.whole is None:
            every.append(effort)
        spend(watch, effort)

    monkeypatch.setattr(Watch, "spend", counted)
    return every


def after(asks: int) -> Callable[[], bool]:
    """Says yes once it was asked so often."""
    left = iter(range(asks))
    return lambda: next(left, None) is None


def some() -> Iterator[Allocation]:
    """Allocations of requests, and of edits of layouts in use."""
    yield from possible(range(25))
    yield from (found for seed in range(25) if (found := allocation_of(seeded_edit(seed))))


def test_a_budget_that_is_cut_off_is_right_as_far_as_it_goes() -> None:
    seen: Counter[str] = Counter()
    for allocation in some():
        for asks in (0, 3, 12):
            answer = knob_budget(allocation, limits=Limits(cancel=after(asks)))
            assert budgets.wrong_in(allocation.request, allocation, answer) == []
            entries = [answer.more, *(family.more for family in answer.families)]
            seen["proven" if all(each.proven for each in entries) else "marked"] += 1
            seen["told"] += "not proven" in str(answer)
    assert min(seen.values()) > 10
    assert len(seen) == 3


def test_best_layouts_that_are_cut_off_are_best_ones() -> None:
    seen: Counter[object] = Counter()
    for turn, allocation in enumerate(some()):
        for asks in (0, 5, 50):
            answer = best_layouts(allocation, places=True, limits=Limits(cancel=after(asks)))
            assert ties.wrong_in(allocation.request, answer) == []
            seen[answer.stopped] += 1
        if turn % 4 == 0:
            assert best_layouts(allocation, limits=Limits(0)).stopped in ("time limit", None)
    assert seen["cancelled"] > 10
    assert seen[None] > 10


def test_prices_that_are_cut_off_name_what_is_not_told() -> None:
    cut = 0
    for allocation in some():
        whole = price_of_demands(allocation)
        in_turn = list(each_price(allocation))
        assert {each.what: each for each in in_turn} == {each.what: each for each in whole.prices}
        asks = random.Random(len(whole.prices)).randint(0, 30)  # noqa: S311 (no secret)
        answer = price_of_demands(allocation, limits=Limits(cancel=after(asks)))
        told = {each.what for each in answer.prices}
        assert sorted([*answer.untold, *(e.what for e in answer.prices)]) == sorted(
            each.what for each in whole.prices
        )
        assert (answer.stopped is None) == answer.proven
        right = {each.what: each.difference.comparison for each in whole.prices}
        for each in answer.prices:
            found = each.difference.comparison
            if each.difference.proven and found is not None:
                best = right[each.what]
                assert best is not None
                assert (found.tier, found.amount) == (best.tier, best.amount)
        if answer.untold:
            assert answer.stopped == "cancelled"
            assert answer.sentences[-1].startswith("Not told, as it was stopped (cancelled): ")
            cut += bool(told)
    assert cut > 5


def test_each_price_is_looked_for_when_it_is_asked_for() -> None:
    heard: list[Progress] = []
    found = allocate_request(demo_request())
    prices = each_price(found, limits=Limits(progress=heard.append))
    assert heard == []
    first = list(islice(prices, 2))
    count = len(heard)
    assert count > 0
    assert len({each.what for each in (*first, *prices)}) == len(price_of_demands(found).prices)
    assert len(heard) > count


def test_an_explanation_that_is_cut_off_says_so_and_is_right() -> None:
    stopped = 0
    for allocation in islice(some(), 30):
        for asks in (0, 2, 9):
            answer = explain(allocation, solve=True, limits=Limits(cancel=after(asks)))
            assert all(each == why_here(allocation, each.destination) for each in answer.here)
            told = [each.destination for each in answer.unplaced]
            assert told == list(allocation.unplaced)[: len(told)]
            if answer.stopped:
                assert answer.stopped == "cancelled"
                assert any(line.startswith("Not all is told") for line in answer.sentences[:2])
                stopped += 1
        whole = explain(allocation)
        assert whole.stopped is None
        assert len(whole.here) == len(allocation.routes)
    assert stopped > 30


def stopped_by(allocation: Allocation, limits: Limits) -> str | None:
    """What stopped the search for another layout, whether it had found one or not."""
    try:
        answer = what_if(allocation, without_knob(allocation.request, "K1"), limits=limits)
    except NoLayoutFound as error:
        return error.stopped
    return answer.allocation.stopped if answer.allocation else None


def test_what_is_cut_off_says_what_stopped_it() -> None:
    found = allocate_request(demo_request())
    assert stopped_by(found, Limits(cancel=lambda: True)) == "cancelled"
    assert stopped_by(found, Limits(0)) == "time limit"
    assert stopped_by(found, Limits(effort=0)) == "effort"
    assert stopped_by(found, Limits(600)) is None
    assert least_knobs(found.request, limits=Limits(600)) == least_knobs(found.request)


def test_what_is_cut_off_is_called_no_best_and_costs_no_more_than_what_is_there() -> None:
    at_once, joined = Limits(cancel=lambda: True), 0
    for found in some():
        with suppress(NoLayoutFound):
            answer = what_if(found, with_knobs(found.request), limits=at_once)
            assert answer.comparison is not None
            assert answer.comparison.amount <= 0
            assert answer.proven or "the best layout then" not in str(answer)
            cut = allocate_request(found.request, limits=at_once)
            told = [line for line in cut.headlines if "costs the least" in line]
            assert not told or cut.tier("sharing").proven
            joined += any(each.cause == "" for each in cut.joined)
    assert joined > 1


@pytest.fixture(scope="module")
def hard() -> Allocation:
    """One of which no question can be settled in a moment, with something left out."""
    return allocate_request(FOREIGN["breakable"](0), effort=0.3)


@pytest.mark.parametrize("question", [knob_budget, explain])
def test_once_it_is_cut_off_nothing_is_put_together_for_a_family(
    question: Callable[..., object], hard: Allocation, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun: list[str] = []

    def noted(room: object, name: str) -> None:
        done = getattr(room, name)

        def noting(*given: Any) -> Any:
            begun.append(name)
            return done(*given)

        monkeypatch.setattr(room, name, noting)

    for name in ("request_of", "upper", "without_knob"):
        noted(budgeting, name)
    noted(known, "costs_of_family")
    question(hard, limits=Limits(cancel=lambda: True))
    assert begun == []
    question(hard, limits=Limits(effort=0.5))
    assert {"request_of", "upper", "costs_of_family"} <= set(begun)


def a_shared_knob(allocation: Allocation) -> str:
    """A knob that carries several."""
    counts = Counter(route.knob for route in allocation.routes)
    return counts.most_common(1)[0][0]


SERIES: dict[str, Callable[[Allocation, Limits], object]] = {
    "explain": lambda it, limits: it.explain(limits=limits),
    "explain, solving": lambda it, limits: it.explain(solve=True, limits=limits),
    "prices": lambda it, limits: it.price_of_demands(limits=limits),
    "why shared": lambda it, limits: it.why_shared(a_shared_knob(it), solve=True, limits=limits),
    "why unplaced": lambda it, limits: it.why_unplaced(it.unplaced[0], limits=limits),
}
"""Questions that solve requests again, one after the other."""


def test_every_answer_says_what_cut_it_off(hard: Allocation) -> None:
    less, knob = without_knob(hard.request, "K1"), a_shared_knob(hard)
    name, other = hard.on(knob)[0], next(each for each in hard.used if each != knob)
    asked: list[Callable[..., Answer]] = [
        *(partial(each, hard) for each in (knob_budget, price_of_demands, explain)),
        partial(why_not, hard, name, other),
        partial(why_shared, hard, knob),
        partial(why_unplaced, hard, hard.unplaced[0]),
        partial(what_if, hard, less),
        partial(every_clash, without_knob(placed(less), "K2")),
    ]
    seen: Counter[str] = Counter()
    for limits in (Limits(cancel=lambda: True), Limits(cancel=after(40))):
        for ask in asked:
            with suppress(NoLayoutFound):
                answer = ask(limits=limits)
                assert (answer.stopped, answer.proven) == ("cancelled", False), answer
                seen[answer.question] += 1
    assert len(seen) == len(asked)


@pytest.mark.parametrize("name", SERIES)
def test_all_searches_of_a_question_share_one_effort(
    name: str, hard: Allocation, counted_effort: list[float]
) -> None:
    """A search looks at its effort between two steps: so some more is used than was given."""
    with suppress(NoLayoutFound):
        SERIES[name](hard, Limits(effort=0.25))
    assert 0.05 < sum(counted_effort) < 0.25 * 1.1


@pytest.mark.parametrize("name", SERIES)
def test_a_cancel_in_the_middle_of_a_series_ends_it(
    name: str, hard: Allocation, counted_effort: list[float]
) -> None:
    heard: list[int] = []

    def cancel() -> bool:
        yes = sum(counted_effort) > 0.1
        heard.extend([len(counted_effort)] if yes else [])
        return yes

    with suppress(NoLayoutFound):
        SERIES[name](hard, Limits(effort=5, cancel=cancel))
    assert heard
    assert sum(counted_effort[heard[0] :]) < 0.01
