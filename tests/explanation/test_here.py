"""Why here: what keeps a destination on its knob, and every other knob that it is not on."""

from __future__ import annotations

from collections import Counter

import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.here import Here, why_here
from knobpack.present.demo import demo_request
from knobpack.words import (
    Destination,
    Fixed,
    Request,
    Surface,
    Together,
    Voice,
    Weights,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.example import a_request
from tests.oracles.reasons_answers import wrong_in_here
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_read import read_back
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request


def told_right(allocation: Allocation, name: str) -> Here:
    """The answer, once nothing wrong has been found in it."""
    answer = why_here(allocation, name)
    told = read_back(allocation.request, answer.graph)
    assert wrong_in_here(allocation, told, name) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    allocations = [*possible(range(max(100, EXAMPLES // 3))), allocate_request(demo_request())]
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
    with pytest.raises(InputError, match="ask why_unplaced") as caught:
        why_here(allocation, "Pad/pan")
    assert caught.value.field == "why_here.destination"
    with pytest.raises(InputError, match="name a voice/destination"):
        why_here(allocation, "Pad/gone")
