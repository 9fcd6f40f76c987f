"""Snapshot."""

import pytest

from knobpack.errors import InputError
from knobpack.words import KnobPosition, Request, Snapshot, Surface


def test_a_snapshot_may_move_nothing() -> None:
    assert Snapshot("still").moves == ()
    assert Snapshot("still").break_weight is None


def test_the_name_of_a_default_snapshot_fits() -> None:
    assert Snapshot("only " + "v" * 120).name.startswith("only v")
    with pytest.raises(InputError, match="1 to 125 printable characters"):
        Snapshot("x" * 126)


def test_a_snapshot_may_hold_where_knobs_stand() -> None:
    held = Snapshot("Solo", ("Organ",), positions=(KnobPosition("K2", 0), KnobPosition("K1", 96)))
    assert held.positions == (KnobPosition("K2", 0), KnobPosition("K1", 96))
    assert held.stored == {"K2": 0, "K1": 96}
    assert Snapshot("Solo").stored == {}


@pytest.mark.parametrize(
    ("position", "field", "right"),
    [
        (KnobPosition("K3", 1), "knob", "name a knob of the surface"),
        (KnobPosition("k 1", 1), "knob", "close to it: K1"),
        (KnobPosition("K1", 128), "position", "positions run from 0 to 127 at 7 bits"),
    ],
)
def test_a_request_refuses_a_position_that_its_surface_does_not_have(
    position: KnobPosition, field: str, right: str
) -> None:
    still = Snapshot("still", positions=(KnobPosition("K2", 127), position))
    with pytest.raises(InputError, match=right) as caught:
        Request(Surface.row(2), snapshots=(Snapshot("all"), still))
    assert caught.value.field == f"Request.snapshots[1].positions[1].{field}"
