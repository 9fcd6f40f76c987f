"""Faulty setups: simulated all the same, and what was passed over is told."""

from __future__ import annotations

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.simulation import change, sweep, worst_changes
from knobpack.words import (
    Destination,
    Group,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.amount import EXAMPLES
from tests.simulation.setups import seeded_setup, two_voices


def test_each_fault_is_taken_as_it_is_told() -> None:
    setup = attrs.evolve(
        two_voices(7),
        groups=(Group("All", ("Rest", "Pad")), Group("Rest", ("All", "Lead/pan", "Gone"))),
        routes=(
            Route("Pad/cutoff", "K1"),
            Route("Pad/cutoff", "K1"),
            Route("Pad/cutoff", "K2"),
            Route("Gone/level", "K1"),
            Route("Pad/level", "K9"),
        ),
        travels=(KnobTravel("K1", Travel(10, 200)), KnobTravel("K9", Travel(0, 1))),
        snapshots=(
            Snapshot("all", ("All", "Lost/voice"), positions=(KnobPosition("K2", 1),)),
            Snapshot(
                "none",
                positions=(KnobPosition("K9", 1), KnobPosition("K1", 10), KnobPosition("K2", 300)),
            ),
        ),
    )
    found = sweep(setup, "all")
    assert found.remarks == (
        "Amiss: K1 is routed to Gone/level, but there is no voice 'Gone'.",
        "Amiss: K1 and K2 both drive Pad/cutoff.",
        "Amiss: the travel of K1 is 10 to 200, beyond the highest position, 127.",
        "Amiss: Pad/level is routed from 'K9', which is no knob of the surface.",
        "Amiss: a travel (0 to 1) is set for 'K9', which is no knob of the surface.",
        "Amiss: snapshot 'all' names what is not there: 'Lost/voice'.",
        "Amiss: group 'Rest' names what is not there: 'Gone'.",
        "Amiss: the route from K1 to Pad/cutoff is given 2 times.",
        "Amiss: snapshot 'all' stores a position (1) of K2, which follows the master in it.",
    )
    assert found.routes == (Route("Pad/cutoff", "K1"), Route("Pad/cutoff", "K2"))
    assert found.follows == ("K1", "K2")
    assert found.asked == ("Pad/cutoff", "Pad/level", "Lead/pan")
    assert found.unreached == ("Pad/level", "Lead/wave", "Lead/pan")
    # K2 has no travel: it has the full one.
    assert found.positions[:2, [0, -1]].tolist() == [[10, 127], [0, 127]]
    assert found.moved == ("Pad/cutoff",)
    jumps = change(setup, "none", "all", 127)
    assert [(jump.knob, jump.from_position, jump.to_position) for jump in jumps] == [
        ("K1", 10, 127),
        ("K2", 127, 127),
    ]
    none = sweep(setup, "none", master=2)
    assert "of 'K9', which is no knob of the surface." in "".join(none.remarks)
    assert any("puts K2 at 300, beyond the highest position, 127" in each for each in none.remarks)
    assert none.positions[:2, 0].tolist() == [10, 127]


def test_what_is_not_movable_moves_with_its_knob_and_that_is_told() -> None:
    inner = tuple(Destination(name, movable=name != "c") for name in "abc")
    setup = Setup(
        "Torn",
        Surface.row(2),
        (Voice("Pad", inner),),
        routes=(Route("Pad/a", "K1"), Route("Pad/b", "K1"), Route("Pad/c", "K1")),
        snapshots=(Snapshot("all", ("Pad",)), Snapshot("one", ("Pad/a",))),
    )
    found = sweep(setup, "all")
    assert found.follows == ("K1",)
    assert found.asked == ("Pad/a", "Pad/b")
    assert "Asked to be held, but moving: Pad/c." in found.sentences
    # One of three is to move: the knob is held, and that one with it.
    torn = sweep(setup, "one")
    assert torn.follows == ()
    assert torn.moved == ()
    assert "Asked to move, but still: Pad/a." in torn.sentences
    # One of two: as many are to be held, so it is held.
    even = attrs.evolve(setup, routes=setup.routes[::2])
    assert sweep(even, "all").follows == ()


@pytest.mark.parametrize("knobs", [0, 1])
def test_an_empty_setup_does_nothing(knobs: int) -> None:
    setup = Setup("Bare", Surface.row(knobs), snapshots=(Snapshot("all", ()), Snapshot("b", ())))
    found = sweep(setup, "all")
    assert found.positions.shape == (knobs, 128)
    assert found.received.shape == (0, 128)
    assert (found.moved, found.held, found.follows) == ((), (), ())
    idle = ["Without a route: K1."] if knobs else []
    count = "1 knob" if knobs else "0 knobs"
    assert list(found.sentences) == [
        f"Snapshot 'all': the master goes from 0 to 127; 0 of {count} follow.",
        *idle,
    ]
    assert change(setup, "all", "b", 5) == ()
    assert worst_changes(setup) == ()


def test_where_no_snapshot_is_stored_everything_moves() -> None:
    setup = attrs.evolve(two_voices(), snapshots=())
    found = sweep(setup, "everything", master=2)
    assert found.moved == sweep(two_voices(), "both", master=2).moved
    assert {jump.share for jump in change(setup, "everything", "everything", 9)} == {0.0}
    assert worst_changes(setup) == ()
    with pytest.raises(InputError, match="name a snapshot of the setup, such as everything"):
        sweep(setup, "both")
    with pytest.raises(InputError, match="such as both, only Pad and only Lead"):
        sweep(two_voices(), "everything")


def test_groups_deep_within_one_another_are_read() -> None:
    deep = 3000
    groups = tuple(Group(f"G{number}", (f"G{number + 1}",)) for number in range(deep))
    setup = attrs.evolve(
        two_voices(),
        groups=(*groups, Group(f"G{deep}", ("Pad",))),
        snapshots=(Snapshot("deep", ("G0",)),),
    )
    assert sweep(setup, "deep", master=2).moved == ("Pad/cutoff", "Pad/level")


def test_no_setup_is_too_odd_to_be_told_about() -> None:
    remarks = 0
    for seed in range(EXAMPLES):
        setup, _ = seeded_setup(seed)
        for snapshot in setup.snapshots:
            found = sweep(setup, snapshot.name, master=3)
            told = found.sentences
            assert all(each.endswith(".") for each in told)
            remarks += len(found.remarks)
            assert set(found.moved) | set(found.held) == {r.destination for r in found.routes}
            assert set(found.moved).isdisjoint(found.held)
    assert remarks > EXAMPLES // 10
