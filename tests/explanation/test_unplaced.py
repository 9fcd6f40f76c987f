"""Why unplaced: what closes each knob, and what would place it; every way really does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache, partial
from typing import Any

import attrs
import pytest
from hypothesis import HealthCheck, given, settings

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.unplaced import Unplaced, why_unplaced
from knobpack.words import Apart, Destination, Request, Surface, Together, Voice
from tests.oracles.amount import EXAMPLES
from tests.oracles.reasons_answers import wrong_in_unplaced
from tests.oracles.reasons_cases import allocation_of, falsified_by_hand, possible, uncaught
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request, small_requests

Wrong = Callable[[Unplaced], list[str]]


def told_right(allocation: Allocation, name: str, *, solve: bool = True) -> Unplaced:
    """The answer, once nothing wrong has been found in it."""
    answer = why_unplaced(allocation, name, solve=solve)
    assert wrong_in_unplaced(allocation, answer, name) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


@settings(
    max_examples=EXAMPLES // 12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(small_requests())
def test_everything_left_out_is_explained(request_: Request) -> None:
    allocation = allocation_of(request_)
    if allocation is not None:
        for name in allocation.unplaced[:2]:
            told_right(allocation, name)


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    for allocation in possible(range(EXAMPLES // 7)):
        for name in allocation.unplaced:
            answer = told_right(allocation, name)
            seen["clash"] += answer.clash is not None
            seen["can be placed"] += answer.clash is None
            seen["ways"] += bool(answer.ways)
            seen["no ways"] += not answer.ways
            seen["wider"] += answer.clash is not None and answer.clash.wider is not None
            seen["bound"] += len(answer.unit) > 1
            seen["a knob is open"] += any(each.allowed for each in answer.knobs)
    assert len(seen) == 7
    assert [sort for sort in seen if not seen[sort]] == []


def test_larger_ones_are_explained_without_solving() -> None:
    told = 0
    for request in map(busy_request, range(12)):
        allocation = allocation_of(attrs.evolve(request, surface=_limited(request.surface)))
        for name in allocation.unplaced if allocation else ():
            assert allocation
            told_right(allocation, name, solve=False)
            told += 1
    assert told > 5


def _limited(surface: Surface) -> Surface:
    """The surface with fewer routes than there are destinations."""
    return attrs.evolve(surface, routes=6)


@cache
def answers() -> tuple[tuple[Unplaced, Wrong], ...]:
    """Answers, each with what finds out what is wrong in it."""
    return tuple(_answers())


def _answers() -> Iterator[tuple[Unplaced, Wrong]]:
    for allocation in possible(range(EXAMPLES // 4)):
        for name in allocation.unplaced[:2]:
            answer = why_unplaced(allocation, name)
            yield answer, partial(wrong_in_unplaced, allocation, ask=name)


def test_each_falsehood_is_caught() -> None:
    for number, (answer, wrong) in enumerate(answers()):
        assert uncaught(answer, wrong, most=12, seed=number) == []


def _clash(answer: Unplaced, **change: Any) -> Unplaced | None:
    if answer.placing is None or answer.placing.clash is None:
        return None
    clash = attrs.evolve(answer.placing.clash, **change)
    return attrs.evolve(answer, placing=attrs.evolve(answer.placing, clash=clash))


def _nothing_given_up(answer: Unplaced) -> Unplaced | None:
    ways = answer.clash.ways_out if answer.clash else ()
    if not ways:
        return None
    return _clash(answer, ways_out=(attrs.evolve(ways[0], demands=(), price=0), *ways[1:]))


CHANGES: dict[str, Callable[[Unplaced], Unplaced | None]] = {
    "cheaper": lambda a: attrs.evolve(a, price=a.price - 1),
    "alone": lambda a: attrs.evolve(a, unit=(a.destination,)) if len(a.unit) > 1 else None,
    "a knob left out": lambda a: attrs.evolve(a, knobs=a.knobs[1:]) if a.knobs else None,
    "another order": lambda a: attrs.evolve(a, knobs=a.knobs[::-1]) if len(a.knobs) > 1 else None,
    "open knobs": lambda a: (
        attrs.evolve(a, knobs=tuple(attrs.evolve(k, obstacles=()) for k in a.knobs))
        if any(k.obstacles for k in a.knobs)
        else None
    ),
    "nothing clashes": lambda a: _clash(a, demands=()),
    "one demand less": lambda a: _clash(a, demands=a.clash.demands[1:]) if a.clash else None,
    "no way at all": _nothing_given_up,
    "the dearest way first": lambda a: (
        _clash(a, ways_out=a.clash.ways_out[::-1])
        if a.clash and len({way.price for way in a.clash.ways_out}) > 1
        else None
    ),
    "a wider surface": lambda a: (
        _clash(a, wider=len(a.knobs) + 1) if a.clash and a.clash.wider is None else None
    ),
    "no layout and no clash": lambda a: (
        attrs.evolve(a, placing=attrs.evolve(a.placing, clash=None))
        if a.placing and a.clash
        else None
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=list(CHANGES))
def test_a_deliberate_falsehood_is_caught(change: Callable[[Unplaced], Unplaced | None]) -> None:
    assert falsified_by_hand(answers(), change) >= 3


THREE = Voice("Pad", (Destination("cutoff", priority=1), Destination("level"), Destination("pan")))


def test_ways_to_place_it_are_told_the_cheapest_first() -> None:
    rules = (Apart(("Pad/cutoff",), ("Pad/level", "Pad/pan")),)
    request = Request(Surface.row(1), (THREE,), rules=rules, snapshots=())
    answer = told_right(allocate_request(request), "Pad/pan")
    carried = f"carries Pad/cutoff, which the rule {rules[0]} keeps apart from Pad/pan"
    assert answer.sentences == (
        "Pad/pan is left out: that costs 16 points in 'destinations left out'.",
        f"It and 1 destination that is placed do not both fit: the rule {rules[0]} holds.",
        "To place it: leave Pad/cutoff out (reckoned at 256).",
        f"To place it: drop the rule {rules[0]}, or prefer it with a weight (reckoned at 257).",
        "To place it: use a surface with 2 knobs.",
        "Closed to it:",
        f"  K1: {carried}.",
    )


def test_what_is_bound_to_it_is_left_out_with_it() -> None:
    request = Request(
        Surface.row(1, destinations_per_knob=2),
        (THREE,),
        rules=(Together(("Pad/level", "Pad/pan")),),
        snapshots=(),
    )
    answer = told_right(allocate_request(request), "Pad/pan")
    assert answer.unit == ("Pad/level", "Pad/pan")
    assert answer.sentences[0] == (
        "Pad/pan is left out, and with it Pad/level, which it is bound to: that costs 32 points "
        "in 'destinations left out'."
    )


def test_what_is_placed_or_not_there_is_refused() -> None:
    allocation = allocate_request(Request(Surface.row(3), (THREE,), snapshots=()))
    with pytest.raises(InputError, match="ask why it is where it is") as caught:
        why_unplaced(allocation, "Pad/pan")
    assert (caught.value.field, caught.value.value) == ("destination", "Pad/pan")
    with pytest.raises(InputError, match="name a voice/destination"):
        why_unplaced(allocation, "Pad/gone")
