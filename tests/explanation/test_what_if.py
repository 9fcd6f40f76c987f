"""What if: another request solved, and what that changes, against brute force over both."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.explanation.what_if import Difference, Moved, what_if
from knobpack.present.demo import demo_request
from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Fixed,
    Knob,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Voice,
)
from tests.oracles import brute
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.example import a_request
from tests.oracles.reasons_cases import possible
from tests.oracles.reasons_solved import places_of, wrong_in_difference
from tests.oracles.reasons_told import wrong_in_sentences


def told_right(allocation: Allocation, other: Request) -> Difference:
    """The answer, once nothing wrong has been found in it."""
    answer = what_if(allocation, other)
    assert wrong_in_difference(allocation, other, answer) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


def variants(request: Request) -> Iterator[tuple[str, Request]]:
    """The request with one thing more or less, made without the library's own edits."""
    surface, names = request.surface, tuple(request.by_full_name)
    row = 1 + max((knob.row for knob in surface.knobs), default=0)
    wide = attrs.evolve(surface, knobs=(*surface.knobs, Knob("Extra", row)))
    yield "a knob more", attrs.evolve(request, surface=wide)
    yield (
        "a voice more",
        attrs.evolve(
            request,
            surface=attrs.evolve(surface, layers=None),
            voices=(*request.voices, Voice("New", (Destination("cutoff", priority=2),))),
            snapshots=request.played,
        ),
    )
    yield "no rules", attrs.evolve(request, rules=())
    yield (
        "other weights",
        attrs.evolve(request, weights=attrs.evolve(request.weights, crowd=900, favour=7)),
    )
    if names:
        yield "a rule more", attrs.evolve(request, rules=(*request.rules, Alone(names[:1])))
        played = (*request.played, Snapshot("one alone", _movable(request)[:1]))
        room = attrs.evolve(surface, snapshots=None)
        yield "a snapshot more", attrs.evolve(request, snapshots=played, surface=room)
    if len(names) > 1 and surface.knobs:
        there = tuple(Fixed((name,), surface.knob_names[-1]) for name in names[:2])
        parted = Apart(names[:1], names[1:2])
        yield "a clash", attrs.evolve(request, rules=(*there, parted))
    bare = [voice for voice in request.voices if voice.destinations]
    if len(bare) > 1:
        yield "a voice less", _without_last(request)


def _movable(request: Request) -> tuple[str, ...]:
    return tuple(name for name, inner in request.by_full_name.items() if inner.movable)


def _without_last(request: Request) -> Request:
    """The request for all but its last voice, with nothing that names anything."""
    return attrs.evolve(
        request, voices=request.voices[:-1], groups=(), snapshots=(), rules=(), keep=Layout()
    )


