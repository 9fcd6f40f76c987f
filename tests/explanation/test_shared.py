"""Why shared: what fills the surface, what parting costs, and the next best layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.shared import Shared, why_shared
from knobpack.explanation.witness import Witness
from knobpack.present.demo import demo_request
from knobpack.words import (
    Apart,
    Destination,
    Layout,
    Request,
    Route,
    Surface,
    Together,
    Voice,
    Weights,
)
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.clashes import every_routing
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_layouts import small
from tests.oracles.reasons_read import read_back
from tests.oracles.reasons_shared import wrong_in_shared
from tests.oracles.reasons_terms import valid
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request, seeded_request


def shared_knobs(allocation: Allocation) -> list[str]:
    """The knobs that carry two destinations or more."""
    return [k for k in allocation.request.surface.knob_names if len(allocation.on(k)) > 1]


def told_right(allocation: Allocation, knob: str, *, solve: bool = False) -> Shared:
    """The answer, once nothing wrong has been found in it."""
    answer = why_shared(allocation, knob, solve=solve)
    told = answer if solve else read_back(allocation.request, answer.graph)
    assert wrong_in_shared(allocation, told, knob) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    return answer


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    allocations = [*possible(range(EXAMPLES // 3)), allocate_request(demo_request())]
    allocations += filter(None, map(allocation_of, map(busy_request, range(5))))
    for allocation in allocations:
        for knob in shared_knobs(allocation):
            answer = told_right(allocation, knob)
            seen["witness"] += answer.witness is not None
            seen["pair in witness"] += bool(answer.witness and answer.witness.obstacles)
            full = answer.witness is None and not answer.free
            assert full == any(each.startswith("No knob is free: ") for each in answer.sentences)
            seen["full"] += full
            seen["free"] += bool(answer.free)
            seen["moves"] += bool(answer.moves)
            seen["no moves"] += not answer.moves
    assert len(seen) == 6
    assert [sort for sort in seen if seen[sort] < often(5)] == []


def test_the_next_best_layout_is_what_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    free = Weights(crowd=0, mix_kinds=0, mix_voices=0, travel=(0,) * 5, favour=0)
    alike = (attrs.evolve(seeded_request(seed), weights=free) for seed in range(40))
    allocations = [*possible(range(0, EXAMPLES // 3, 2)), *filter(None, map(allocation_of, alike))]
    for allocation in allocations:
        for knob in shared_knobs(allocation):
            best = told_right(allocation, knob, solve=True).next_best
            assert best is not None
            seen["clash"] += best.comparison is None
            seen["tie"] += best.comparison is not None and best.comparison.tier is None
            seen["dearer"] += best.comparison is not None and best.comparison.amount > 0
    assert len(seen) == 3
    assert [sort for sort in seen if not seen[sort]] == []


# By hand ----------------------------------------------------------------------------------------

PAIR = Voice("Pad", (Destination("cutoff"), Destination("level")))


def test_sharing_and_what_fills_the_surface_are_told() -> None:
    bass = Voice("Bass", (Destination("level"),))
    rules = (Apart(("Pad",), ("Bass",)), Apart(("Bass",), ("Pad/cutoff",)))
    request = Request(Surface.row(2), (PAIR, bass), rules=rules, snapshots=())
    allocation = allocate_request(request)
    knob = shared_knobs(allocation)[0]
    answer = told_right(allocation, knob, solve=True)
    assert answer.destinations == ("Pad/cutoff", "Pad/level")
    told = answer.sentences
    assert told[0] == (
        f"{knob} carries Pad/cutoff and Pad/level; sharing it costs 2,400 points (separate "
        "control lost 2,000, kinds mixed 300 and crowding 100)."
    )
    assert answer.witness is not None
    assert set(answer.witness.destinations) <= {"Pad/cutoff", "Pad/level", "Bass/level"}
    assert f"{answer.witness}." in told
    assert "None of them could be moved off alone." in told
    assert told[1] == (
        "The best layout that parts them costs 16 points more in 'destinations left out', proven."
    )


def test_that_no_knob_can_be_free_holds_in_every_layout() -> None:
    """Each layout, by brute force: if an open knob is empty, something that may be is left out."""
    seen: Counter[str] = Counter()
    for request, witness in filled():
        free = False
        for routes in every_routing(request):
            places = {route.destination: route.knob for route in routes}
            if set(places.values()).issuperset(witness.knobs) or not valid(request, places):
                continue
            free = True
            assert witness.loose
            assert not set(witness.destinations) <= set(places)
        assert ("while" in str(witness)) == bool(witness.loose)
        seen["loose" if witness.loose else "firm"] += 1
        seen["free"] += free
    assert min(seen["loose"], seen["firm"], seen["free"]) > 3, seen


def filled() -> Iterator[tuple[Request, Witness]]:
    """Small requests whose surface is filled by some destinations, as the answer says."""
    for seed in range(120):
        request = seeded_request(seed)
        allocation = allocation_of(request)
        if allocation is not None and small(request):
            for knob in shared_knobs(allocation)[:1]:
                witness = why_shared(allocation, knob).witness
                if witness is not None:
                    yield request, witness


@pytest.mark.parametrize("must", [False, True])
def test_one_knob_and_what_fills_it_are_told_in_the_singular(must: bool) -> None:
    pad = Voice("Pad", (Destination("cutoff", must_place=must), Destination("level")))
    answer = told_right(allocate_request(Request(Surface.row(1), (pad,))), "K1")
    name = answer.witness.destinations[0] if answer.witness else ""
    while_placed = "" if must and name == "Pad/cutoff" else f" while {name} is placed"
    assert str(answer.witness) == (
        f"No knob can be free{while_placed}: there is only 1, and {name} needs it"
    )


def test_a_knob_that_is_not_shared_is_said_to_be_so_and_one_that_is_not_there_is_refused() -> None:
    allocation = allocate_request(Request(Surface.row(3), (PAIR,), snapshots=()))
    (free,) = {"K1", "K2", "K3"} - {*allocation.used}
    for knob in ("K1", "K2", "K3"):
        answer = why_shared(allocation, knob)
        what = "nothing" if knob == free else f"{allocation.on(knob)[0]} alone"
        assert answer.sentences == (f"{knob} carries {what}, so nothing shares it.",)
        assert answer.destinations == allocation.on(knob)
        assert (answer.price, answer.moves, answer.instead, answer.next_best) == (0, (), (), None)
        assert answer.graph.graph["answer"] in answer.graph
    with pytest.raises(InputError, match="name a knob of the surface"):
        why_shared(allocation, "K9")


def test_what_must_share_clashes_with_parting() -> None:
    rules = (Together(("Pad",)),)
    keep = Layout((Route("Pad/cutoff", "K1"),))
    inner = tuple(attrs.evolve(each, must_place=True) for each in PAIR.destinations)
    voice = attrs.evolve(PAIR, destinations=inner)
    request = Request(Surface.row(2), (voice,), rules=rules, keep=keep, snapshots=())
    answer = told_right(allocate_request(request), "K1", solve=True)
    assert answer.next_best is not None
    assert answer.next_best.clash is not None
    assert any(each.startswith("No layout parts them: ") for each in answer.sentences)
