"""Why unplaced: what closes each knob, and what would place it; every way really does."""

from __future__ import annotations

from collections import Counter

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.unplaced import Unplaced, why_unplaced
from knobpack.limits import Limits
from knobpack.words import Apart, Destination, Layout, Request, Surface, Together, Voice
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.reasons_answers import wrong_in_unplaced
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request


def told_right(allocation: Allocation, name: str, *, solve: bool = True) -> Unplaced:
    """The answer, once nothing wrong has been found in it."""
    answer = why_unplaced(allocation, name, solve=solve)
    assert wrong_in_unplaced(allocation, answer, name) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


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
    assert told > often(5)


def _limited(surface: Surface) -> Surface:
    """The surface with fewer routes than there are destinations."""
    return attrs.evolve(surface, routes=6)


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


def test_what_is_placed_is_said_to_be_and_what_is_not_there_is_refused() -> None:
    allocation = allocate_request(Request(Surface.row(3), (THREE,), snapshots=()))
    answer = why_unplaced(allocation, "Pad/pan")
    assert answer.now == allocation.knob_of("Pad/pan")
    assert (answer.price, answer.ways, answer.placing) == (0, (), None)
    assert answer.sentences == (f"Pad/pan is not left out: it is on {answer.now}.",)
    assert answer.graph.graph["answer"] in answer.graph
    with pytest.raises(InputError, match="name a voice/destination"):
        why_unplaced(allocation, "Pad/gone")


@pytest.mark.parametrize("limits", [Limits(time_limit=0), Limits(cancel=lambda: True)])
def test_cut_short_nothing_is_said_of_what_is_hidden_that_is_not_known(limits: Limits) -> None:
    lead = Voice("Lead", (Destination("drive"), Destination("level", priority=5)))
    request = Request(Surface.row(6), (THREE, lead))
    assert "worth sharing" not in str(allocate_request(request, limits=limits))
    out = allocate_request(request).layout.routes[:-1]
    allocation = Allocation.of(request, Layout(out))
    told = str(why_unplaced(allocation, "Lead/level", limits=limits))
    assert "worth sharing" not in told
    assert "99 points less" in told
    full = allocate_request(Request(Surface.row(2), (THREE, lead)))
    assert "as none is worth sharing a knob" in str(full)
    assert "no knob is worth sharing for it" in str(why_unplaced(full, "Lead/level"))