def test_every_sort_of_change_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    for number, allocation in enumerate(possible(range(EXAMPLES // 5))):
        for what, other in list(variants(allocation.request))[number % 3 :: 3]:
            answer = told_right(allocation, other)
            seen[what] += 1
            seen["impossible"] += answer.clash is not None
            seen["moved"] += bool(answer.moved)
            seen["gained a place"] += any(each.before is None for each in answer.moved)
            seen["lost its place"] += any(each.after is None for each in answer.moved)
            seen["added"] += bool(answer.added)
            seen["gone"] += bool(answer.gone)
            seen["tie"] += answer.comparison is not None and answer.comparison.tier is None
            seen["saves"] += answer.comparison is not None and answer.comparison.amount < 0
    assert len(seen) == 16
    assert [sort for sort in seen if seen[sort] < often(3)] == []


def test_the_same_problem_asked_in_other_words_has_the_same_answer() -> None:
    for allocation in possible(range(60)):
        rule = Apart(("Voice 1",), ("Voice 1",), weight=1)
        request = attrs.evolve(allocation.request, rules=(*allocation.request.rules, rule))
        answer, best = told_right(allocation, request), brute.least(request)
        assert best is not None
        assert tuple(tier.value for tier in answer.after) == best.totals
        again = told_right(allocation, attrs.evolve(request, rules=allocation.request.rules))
        assert again.moved == ()


@pytest.mark.parametrize("names", [("L1", "L2"), ("K2", "K1")])
def test_knobs_may_have_other_names(names: tuple[str, str]) -> None:
    voice = Voice("Pad", (Destination("cutoff", priority=1), Destination("level", priority=5)))
    allocation = allocate_request(Request(Surface.row(2), (voice,)))
    knobs = tuple(Knob(name, 1, column) for column, name in enumerate(names, 1))
    answer = told_right(allocation, attrs.evolve(allocation.request, surface=Surface(knobs)))
    assert len(answer.moved) == 2


# By hand ----------------------------------------------------------------------------------------


def test_a_difference_is_told_in_sentences() -> None:
    allocation = allocate_request(a_request(knobs=5))
    assert allocation.tiers[2].value == 0
    names = ("Pad/cutoff", "Pad/level")
    at = places_of(allocation)
    rules = (Fixed(names, at[names[0]]),)
    answer = told_right(allocation, attrs.evolve(allocation.request, rules=rules))
    assert answer.sentences[:7] == (
        "That costs 2,700 in 'sharing knobs': from 0 to 2,700, proven.",
        "No longer as wanted, or beside others: Pad/cutoff and Pad/level.",
        "Term by term:",
        f"  separate control lost on {at[names[0]]} +2,000",
        f"  kinds mixed on {at[names[0]]} +300",
        f"  beside what is essential on {at[names[0]]} +300",
        f"  crowding on {at[names[0]]} +100",
    )
    assert f"goes from {at[names[1]]} to {at[names[0]]}" in answer.sentences[-1]
    back = told_right(answer.allocation or allocation, allocation.request)
    assert back.sentences[:2] == (
        "That saves 2,700 in 'sharing knobs': from 2,700 to 0, proven.",
        "Then as wanted, and beside nothing else: Pad/cutoff and Pad/level.",
    )


def test_a_clash_and_a_tie_are_told_in_sentences() -> None:
    allocation = allocate_request(a_request())
    keep = Layout((Route("Pad/cutoff", "K1"),))
    rules = (Fixed(("Pad/cutoff",), "K2"),)
    answer = told_right(allocation, attrs.evolve(allocation.request, keep=keep, rules=rules))
    told = f"these clash: the rule {rules[0]} holds; Pad/cutoff is kept on K1"
    assert answer.sentences == (f"Then no layout is possible: {told}.",)
    assert answer.proven
    same = told_right(allocation, allocation.request)
    assert same.sentences == (
        "Nothing is gained or lost: the best layout then costs the same, proven.",
        "No route moves.",
    )


@pytest.mark.parametrize(
    ("moved", "text"),
    [
        (Moved("Pad/pan", "K1", "K2"), "Pad/pan goes from K1 to K2"),
        (Moved("Pad/pan", None, "K2"), "Pad/pan gets K2"),
        (Moved("Pad/pan", "K1", None), "Pad/pan leaves K1 and is left out"),
    ],
)
def test_a_move_is_told_in_words(moved: Moved, text: str) -> None:
    assert str(moved) == text


def test_a_search_that_was_stopped_is_not_said_to_be_proven() -> None:
    demo = allocate_request(demo_request())
    weights = attrs.evolve(demo.request.weights, crowd=137)
    answer = what_if(demo, attrs.evolve(demo.request, weights=weights), effort=0.01)
    assert answer.comparison is not None
    assert answer.proven == all(t.proven for t in answer.after) or answer.comparison.tier
    if not answer.proven:
        assert answer.sentences[0].endswith("; that is not proven.")


def test_an_impossible_request_has_no_allocation_to_ask_about() -> None:
    rules = (Fixed(("Pad/pan",), "K1"), Fixed(("Pad/pan",), "K2"))
    with pytest.raises(ImpossibleDemands):
        allocate_request(a_request(rules=rules))
