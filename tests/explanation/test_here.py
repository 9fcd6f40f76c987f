"""Why here: what keeps a destination on its knob, and every other knob that it is not on."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache, partial

import attrs
import pytest
from hypothesis import HealthCheck, given, settings

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.here import Here, why_here
from knobpack.facts import Fact
from knobpack.present.demo import demo_request
from knobpack.words import (
    Destination,
    Fixed,
    Request,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.example import a_request
from tests.oracles.reasons_answers import wrong_in_here
from tests.oracles.reasons_cases import allocation_of, falsified_by_hand, possible, uncaught
from tests.oracles.reasons_read import read_back
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request, small_requests

Wrong = Callable[[Here], list[str]]


def told_right(allocation: Allocation, name: str) -> Here:
    """The answer, once nothing wrong has been found in it."""
    answer = why_here(allocation, name)
    told = read_back(allocation.request, answer.graph)
    assert wrong_in_here(allocation, told, name) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


@settings(
    max_examples=EXAMPLES // 8,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(small_requests())
def test_every_route_is_explained(request_: Request) -> None:
    allocation = allocation_of(request_)
    for route in allocation.routes if allocation else ():
        told_right(allocation, route.destination)  # type: ignore[arg-type]


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    allocations = [*possible(range(EXAMPLES // 3)), allocate_request(demo_request())]
    allocations += filter(None, map(allocation_of, map(busy_request, range(5))))
    for allocation in allocations:
        for route in allocation.routes:
            answer = told_right(allocation, route.destination)
            seen["pinned"] += bool(answer.pins)
            seen["pinned by what it is bound to"] += any(f.kind == "together" for f in answer.pins)
            seen["ties"] += bool(answer.ties)
            seen["closed"] += any(not each.allowed for each in answer.others)
            seen["alone"] += not answer.beside
            seen["missed"] += answer.missed > 0
            seen["mates"] += bool(answer.mates)
            seen["bonds"] += bool(answer.bonds)
    assert len(seen) == 8
    assert [sort for sort in seen if not seen[sort]] == []


@cache
def answers() -> tuple[tuple[Here, Wrong], ...]:
    """Answers, each with what finds out what is wrong in it."""
    return tuple(_answers())


def _answers() -> Iterator[tuple[Here, Wrong]]:
    for allocation in possible(range(EXAMPLES // 4)):
        for route in allocation.routes[:3]:
            answer = why_here(allocation, route.destination)
            yield answer, partial(wrong_in_here, allocation, ask=route.destination)


def test_each_falsehood_is_caught() -> None:
    for number, (answer, wrong) in enumerate(answers()):
        assert uncaught(answer, wrong, most=8, seed=number) == []


CHANGES: dict[str, Callable[[Here], Here | None]] = {
    "another knob": lambda a: attrs.evolve(a, knob=a.others[0].knob) if a.others else None,
    "nothing beside": lambda a: attrs.evolve(a, beside=()) if a.beside else None,
    "itself beside": lambda a: attrs.evolve(a, beside=(*a.beside, a.destination)),
    "beside in another order": lambda a: attrs.evolve(a, beside=a.beside[::-1]),
    "no pins": lambda a: attrs.evolve(a, pins=()) if a.pins else None,
    "pins elsewhere": lambda a: (
        attrs.evolve(a, pins=tuple(attrs.evolve(f, knob="K2") for f in a.pins))
        if a.pins and a.knob != "K2"
        else None
    ),
    "a pin where there is none": lambda a: (
        None if a.pins else attrs.evolve(a, pins=(Fact("kept", (a.destination,), a.knob),))
    ),
    "a pin that pins nothing": lambda a: attrs.evolve(
        a, pins=(*a.pins, Fact("on", (a.destination,), a.knob))
    ),
    "a knob left out": lambda a: attrs.evolve(a, others=a.others[1:]) if a.others else None,
    "a knob twice": lambda a: attrs.evolve(a, others=a.others[:1] + a.others) if a.others else None,
    "the dearest first": lambda a: (
        attrs.evolve(a, others=a.others[::-1])
        if a.others and a.others[0].allowed and not a.others[-1].allowed
        else None
    ),
    "the travel that it wants": lambda a: attrs.evolve(a, travel=a.wanted) if a.missed else None,
    "reversed": lambda a: attrs.evolve(a, wanted=Travel(a.wanted.end, a.wanted.start)),
    "nothing missed": lambda a: attrs.evolve(a, missed=0),
    "all beside as mates": lambda a: attrs.evolve(a, mates=a.beside),
    "no mates": lambda a: attrs.evolve(a, mates=()),
    "no bonds": lambda a: attrs.evolve(a, bonds=()),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=list(CHANGES))
def test_a_deliberate_falsehood_is_caught(change: Callable[[Here], Here | None]) -> None:
    assert falsified_by_hand(answers(), change) >= 3


def test_a_fixed_destination_and_what_is_bound_to_it_must_be_there() -> None:
    rules = (Fixed(("Bass/drive",), "K2"), Together(("Bass/drive", "Pad/pan")))
    allocation = allocate_request(a_request(rules=rules))
    assert told_right(allocation, "Bass/drive").sentences[-1] == (
        "It must be there: the rule fixed(Bass/drive; K2) puts Bass/drive on K2."
    )
    answer = told_right(allocation, "Pad/pan")
    assert answer.sentences[0] == "Pad/pan is on K2, with Bass/drive."
    assert answer.sentences[-1] == (
        "It must be there: the rule together(Bass/drive, Pad/pan) binds Pad/pan and Bass/drive "
        "together and the rule fixed(Bass/drive; K2) puts Bass/drive on K2."
    )


def test_knobs_that_would_cost_the_same_are_told_in_one_sentence() -> None:
    inner = (Destination("level", source_knob="A"), Destination("tone", source_knob="A"))
    request = Request(Surface.row(3), (Voice("Strings", inner),), weights=Weights(favour=0))
    answer = told_right(allocate_request(request), "Strings/tone")
    (told,) = (each for each in answer.sentences if each.startswith("Moving"))
    first, second = (each.knob for each in answer.others)
    assert told == (
        f"Moving Strings/tone to {first} or {second}, and nothing else, would cost 1 point more "
        "in 'bundles parted' (parted: bundle of A in Strings +1)."
    )


def test_what_is_not_placed_or_not_there_is_refused() -> None:
    allocation = allocate_request(a_request(knobs=0))
    with pytest.raises(InputError, match="ask why it is unplaced") as caught:
        why_here(allocation, "Pad/pan")
    assert caught.value.field == "destination"
    with pytest.raises(InputError, match="name a voice/destination"):
        why_here(allocation, "Pad/gone")
