"""Answers made false on purpose: what judges them finds it out, wherever the falsehood is.

Every sort of answer is changed in one place after another, as ``reasons_cases.falsified`` does it.
Some changes leave a right answer: one reason less where one is enough, or an order that is free.
"""

from __future__ import annotations

import pickle
import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import partial
from itertools import combinations, islice
from typing import Any

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.clash.every import every_clash
from knobpack.explanation.best_layouts import best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.demand_prices import price_of_demands
from knobpack.explanation.here import why_here
from knobpack.explanation.least import least_knobs
from knobpack.explanation.not_there import why_not
from knobpack.explanation.shared import why_shared
from knobpack.explanation.unplaced import why_unplaced
from knobpack.explanation.what_if import Difference, what_if
from knobpack.words import Apart, Barred, Layout, Request
from tests.clash.clash_requests import clash_of
from tests.clash.test_every import impossible
from tests.explanation.test_best_layouts_told import swapped
from tests.explanation.test_budget_told import pads
from tests.explanation.test_comparison import finder, two
from tests.explanation.test_facts import layouts_of, told_of, wrong_of
from tests.explanation.test_in_use import edits
from tests.explanation.test_not_there import pairs_of
from tests.explanation.test_shared import shared_knobs
from tests.explanation.test_what_if import variants
from tests.oracles import best_layouts as ties
from tests.oracles import budget as budgets
from tests.oracles import clashes
from tests.oracles import every_clash as every
from tests.oracles import least_knobs as least
from tests.oracles.amount import EXAMPLES
from tests.oracles.reasons_answers import wrong_in_here, wrong_in_not_there, wrong_in_unplaced
from tests.oracles.reasons_cases import allocation_of, possible, tried
from tests.oracles.reasons_shared import wrong_in_shared
from tests.oracles.reasons_solved import wrong_in_demand_prices, wrong_in_difference
from tests.oracles.strategies import seeded_request

Judged = Iterator[tuple[Any, Callable[[Any], object]]]
"""Answers, each with what finds out what is wrong in it."""


def here() -> Judged:
    for allocation in possible(range(100)):
        for route in allocation.routes[:3]:
            name = route.destination
            yield why_here(allocation, name), partial(wrong_in_here, allocation, ask=name)


def not_there(*, solve: bool = False) -> Judged:
    for allocation in possible(range(90)):
        for pair in islice(pairs_of(allocation), 4):
            answer = why_not(allocation, *pair, solve=solve)
            yield answer, partial(wrong_in_not_there, allocation, ask=pair)


def shared(allocations: Iterable[Allocation], *, solve: bool = False) -> Judged:
    for allocation in allocations:
        for knob in shared_knobs(allocation):
            answer = why_shared(allocation, knob, solve=solve)
            yield answer, partial(wrong_in_shared, allocation, ask=knob)


def crowded() -> Iterator[Allocation]:
    """Surfaces that are filled by destinations of which each two are kept apart."""
    for request in map(seeded_request, range(150)):
        names, count = tuple(request.by_full_name), len(request.surface.knobs)
        if 1 < count < len(names):
            parted = tuple(Apart((a,), (b,)) for a, b in combinations(names[:count], 2))
            bare = attrs.evolve(request, rules=parted, keep=Layout(), snapshots=())
            yield from filter(None, [allocation_of(bare)])


def unplaced() -> Judged:
    for allocation in possible(range(80)):
        for name in allocation.unplaced[:2]:
            answer = why_unplaced(allocation, name)
            yield answer, partial(wrong_in_unplaced, allocation, ask=name)


def another() -> Judged:
    for number, allocation in enumerate(possible(range(60))):
        for _, other in list(variants(allocation.request))[number % 4 :: 4]:
            yield what_if(allocation, other), partial(_difference, allocation, other)


def _difference(allocation: Allocation, other: Request, answer: Difference) -> list[str]:
    return wrong_in_difference(allocation, other, answer)


def demand_prices() -> Judged:
    for allocation in possible(range(60)):
        yield price_of_demands(allocation), partial(wrong_in_demand_prices, allocation)


def compared() -> Judged:
    for seed in range(100):
        _, answer, before, after = two(seed)
        yield answer, finder(before, after)


def obstacles() -> Judged:
    for request in map(seeded_request, range(100)):
        for places in layouts_of(request)[:1]:
            for told in islice(told_of(request, places), 6):
                yield told[-1], partial(_obstacle, told[:-1])


