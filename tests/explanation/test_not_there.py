"""Why not there: forbidden by facts that hold and are needed, or priced term by term; no gap."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.definition.prices import TIERS
from knobpack.errors import InputError
from knobpack.explanation.not_there import NotThere, why_not
from knobpack.limits import Limits
from knobpack.present.demo import demo_request
from knobpack.words import Alone, Destination, Fixed, Layout, Request, Route, Surface, Voice
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.example import a_request
from tests.oracles.reasons_answers import wrong_in_not_there
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_read import read_back
from tests.oracles.reasons_solved import places_of
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request


def pairs_of(allocation: Allocation) -> Iterator[tuple[str, str]]:
    """Every destination with every knob that it is not on."""
    places = places_of(allocation)
    for name in allocation.request.by_full_name:
        for knob in allocation.request.surface.knob_names:
            if places.get(name) != knob:
                yield name, knob


def told_right(allocation: Allocation, name: str, knob: str, *, solve: bool = False) -> NotThere:
    """The answer, once nothing wrong has been found in it."""
    answer = why_not(allocation, name, knob, solve=solve)
    # The other layout is no part of a graph, so what was solved is verified as it was answered.
    told = answer if solve else read_back(allocation.request, answer.graph)
    assert wrong_in_not_there(allocation, told, (name, knob)) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    assert answer.allowed == (answer.comparison is not None)
    return answer


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    allocations = [*possible(range(max(150, EXAMPLES // 2)))]
    allocations += filter(None, map(allocation_of, map(busy_request, range(5))))
    for allocation in allocations:
        for name, knob in pairs_of(allocation):
            answer = told_right(allocation, name, knob)
            seen["lasting"] += answer.lasting
            seen["as it is"] += not answer.allowed and not answer.lasting
            seen["tie"] += answer.comparison is not None and answer.comparison.tier is None
            seen["priced"] += answer.comparison is not None and answer.comparison.amount > 0
            seen["bound"] += answer.allowed and len(answer.unit) > 1
            seen["placing"] += answer.allowed and answer.now is None
            assert answer.comparison is None or answer.comparison.rank >= (0,) * len(
                TIERS
            )  # the layout is best
    assert len(seen) == 6
    assert [sort for sort in seen if seen[sort] < often(5)] == []


def test_the_best_layout_that_has_it_there_is_what_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    for allocation in possible(range(0, EXAMPLES // 2, 3)):
        for name, knob in list(pairs_of(allocation))[:4]:
            answer = told_right(allocation, name, knob, solve=True)
            assert answer.best is not None
            assert answer.best.proven
            if answer.best.comparison is None:
                seen["clash"] += 1
            else:
                assert not answer.lasting
                seen["better than alone"] += (
                    answer.comparison is not None
                    and answer.best.comparison.rank < answer.comparison.rank
                )
                seen["tie"] += answer.best.comparison.tier is None
                seen["dearer"] += answer.best.comparison.tier is not None
    assert [k for k in ("clash", "better than alone", "tie", "dearer") if seen[k] < often(3)] == []


@pytest.fixture(scope="module")
def demo() -> Allocation:
    return allocate_request(demo_request())


def test_no_pair_of_the_demo_is_left_out(demo: Allocation) -> None:
    pairs = list(pairs_of(demo))
    count = len(demo.request.by_full_name) * len(demo.request.surface.knobs)
    assert len(pairs) == count - len(demo.routes)
    answers = [told_right(demo, name, knob) for name, knob in pairs]
    assert all(bool(answer.obstacles) != (answer.comparison is not None) for answer in answers)
    assert sum(answer.allowed for answer in answers) > 10
    assert sum(answer.lasting for answer in answers) > 10


def test_the_best_layouts_of_the_demo_are_valid_and_add_up(demo: Allocation) -> None:
    for name, knob in list(pairs_of(demo))[::23]:
        answer = told_right(demo, name, knob, solve=True)
        assert answer.best is not None
        if answer.best.comparison is not None and answer.comparison is not None:
            assert answer.best.comparison.rank <= answer.comparison.rank


# By hand ----------------------------------------------------------------------------------------


def test_a_rule_that_forbids_it_is_told_in_a_sentence() -> None:
    request = a_request(rules=(Fixed(("Pad/cutoff",), "K1"), Alone(("Pad/cutoff",))))
    allocation = allocate_request(request)
    answer = told_right(allocation, "Pad/cutoff", "K2")
    assert answer.lasting
    told = "the rule fixed(Pad/cutoff; K1) puts Pad/cutoff on K1"
    assert answer.sentences[0] == f"Pad/cutoff cannot be on K2 as long as {told}."
    other = told_right(allocation, "Pad/level", "K1")
    alone = "the rule alone(Pad/cutoff) lets Pad/level share no knob with Pad/cutoff"
    assert other.sentences[0] == f"Pad/level cannot be on K1 as long as {told} and {alone}."


def test_a_price_and_a_tie_are_told_in_a_sentence() -> None:
    weights = attrs.evolve(a_request().weights, favour=0, voice_runs=0)
    allocation = allocate_request(a_request(surface=Surface.row(6), weights=weights))
    places = places_of(allocation)
    free = next(k for k in allocation.request.surface.knob_names if k not in places.values())
    answer = told_right(allocation, "Pad/cutoff", free, solve=True)
    assert answer.sentences == (
        f"Moving Pad/cutoff to {free} would be just as good: a tie.",
        "A layout that is just as good has it there: a tie, proven.",
    )
    at = places["Pad/level"]
    assert told_right(allocation, "Pad/cutoff", at).sentences[0] == (
        f"Moving Pad/cutoff to {at}, and nothing else, would cost 2,700 points more in 'sharing "
        f"knobs' (separate control lost on {at} +2,000, kinds mixed on {at} +300, "
        f"beside what is essential on {at} +300, crowding on {at} +100)."
    )


@pytest.mark.parametrize(
    ("name", "knob", "field"),
    [("Pad/gone", "K1", "destination"), ("Pad", "K1", "destination"), ("Pad/cutoff", "K9", "knob")],
)
def test_names_that_are_not_there_are_refused(name: str, knob: str, field: str) -> None:
    with pytest.raises(InputError) as caught:
        why_not(allocate_request(a_request()), name, knob)
    assert caught.value.field == f"why_not.{field}"


def test_a_name_that_is_close_to_one_is_told_with_it() -> None:
    request = Request(Surface.row(2), (Voice("Pad", (Destination("cutoff"),)),))
    allocation = allocate_request(request)
    with pytest.raises(InputError, match="of the request; close to it: Pad/cutoff"):
        why_not(allocation, "Pad/cutof", "K2")
    with pytest.raises(InputError, match="knob of the surface; close to it: K2"):
        why_not(allocation, "Pad/cutoff", "k2")


def test_of_the_knob_that_it_is_on_it_is_said_that_it_is_there() -> None:
    for allocation in possible(range(20)):
        for route in allocation.routes[:2]:
            answer = why_not(allocation, route.destination, route.knob)
            assert answer.now == answer.knob == route.knob
            assert (answer.allowed, answer.price, answer.tier) == (True, 0, None)
            assert answer.sentences == (f"{route.destination} is on {route.knob} already.",)
            assert answer.best is None
            assert answer.graph.graph["answer"] in answer.graph


def test_cut_short_it_says_what_forbids_it_and_that_no_other_layout_is_known() -> None:
    pad = Voice("Pad", (Destination("cutoff"), Destination("level")))
    kept = Layout((Route("Pad/cutoff", "K1"),))
    allocation = allocate_request(Request(Surface.row(2), (pad,), keep=kept))
    answer = why_not(allocation, "Pad/cutoff", "K2", limits=Limits(cancel=lambda: True))
    assert (answer.best, answer.stopped, answer.proven) == (None, "cancelled", False)
    assert answer.obstacles == why_not(allocation, "Pad/cutoff", "K2", solve=False).obstacles
    assert str(answer).endswith("What having it there would cost is not known: cancelled.")
