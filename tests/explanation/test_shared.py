"""Why shared: what fills the surface, what parting costs, and the next best layout."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from functools import cache, partial
from itertools import combinations

import attrs
import pytest
from hypothesis import HealthCheck, given, settings

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.explanation.shared import Shared, why_shared
from knobpack.explanation.witness import Witness
from knobpack.facts import Fact, Obstacle
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
from tests.oracles.amount import EXAMPLES
from tests.oracles.clashes import every_routing
from tests.oracles.reasons_cases import allocation_of, falsified_by_hand, possible, uncaught
from tests.oracles.reasons_layouts import small
from tests.oracles.reasons_read import read_back
from tests.oracles.reasons_shared import wrong_in_shared
from tests.oracles.reasons_terms import valid
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import busy_request, seeded_request, small_requests

Wrong = Callable[[Shared], list[str]]


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


@settings(
    max_examples=EXAMPLES // 10,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)
@given(small_requests())
def test_every_shared_knob_is_explained(request_: Request) -> None:
    allocation = allocation_of(request_)
    if allocation is not None:
        for knob in shared_knobs(allocation):
            told_right(allocation, knob)


def test_every_sort_of_answer_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    allocations = [*possible(range(EXAMPLES // 3)), allocate_request(demo_request())]
    allocations += filter(None, map(allocation_of, map(busy_request, range(5))))
    for allocation in allocations:
        for knob in shared_knobs(allocation):
            answer = told_right(allocation, knob)
            seen["witness"] += answer.witness is not None
            seen["pair in witness"] += bool(answer.witness and answer.witness.obstacles)
            seen["full"] += answer.witness is None and not answer.free
            seen["free"] += bool(answer.free)
            seen["moves"] += bool(answer.moves)
            seen["no moves"] += not answer.moves
    assert len(seen) == 6
    assert [sort for sort in seen if seen[sort] < 5] == []


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


# Falsehoods -------------------------------------------------------------------------------------


@cache
def answers() -> tuple[tuple[Shared, Wrong], ...]:
    """Answers, each with what finds out what is wrong in it."""
    return tuple(_answers())


def _answers(*, solve: bool = False) -> Iterator[tuple[Shared, Wrong]]:
    for allocation in possible(range(EXAMPLES // 3)):
        for knob in shared_knobs(allocation):
            answer = why_shared(allocation, knob, solve=solve)
            yield answer, partial(wrong_in_shared, allocation, ask=knob)


def test_each_falsehood_is_caught() -> None:
    for number, (answer, wrong) in enumerate(answers()):
        assert uncaught(answer, wrong, most=12, seed=number) == []


def test_each_falsehood_in_what_was_solved_is_caught() -> None:
    for number, (answer, wrong) in enumerate(_answers(solve=True)):
        if number == EXAMPLES // 15:
            return
        assert uncaught(answer, wrong, most=12, seed=number) == []


CHANGES: dict[str, Callable[[Shared], Shared | None]] = {
    "another knob": lambda a: attrs.evolve(a, knob="K1" if a.knob != "K1" else "K2"),
    "one that is not there": lambda a: attrs.evolve(a, destinations=a.destinations[1:]),
    "cheaper": lambda a: attrs.evolve(a, price=attrs.evolve(a.price, crowd=0)),
    "a term for another": lambda a: attrs.evolve(
        a, price=attrs.evolve(a.price, mix_kinds=a.price.crowd, crowd=a.price.mix_kinds)
    ),
    "more are placed": lambda a: attrs.evolve(a, placed=a.placed + 1),
    "fewer knobs are used": lambda a: attrs.evolve(a, used=a.used - 1),
    "its own knob is free": lambda a: attrs.evolve(a, free=(*a.free, a.knob)),
    "none is free": lambda a: attrs.evolve(a, free=()) if a.free else None,
    "no moves": lambda a: attrs.evolve(a, moves=()) if a.moves else None,
    "the dearest move first": lambda a: (
        attrs.evolve(a, moves=a.moves[::-1])
        if len({m.price.rank for m in a.moves if m.price}) > 1
        else None
    ),
}

WITNESSES: dict[str, Callable[[Witness], Witness | None]] = {
    "smaller": lambda w: attrs.evolve(w, destinations=w.destinations[1:]),
    "in another order": lambda w: attrs.evolve(w, destinations=w.destinations[::-1]),
    "a knob too few": lambda w: attrs.evolve(w, knobs=w.knobs[1:]),
    "a reason for another pair": lambda w: (
        attrs.evolve(w, obstacles=(*w.obstacles[1:], w.obstacles[0]))
        if len(w.obstacles) > 1
        else None
    ),
    "a demand that is not there": lambda w: attrs.evolve(w, loose=()) if w.loose else None,
    "a reason left out": lambda w: attrs.evolve(w, obstacles=w.obstacles[1:]),
    "of another sort": lambda w: attrs.evolve(
        w, obstacles=(Obstacle((Fact("reserved", (), w.knobs[0]),)), *w.obstacles[1:])
    ),
}


@cache
def crowded() -> tuple[tuple[Shared, Wrong], ...]:
    """Answers about surfaces that are filled by destinations of which each two are kept apart."""
    return tuple(_crowded())


def _crowded() -> Iterator[tuple[Shared, Wrong]]:
    for request in map(seeded_request, range(EXAMPLES // 4)):
        names, count = tuple(request.destinations), len(request.surface.knobs)
        if 1 < count < len(names):
            parted = tuple(Apart((a,), (b,)) for a, b in combinations(names[:count], 2))
            bare = attrs.evolve(request, rules=parted, keep=Layout(), snapshots=())
            allocation = allocation_of(bare)
            for knob in shared_knobs(allocation) if allocation else ():
                assert allocation
                answer = why_shared(allocation, knob)
                yield answer, partial(wrong_in_shared, allocation, ask=knob)


@pytest.mark.parametrize("change", CHANGES.values(), ids=list(CHANGES))
def test_a_deliberate_falsehood_is_caught(change: Callable[[Shared], Shared | None]) -> None:
    assert falsified_by_hand(answers(), change) >= 3


@pytest.mark.parametrize("change", WITNESSES.values(), ids=list(WITNESSES))
def test_a_false_witness_is_caught(change: Callable[[Witness], Witness | None]) -> None:
    def changed(answer: Shared) -> Shared | None:
        other = change(answer.witness) if answer.witness else None
        return None if other is None else attrs.evolve(answer, witness=other)

    assert falsified_by_hand(crowded(), changed) >= 3


def test_a_witness_that_is_kept_back_is_caught() -> None:
    def kept_back(answer: Shared) -> Shared | None:
        return attrs.evolve(answer, witness=None) if answer.witness else None

    assert falsified_by_hand(crowded(), kept_back) >= 3


def test_a_stranger_in_a_witness_is_caught() -> None:
    strangers = 0
    for answer, wrong in crowded():
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


def test_a_knob_that_is_not_shared_or_not_there_is_refused() -> None:
    allocation = allocate_request(Request(Surface.row(2), (PAIR,), snapshots=()))
    with pytest.raises(InputError, match="name a knob that carries two") as caught:
        why_shared(allocation, "K1")
    assert (caught.value.field, caught.value.value) == ("knob", "K1")
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