def _obstacle(asked: Any, obstacle: Any) -> list[str]:
    return wrong_of((*asked, obstacle))


def budget() -> Judged:
    # Bars of different weights, so that it matters which knob is given up.
    bars = (Barred(("Reed/pan",), (knob,), weight) for knob, weight in (("K1", 50), ("K2", 70)))
    for found in (pads(3, *bars), *possible(range(8)), *(each for _, each in edits(range(8)))):
        if found.request.stances:
            continue  # how things stood on knobs given up the oracle cannot tell
        yield knob_budget(found), partial(budgets.wrong_in, found.request, found)


def ways() -> Judged:
    for found in (swapped(), *possible(range(20)), *(each for _, each in edits(range(40)))):
        yield best_layouts(found, places=True), partial(ties.wrong_in, found.request)


def fewest() -> Judged:
    for request in map(seeded_request, range(150)):
        if request.by_full_name and least.least_by_trying(least.sharing_of(request)) is not None:
            yield least_knobs(request), partial(least.wrong_in, request)


def one_clash() -> Judged:
    for request in impossible(12, 9):
        truth = clashes.truth_of(request)
        yield clash_of(request), partial(clashes.faults, request, truth)


def all_clashes() -> Judged:
    for request in impossible(12, 7):
        yield every_clash(request), partial(every.wrong_in, request)


POORER = (
    r"(facts|destinations|demands|obstacles|terms)\[turned\]|obstacles\[-\d+\]|pins\[twice\]"
    r"|instead\[-\d+\]$|facts\[\d+\]\.destinations\[-\d+\]|clash\.(knobs\+1|ways_out(\[[-t].*|.*\[twice\]))"
)
"""Where a change leaves an answer that is poorer, or in another order, but right."""

SORTS: dict[str, tuple[Callable[[], Judged], int, str]] = {
    "why": (here, 8, rf"others\[turned\]|{POORER}"),
    "why not there": (not_there, 8, POORER),
    "why not there, solved": (partial(not_there, solve=True), 10, rf"\.best=None|{POORER}"),
    "why shared": (lambda: shared(possible(range(150))), 12, rf"moves\[turned\]|{POORER}"),
    "why shared, solved": (
        lambda: shared(possible(range(50)), solve=True),
        12,
        rf"\.next_best=None|moves\[turned\]|{POORER}",
    ),
    "what fills a surface": (lambda: shared(crowded()), 12, rf"moves\[turned\]|{POORER}"),
    "why unplaced": (unplaced, 12, rf"\.placing=None|{POORER}"),
    "what if": (another, 8, POORER),
    "what demands are worth": (demand_prices, 8, rf"prices\[turned\]|{POORER}"),
    "two layouts compared": (compared, 20, "(?!)"),
    "an obstacle": (obstacles, 8, POORER),
    "the knob budget": (budget, 24, r"offers|\.name\?|solved_again|(givers|takers)\[(-|twice)"),
    "the best layouts": (ways, 30, r"places\[[-t]|\.destinations\[t|ways\[turned\]"),
    "the fewest knobs": (fewest, 20, r"separated\[-|knob_of\[turned\]"),
    "a clash": (one_clash, 20, r"demands\[t|ways_out\[turned\]|contradicted|^\.knobs\+1"),
    "every clash": (all_clashes, 24, r"ways_out\[turned\]"),  # of one price
}


@pytest.mark.parametrize("sort", SORTS)
def test_what_is_false_is_caught(sort: str) -> None:
    answers, most, poorer = SORTS[sort]
    seen: Counter[bool] = Counter()
    for number, (answer, wrong_in) in enumerate(islice(answers(), max(20, EXAMPLES // 6))):
        if number % 10 == 0:
            assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 (made here)
        for where, caught in tried(answer, wrong_in, most=most, seed=number):
            assert caught or re.search(poorer, where), where
            seen[caught] += 1
    assert seen[True] > 100


def test_a_stranger_in_a_witness_is_caught() -> None:
    strangers = 0
    for answer, wrong in shared(crowded()):
        if answer.witness is None or strangers == 10:
            continue
        names = answer.witness.destinations
        for stranger in answer.destinations:
            if stranger in names:
                continue
            for name in set(names) - set(answer.destinations):
                # One more that shares with one of them, in the place of another of them.
                others = tuple(stranger if each == name else each for each in names)
                other = attrs.evolve(answer.witness, destinations=others)
                assert wrong(attrs.evolve(answer, witness=other))
                strangers += 1
    assert strangers > 3
