"""Sweeps: worked by hand, against plain Python, and turned round.

Positions and what moves are common practice, no source. Steps are read as M2-115-U 1.0.2, section
5, says; curves as DLS 2.2, 1.6.5, says.
"""

from __future__ import annotations

import copy
import pickle
from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError
from knobpack.positions import Curve, reach, scaled
from knobpack.simulation import Response, Sweep, sweep
from knobpack.words import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice
from tests.oracles.amount import EXAMPLES
from tests.oracles.simulation import Plain, played
from tests.simulation.setups import seeded_setup, some_responses, some_start, stored, two_voices


def one_knob(travel: Travel, bits: int, steps: int | None = None) -> Setup:
    return Setup(
        "One",
        Surface.row(1, bits=bits),
        (Voice("Pad", (Destination("cutoff", steps=steps),)),),
        routes=(Route("Pad/cutoff", "K1"),),
        travels=(KnobTravel("K1", travel),),
        snapshots=(Snapshot("all", ("Pad",)), Snapshot("none", ())),
    )


def test_half_a_travel_ends_at_512_of_1023() -> None:
    # M2-115-U 3.3: the centre stays the centre, so 64 of 127 is 512 of 1023.
    assert scaled(64, 7, 10) == 512
    found = sweep(two_voices(), "both")
    assert found.knobs == ("K1", "K2", "K3", "K4", "K5")
    assert found.positions.shape == (5, 1024)
    assert found.received.shape == (4, 1024)
    assert found.master.tolist() == list(range(1024))
    assert found.positions[:, 0].tolist() == [0, 1023, 0, 300, 0]
    assert found.positions[:, -1].tolist() == [512, 0, 1023, 300, 0]
    # 512 · 100 / 1023 = 50.05, 512 · 101 / 1023 = 50.55; the full travel is the master itself.
    assert found.positions[:, 100].tolist() == [50, 923, 100, 300, 0]
    assert found.positions[0, 101] == 51
    assert found.received[0, -1] == 512 / 1023
    assert found.received[1, [0, -1]].tolist() == [1, 0]
    # Three steps at 10 bits change at 1024/3 and 2048/3: 341 is the first, 342 the second.
    assert found.received[2, [0, 341, 342, 682, 683, 1023]].tolist() == [
        *(0, 0, 512 / 1023, 512 / 1023, 1, 1)
    ]
    assert found.moved == ("Pad/cutoff", "Pad/level", "Lead/wave")
    assert found.held == ("Lead/pan",)


def test_what_is_held_stands_where_the_snapshot_or_the_hand_has_put_it() -> None:
    hand = {"K1": 700, "K3": 9, "K5": 1}
    found = sweep(stored(), "only Lead", master=2, start=hand)
    assert found.follows == ("K3", "K4")
    assert found.positions.tolist() == [[700, 700], [1023, 1023], [0, 1023], [300, 300], [1, 1]]
    assert found.supposed == ()
    # Nothing is stored: K2 drives a level, and is shown at the lower end of its reversed travel.
    unknown = sweep(two_voices(), "only Lead", master=2, start={"K5": 1})
    assert unknown.positions[:2].tolist() == [[0, 0], [0, 0]]
    assert unknown.supposed == ("K1", "K2")
    assert found.moved == ("Lead/wave",)
    assert found.held == ("Pad/cutoff", "Pad/level", "Lead/pan")


def test_it_is_told_what_moves_over_what_and_what_is_held() -> None:
    first = "Snapshot 'both': the master goes from 0 to 1023; 4 of 5 knobs follow"
    assert sweep(two_voices(), "both").sentences == (
        f"{first}, and 3 of them move something.",
        "K1 follows over 0 to 512 (half) and moves Pad/cutoff.",
        "K2 follows over 1023 to 0 (reversed) and moves Pad/level.",
        "K3 follows over 0 to 1023 (full) and moves Lead/wave.",
        "K4 follows over 300 to 300 (does nothing).",
        "Without a route: K5.",
        "Asked to move, but still: Lead/pan.",
        f"Levels, or what can change them, move on K2. {CAUTION}",
    )
    held = sweep(two_voices(), "only Lead", start={"K1": 7})
    assert "Held: K1 at 7." in held.sentences
    assert "Held where nobody knows, and shown as if: K2 at 0." in held.sentences
    assert not any(CAUTION in each for each in held.sentences)
    assert str(held) == "\n".join(held.sentences)


def test_many_knobs_are_told_in_few_lines() -> None:
    knobs = 40
    voice = Voice("Pad", tuple(Destination(f"d{number}") for number in range(knobs)))
    routes = tuple(Route(f"Pad/d{number}", f"K{number + 1}") for number in range(knobs))
    setup = Setup(
        "Big", Surface.row(knobs), (voice,), routes=routes, snapshots=(Snapshot("all", ("Pad",)),)
    )
    told = sweep(setup, "all").sentences
    assert len(told) == 14
    assert told[-1] == "28 more knobs that follow."


