"""Contradictions: errors with what clashes, told apart from what only finds no room."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import ImpossibleDemands, allocate_request
from knobpack.checker import check
from knobpack.definition.contradictions import contradictions
from knobpack.numbered.request import problem_of
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from knobpack.words.demand import demands_of
from tests.clash.clash_requests import pads, seeded
from tests.oracles import masks
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import least
from tests.oracles.reading import read
from tests.oracles.strategies import seeded_edit, seeded_request

BOTH = ("Pad/cutoff", "Pad/level")
VERSE = (Snapshot("verse", BOTH[:1]),)
ALL = ("K1", "K2")
SMALL, CLOSED = Surface.row(2), Surface.row(2, reserved=ALL)


# What is contradicted ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("request_", "found"),
    [
        (pads(Together(BOTH), Apart(BOTH[:1], BOTH[1:]), surface=SMALL), (BOTH,)),
        (pads(Together(("Pad",)), Alone(BOTH[1:]), surface=SMALL), (BOTH,)),
        (pads(Together(BOTH), surface=SMALL, snapshots=VERSE), (BOTH,)),
        (
            attrs.evolve(
                pads(Together(BOTH), surface=SMALL, snapshots=VERSE),
                previous=Layout.of({"K1": BOTH[:1]}),
                in_use=True,
            ),
            (BOTH,),
        ),
        (pads(Together(BOTH), surface=Surface.row(2, destinations_per_knob=1)), (BOTH,)),
        (pads(Barred(BOTH, ALL), surface=SMALL), ((BOTH[0],), (BOTH[1],))),
        (pads(Barred(BOTH[:1], ("K1",)), surface=Surface.row(2, reserved=("K2",))), (BOTH[:1],)),
        (
            pads(
                Together(BOTH), Barred(BOTH[:1], ("K1",)), Barred(BOTH[1:], ("K2",)), surface=SMALL
            ),
            (BOTH,),
        ),
        (pads(Fixed(BOTH[:1], "K1"), Barred(BOTH[:1], ("K1",)), surface=SMALL), (BOTH[:1],)),
        (
            pads(
                Together(("Pad/cutoff", "Bass/cutoff")),
                Together(("Bass/cutoff", "Bass/level")),
                Apart(("Pad/cutoff",), ("Bass/level",)),
                surface=SMALL,
            ),
            (("Pad/cutoff", "Bass/cutoff", "Bass/level"),),
        ),
    ],
)
def test_what_no_knob_could_take_is_an_error(
    request_: Request, found: tuple[tuple[str, ...], ...]
) -> None:
    assert contradictions(request_) == found
    checked = check(request_, Layout())
    assert (checked.contradicted, checked.valid) == (found, False)
    with pytest.raises(ImpossibleDemands) as raised:
        allocate_request(request_)
    clash = raised.value.clash
    assert clash.contradicted == found
    assert clash.ways_out
    assert {demand.kind for demand in clash.demands} <= {
        *("rule", "separate", "reserved", "destinations per knob")
    }


@pytest.mark.parametrize(
    "request_",
    [
        # Preferred rules and breakable snapshots have a price instead.
        pads(Together(BOTH), Apart(BOTH[:1], BOTH[1:], 5), surface=SMALL),
        pads(Barred(BOTH, ALL, 5), surface=SMALL),
        pads(Together(BOTH), surface=SMALL, snapshots=(attrs.evolve(VERSE[0], break_weight=1),)),
        # Without a knob that is open to anything, nothing of what is asked is to blame.
        pads(Together(BOTH), Apart(BOTH[:1], BOTH[1:]), surface=CLOSED),
        pads(Barred(BOTH, ALL), surface=CLOSED),
        pads(Together(BOTH), Apart(BOTH[:1], BOTH[1:]), surface=Surface(())),
        # The base's routes and what is fixed take the room.
        pads(
            Barred(BOTH[:1], ("K2",)),
            Alone(("Bass/level",)),
            surface=SMALL,
            keep=Layout((Route("Bass/level", "K1"),)),
        ),
        pads(
            Barred(BOTH[:1], ("K2",)),
            Alone(("Bass/level",)),
            Fixed(("Bass/level",), "K1"),
            surface=SMALL,
        ),
        # Both are on one side, or on the other.
        pads(Together(BOTH), Apart(BOTH, ("Bass",)), surface=SMALL),
        pads(Together(BOTH), Apart(("Bass",), BOTH), surface=SMALL),
        # A rule may name the same on both sides: it parts what is different.
        pads(Together(BOTH), Apart(BOTH[:1], BOTH[:1]), surface=SMALL),
        # What a knob drives in a layout in use may stay there, whatever moves now.
        attrs.evolve(
            pads(Together(BOTH), surface=SMALL, snapshots=VERSE),
            previous=Layout.of({"K1": BOTH}),
            in_use=True,
        ),
        # So do routes in all.
        pads(Together(BOTH), surface=Surface.row(2, routes=1)),
    ],
)
def test_what_only_finds_no_room_is_left_out(request_: Request) -> None:
    assert contradictions(request_) == ()
    found = allocate_request(request_)
    assert found.proven
    assert check(request_, found.layout).valid
    best = least(request_)
    assert best is not None
    assert found.prices.totals == best.totals


def test_what_the_base_has_on_a_reserved_knob_is_not_contradicted() -> None:
    request = pads(
        Barred(BOTH[:1], ("K2",)),
        surface=Surface.row(2, reserved=("K1",)),
        keep=Layout((Route("Pad/cutoff", "K1"),)),
    )
    assert contradictions(request) == ()
    assert allocate_request(request).on("K1") == ("Pad/cutoff",)


# Against other ways to find them ----------------------------------------------------------------


def rules_for(draw: random.Random, names: list[str], knobs: tuple[str, ...]) -> list[Rule]:
    """Required rules that often contradict each other."""
    found: list[Rule] = []
    for _ in range(draw.randint(1, 4)):
        some = tuple(draw.sample(names, draw.randint(2, min(3, len(names)))))
        kind = draw.choice((Together, Together, Apart, Alone, Barred))
        if kind is Together:
            found.append(Together(some))
        elif kind is Apart:
            found.append(Apart(some[:1], some[1:]))
        elif kind is Alone:
            found.append(Alone(some[:1]))
        elif knobs:
            found.append(Barred(some, tuple(draw.sample(knobs, draw.randint(1, len(knobs))))))
    return found


def contradictory(seed: int) -> Request:
    """A seeded request or edit with required rules more."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    request = seeded_request(seed) if seed % 3 else seeded_edit(seed)
    names = list(request.by_full_name)
    if len(names) < 2:
        return request
    rules = rules_for(draw, names, request.surface.knob_names)
    return attrs.evolve(request, rules=(*request.rules, *rules))


