"""Reading: each part of what a setup says, against the same read plainly from the words."""

from __future__ import annotations

from collections import Counter
from typing import Any

import attrs
import pytest
from hypothesis import given

from knobpack.auditing.audit import audit
from knobpack.combination.combiner import combine
from knobpack.errors import InputError
from knobpack.setups.as_read import lies_within, read
from knobpack.simulation import change, sweep
from knobpack.words import Destination, Group, Route, Setup, Snapshot, Surface, Travel, Voice
from knobpack.words.snapshot import EVERYTHING
from tests.auditing import faulty
from tests.oracles.reading_setups import reads
from tests.oracles.reading_told import misread
from tests.simulation import setups

SEEDS = range(150)


def seeded(seed: int) -> tuple[Setup, Setup]:
    """Two setups that may be faulty in every way."""
    return faulty.seeded_setup(seed), setups.seeded_setup(seed)[0]


@given(faulty.faulty_setups())
def test_each_part_is_what_the_setup_says(setup: Setup) -> None:
    assert misread(setup, read(setup)) == []


def test_each_part_has_something_to_say_and_says_it() -> None:
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        for setup in seeded(seed):
            reading = read(setup)
            assert misread(setup, reading) == []
            seen["a route that does not count"] += len(setup.routes) > len(reading.routes)
            seen["a travel cut off"] += reading.travels != reading.goes
            seen["carried and not driven"] += reading.drives != reading.carries
            seen["a circle"] += len(reading.circles)
            seen["assumed"] += reading.assumed
            for play in reading.plays:
                seen["follows and does not work"] += play.follows != play.works
                names = play.snapshot.moves
                assert reading.named(names) == reads(setup, names)
                seen["named and not movable"] += reading.named(names) != play.moved
                there = [name for name in names if name in reading.known]
                assert reading.unknown(names) == tuple(n for n in names if n not in there)
                seen["not there"] += len(names) > len(there)
            every = tuple(reading.destinations)
            assert {*reading.movable(every), *reading.fixed(every)} == set(every)
            assert all(reading.destinations[name].movable for name in reading.movable(every))
            assert not any(reading.destinations[name].movable for name in reading.fixed(every))
    assert {each: count for each, count in seen.items() if count < 5} == {}


def test_the_order_of_routes_and_circles_is_that_of_the_setup() -> None:
    pad = Voice("Pad", (Destination("cutoff"), Destination("level")))
    setup = Setup(
        "Odd",
        Surface.row(2),
        (pad,),
        groups=(Group("z", ("y",)), Group("y", ("z",)), Group("a", ("a", "Pad"))),
        routes=(
            Route("Pad/level", "K2"),
            Route("Pad/cutoff", "K2"),
            Route("Pad/level", "K2"),
            Route("Pad/level", "K1"),
            Route("Pad", "K1"),
        ),
    )
    reading = read(setup)
    assert reading.routes == (setup.routes[0], setup.routes[1], setup.routes[3])
    assert reading.carries == {"K1": ("Pad/level",), "K2": ("Pad/level", "Pad/cutoff")}
    assert reading.knobs_of["Pad/level"] == ("K1", "K2")
    assert reading.circles == (("z", "y"), ("a",))
    assert reading.named(("a",)) == {"Pad/cutoff", "Pad/level"}
    assert reading.named(("y",)) == frozenset()


def test_as_many_to_hold_as_to_move_do_not_follow() -> None:
    inner = tuple(Destination(name) for name in "abc")
    routes = tuple(Route(f"Pad/{name}", "K1") for name in "abc")
    setup = Setup("Torn", Surface.row(1), (Voice("Pad", inner),), routes=routes[:2])
    one, two = Snapshot("one", ("Pad/a",)), Snapshot("two", ("Pad/a", "Pad/b"))
    assert read(setup).play(one).follows == ()
    assert read(setup).play(two).follows == ("K1",)
    wider = Setup("Torn", Surface.row(1), (Voice("Pad", inner),), routes=routes)
    assert read(wider).play(two).follows == ("K1",)


@pytest.mark.parametrize(
    ("travel", "goes"),
    [
        (Travel(0, 200), Travel(0, 127)),
        (Travel(300, 5), Travel(127, 5)),
        (Travel(127, 900), Travel(127, 127)),
        (Travel(4, 4), Travel(4, 4)),
    ],
)
def test_a_travel_ends_where_positions_do(travel: Travel, goes: Travel) -> None:
    case = setups.two_voices(7)
    setting = type(case.travels[0])("K1", travel)
    setup = Setup("Beyond", case.surface, case.voices, routes=case.routes, travels=(setting,))
    reading = read(setup)
    assert reading.travels["K1"] == travel
    assert reading.goes["K1"] == goes
    assert bool(reading.drives["K1"]) == (not goes.empty)
    assert lies_within(travel, 127) == (travel == goes)


def test_all_readers_call_the_state_that_is_assumed_the_same() -> None:
    setup = Setup("Bare", Surface.row(1), (Voice("Pad", (Destination("level"),)),))
    assert [each.name for each in read(setup).snapshots] == [EVERYTHING] == ["everything"]
    assert audit(setup).assumed
    assert sweep(setup, EVERYTHING).snapshot == EVERYTHING
    assert change(setup, EVERYTHING, EVERYTHING, 0) == ()
    driven = attrs.evolve(setup, routes=(Route("Pad/level", "K1"),))
    other = attrs.evolve(driven, name="Other")
    wide = attrs.evolve(driven, surface=Surface.row(2))
    assert combine(wide, other).setup.snapshots[0].name == EVERYTHING


@pytest.mark.parametrize("wrong", [None, "Setup", 7, Surface.row(1)])
def test_what_is_no_setup_is_refused(wrong: Any) -> None:
    with pytest.raises(InputError, match="give a Setup") as caught:
        read(wrong, "somewhere")
    assert caught.value.field == "somewhere"
    with pytest.raises(InputError, match="give a Setup"):
        audit(wrong)