@settings(max_examples=EXAMPLES)
@given(st.integers(0, 2**32))
def test_it_is_what_plain_python_finds(seed: int) -> None:
    setup, choose = seeded_setup(seed)
    start = some_start(choose, setup)
    for snapshot in setup.snapshots:
        way = [choose.whole(0, setup.surface.top) for _ in range(7)]
        found = sweep(setup, snapshot.name, master=way, start=start)
        run = played(setup)
        run.recall(snapshot.name)
        run.turn(start)
        positions, received = [], []
        for master in way:
            run.move(master)
            positions.append(list(run.positions.values()))
            received.append([taken / setup.surface.top for taken in run.taken()])
        assert found.routes == tuple(Plain(setup).routes())
        assert found.positions.T.tolist() == positions
        assert found.received.T.tolist() == received


@pytest.mark.parametrize("bits", range(7, 33))
@settings(max_examples=max(1, EXAMPLES // 60))
@given(data=st.data())
def test_it_is_exact_at_every_resolution(bits: int, data: st.DataObject) -> None:
    top = 2**bits - 1
    place = st.sampled_from([0, 1, top // 2, top // 2 + 1, top - 1, top]) | st.integers(0, top)
    travel = Travel(data.draw(place), data.draw(place))
    steps = data.draw(st.none() | st.integers(2, top + 1) | st.sampled_from([top, top + 1]))
    way = data.draw(st.lists(place, min_size=1, max_size=5))
    setup = one_knob(travel, bits, steps)
    plain = Plain(setup)
    found = sweep(setup, "all", master=way)
    assert found.positions[0].tolist() == [plain.put("K1", master) for master in way]
    assert found.received[0].tolist() == [
        plain.taken("Pad/cutoff", plain.put("K1", master)) / top for master in way
    ]


@settings(max_examples=EXAMPLES)
@given(st.integers(0, 2**32))
def test_the_ends_are_the_travels_and_down_is_up_in_reverse(seed: int) -> None:
    setup, choose = seeded_setup(seed)
    responses = some_responses(choose, setup)
    for snapshot in setup.snapshots:
        up = sweep(setup, snapshot.name, responses=responses)
        assert len(up.master) == setup.surface.top + 1
        for knob, travel, row in zip(up.knobs, up.travels, up.positions, strict=True):
            if knob in up.follows:
                assert (row[0], row[-1]) == (travel.start, travel.end)
                steps = np.diff(row)
                assert (steps <= 0).all() if travel.reversed else (steps >= 0).all()
                assert travel.empty == (not steps.any())
            else:
                stands = Plain(setup).stands(snapshot.name, knob)
                assert (row == (Plain(setup).supposed(knob) if stands is None else stands)).all()
        down = sweep(setup, snapshot.name, master=up.master[::-1], responses=responses)
        assert (down.positions[:, ::-1] == up.positions).all()
        assert (down.received[:, ::-1] == up.received).all()
        # A travel turned round does with the master at the bottom what it did at the top.
        turned = tuple(
            KnobTravel(knob, Travel(travel.end, travel.start))
            for knob, travel in zip(up.knobs, up.travels, strict=True)
        )
        routes = tuple(
            attrs.evolve(route, travel=Travel(own.end, own.start))
            if route in up.routes and (own := Plain(setup).led(route))
            else route
            for route in setup.routes
        )
        turn = {"routes": routes} if setup.surface.per_route else {"travels": turned}
        back = sweep(attrs.evolve(setup, **turn), snapshot.name, responses=responses)
        rows = [index for index, route in enumerate(up.routes) if route.knob in up.follows]
        assert (back.received[rows, ::-1] == up.received[rows]).all()


@settings(max_examples=max(1, EXAMPLES // 4))
@given(st.integers(0, 2**32))
def test_curves_and_depths_are_those_of_the_standard(seed: int) -> None:
    setup, choose = seeded_setup(seed)
    responses = some_responses(choose, setup)
    plain, bits = Plain(setup), setup.surface.bits
    for snapshot in setup.snapshots:
        found = sweep(setup, snapshot.name, master=9, responses=responses)
        for route, row in zip(found.routes, found.received, strict=True):
            knob = found.knobs.index(route.knob)
            taken = [plain.through(route, int(p)) for p in found.positions[knob]]
            if route.destination not in responses:
                assert row.tolist() == [each / setup.surface.top for each in taken]
                continue
            response = responses[route.destination]
            expected = [response.depth * response.curve.output(each, bits) for each in taken]
            assert row.tolist() == pytest.approx(expected, rel=1e-12, abs=1e-12)
            inner = plain.find(route.destination)
            if route.knob in found.follows and inner is not None and inner.steps is None:
                whole = reach(plain.led(route), response.curve, response.depth, bits)
                assert row[[0, -1]].tolist() == pytest.approx([whole.start, whole.end])


def test_a_linear_curve_ends_where_the_standard_has_it() -> None:
    # DLS 2.2, 1.6.5: 127 of 127 is 127/128; without a curve it is the whole of full travel.
    setup = one_knob(Travel.full(7), 7)
    bent = {"Pad/cutoff": Response(Curve(), 1200.0)}
    assert sweep(setup, "all", responses=bent).received[0, -1] == 1190.625
    assert sweep(setup, "all").received[0, -1] == 1.0


@pytest.mark.parametrize(
    ("bits", "master", "expected"),
    [
        (7, None, list(range(128))),
        (7, 2, [0, 127]),
        (7, 3, [0, 64, 127]),  # 63.5, a half up
        (7, 128, list(range(128))),
        (7, (5, 5, 0), [5, 5, 0]),
        (7, (each for each in (3, 2)), [3, 2]),
        (7, np.array([127, 0], np.uint8), [127, 0]),
        (32, 3, [0, 2**31, 2**32 - 1]),
    ],
)
def test_the_way_of_the_master(bits: int, master: Any, expected: list[int]) -> None:
    found = sweep(one_knob(Travel(0, 2**bits - 1), bits), "all", master=master)
    assert found.master.tolist() == expected
    assert found.positions[0].tolist() == expected


def test_above_16_bits_the_master_goes_in_65536_points() -> None:
    assert len(sweep(one_knob(Travel(0, 1), 16), "all").master) == 2**16
    found = sweep(one_knob(Travel(0, 2**32 - 1), 32), "all")
    assert found.master[[0, 1, -1]].tolist() == [0, 65537, 2**32 - 1]  # 65535 steps of 65537
    assert found.positions.shape == (1, 2**16)


def test_a_sweep_is_a_value_that_nobody_can_write_to() -> None:
    own = np.array([1, 2])
    found = sweep(two_voices(), "both", master=own)
    own[0] = 9
    assert found.master.tolist() == [1, 2]
    assert found == sweep(two_voices(), "both", master=(1, 2))
    assert found != sweep(two_voices(), "both", master=(1, 3))
    assert found != sweep(two_voices(), "both", master=(1,))
    assert len({found, sweep(two_voices(), "both", master=(1, 2))}) == 1
    for same in (pickle.loads(pickle.dumps(found)), copy.deepcopy(found)):  # noqa: S301 (own data)
        assert isinstance(same, Sweep)
        assert same == found
        for array in (same.master, same.positions, same.received):
            with pytest.raises(ValueError, match="read-only"):
                array[...] = 0


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ({"setup": "Evening"}, "sweep.setup"),
        ({"snapshot": "gone"}, "sweep.snapshot"),
        ({"master": 1}, "sweep.master"),
        ({"master": 1025}, "sweep.master"),
        ({"master": True}, "sweep.master"),
        ({"master": ()}, "sweep.master"),
        ({"master": "0"}, "sweep.master"),
        ({"master": (0, 1024)}, "sweep.master[1]"),
        ({"master": (0.5,)}, "sweep.master[0]"),
        ({"master": np.array([[1]])}, "sweep.master"),
        ({"master": np.array([0, -1])}, "sweep.master[1]"),
        ({"start": {"K9": 0}}, "sweep.start"),
        ({"start": {"K1": 1024}}, "sweep.start['K1']"),
        ({"start": [1]}, "sweep.start"),
        ({"responses": {"Pad": Response()}}, "sweep.responses"),
        ({"responses": {"Pad/level": Curve()}}, "sweep.responses['Pad/level']"),
        ({"responses": [Response()]}, "sweep.responses"),
    ],
)
def test_what_cannot_be_is_refused(arguments: dict[str, Any], field: str) -> None:
    right: dict[str, Any] = {"setup": two_voices(), "snapshot": "both"}
    with pytest.raises(InputError) as caught:
        sweep(**(right | arguments))
    assert caught.value.field == field


def test_too_many_numbers_are_refused() -> None:
    setup = attrs.evolve(two_voices(), surface=Surface.row(1500, bits=16))
    with pytest.raises(InputError, match="ask for fewer positions"):
        sweep(setup, "both")
    assert sweep(setup, "both", master=50).positions.shape == (1500, 50)


@pytest.mark.parametrize("depth", [float("nan"), float("inf"), 10**400, "1", None, True])
def test_a_depth_is_a_finite_number(depth: Any) -> None:
    with pytest.raises(InputError, match="finite number") as caught:
        Response(Curve(), depth)
    assert caught.value.field == "Response.depth"