def test_checker_numbering_and_oracles_find_the_same_contradicted() -> None:
    told = 0
    for seed in range(EXAMPLES):
        request = contradictory(seed)
        units, reading = contradictions(request), read(request)
        of_masks = masks.contradicted(reading)
        assert {sum(1 << reading.names.index(name) for name in unit) for unit in units} == of_masks
        found = bool(units)
        told += found
        impossible = problem_of(request).impossible
        assert impossible or not found, seed
        atoms = any(atom.contradicted for atom in problem_of(request).atoms)
        assert found or not atoms, seed
    assert EXAMPLES // 10 < told < EXAMPLES * 9 // 10


def test_answers_to_contradictory_requests_are_those_of_brute_force() -> None:
    errors = 0
    for seed in range(EXAMPLES // 2):
        request = contradictory(seed)
        best = least(request)
        try:
            found = allocate_request(request)
        except ImpossibleDemands:
            errors += 1
            assert best is None, seed
        else:
            assert best is not None, seed
            assert found.prices.totals == best.totals, seed
    assert errors > EXAMPLES // 20


def test_less_that_is_asked_contradicts_no_more() -> None:
    """Dropping a rule or snapshot, or leaving one knob more open, never adds a contradiction."""
    less = 0
    for seed in range(EXAMPLES):
        request = attrs.evolve(contradictory(seed), keep=Layout())
        before = {name for unit in contradictions(request) for name in unit}
        open_knobs = set(request.surface.knob_names).difference(request.surface.reserved)
        if not before or not open_knobs:
            continue
        for position in range(len(request.rules)):
            rules = request.rules[:position] + request.rules[position + 1 :]
            after = contradictions(attrs.evolve(request, rules=rules))
            assert before.issuperset(name for unit in after for name in unit), seed
            less += len({name for unit in after for name in unit}) < len(before)
        free = attrs.evolve(request, surface=attrs.evolve(request.surface, reserved=()))
        after = contradictions(free)
        assert before.issuperset(name for unit in after for name in unit), seed
    assert less > EXAMPLES // 20


def test_what_is_contradicted_is_named_beside_demands_of_the_request() -> None:
    named = 0
    for seed in range(60):
        request = seeded(seed)
        found = contradictions(request)
        if found:
            with pytest.raises(ImpossibleDemands) as raised:
                allocate_request(request)
            clash = raised.value.clash
            assert set(clash.demands) <= set(demands_of(request))
            named += bool(clash.contradicted)
    assert named > 3


def test_many_that_are_bound_together_clash_by_two_demands() -> None:
    names = tuple(Destination(f"d{n}") for n in range(120))
    voices = tuple(Voice(f"V{n}", names) for n in range(3))
    whole = Request(
        Surface.row(4),
        voices,
        rules=(Together(("V1", "V2", "V0")),),
        snapshots=(Snapshot("x", ("V0",)),),
    )
    with pytest.raises(ImpossibleDemands) as raised:
        allocate_request(whole)
    assert len(raised.value.clash.demands) == 2
    assert len(raised.value.clash.contradicted[0]) == 360
