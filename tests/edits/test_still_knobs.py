"""What did nothing is not brought to life on another panel: the audit of both sides tells it."""

from __future__ import annotations

import attrs
import pytest

from knobpack import (
    BackInUse,
    Destination,
    Knob,
    KnobTravel,
    OutOfUse,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    audit,
    edit,
    move_home,
    move_to_panel,
)

ORGAN = Voice(
    "Organ", (Destination("level", priority=1), Destination("drive"), Destination("air")), 1
)
"""The air stands still on K2; what can share with it is on K1 and K3."""


def _setup() -> Setup:
    return Setup(
        "Evening set",
        Surface.row(3, bits=10),
        (ORGAN,),
        routes=(Route("Organ/level", "K1"), Route("Organ/air", "K2"), Route("Organ/drive", "K3")),
        travels=(KnobTravel("K2", Travel(512, 512)),),
        snapshots=(Snapshot("all", ("Organ",)),),
    )


def _driven(setup: Setup) -> set[str]:
    return {name for use in audit(setup).by_knob for name in use.driven}


@pytest.mark.parametrize(
    ("panel", "knob"),
    [
        (Surface.row(2), None),  # no knob to spare: by hand, the drive takes K2
        (Surface.row(1), None),
        (Surface.row(3), "K2"),  # its own
        (Surface((Knob("K1", 1, 1), Knob("K3", 1, 2), Knob("last", 1, 3))), "last"),
        (Surface.row(3, reserved=("K2",)), None),
        (Surface.row(3, routes=2), None),
    ],
)
def test_what_did_nothing_does_nothing_there_and_is_at_home_what_it_was(
    panel: Surface, knob: str | None
) -> None:
    setup = _setup()
    away = move_to_panel(setup, panel)
    assert _driven(away.setup) == _driven(setup) == {"Organ/level", "Organ/drive"}
    at = {route.destination: route.knob for route in away.setup.routes}
    assert at.get("Organ/air") == knob
    stood = "K2 held Organ/air at 512 of 1023, and does no more: set that on the voice."
    none = "Organ/air: moved by no knob that works there, so none is looked for."
    assert (stood in away.sentences, none in away.sentences) == (knob is None, knob is None)
    # 512 of 1023 at 7 bits: 64 of 127 (M2-115-U 3).
    assert [e for e in away.setup.travels if e.knob == knob] == (
        [KnobTravel(knob, Travel(64, 64))] if knob else []
    )
    assert "Organ/air" not in {each.destination for each in away.moved}
    assert move_home(away.setup).setup == setup


def test_where_routes_have_travels_of_their_own_it_may_share_and_stands_still() -> None:
    routes = tuple(
        attrs.evolve(route, travel=Travel(512, 512)) if route.knob == "K2" else route
        for route in _setup().routes
    )
    setup = attrs.evolve(
        _setup(),
        surface=attrs.evolve(_setup().surface, travel_on="route"),
        routes=routes,
        travels=(),
    )
    away = move_to_panel(setup, attrs.evolve(Surface.row(1), travel_on="route"))
    assert _driven(away.setup) == _driven(setup)
    assert len(away.setup.routes) == 3
    assert move_home(away.setup).setup == setup


@pytest.mark.parametrize("knobs", [3, 4])
def test_nor_where_its_knob_breaks(knobs: int) -> None:
    """By hand: where a fourth knob is free it stands still there, else no knob drives it."""
    setup = attrs.evolve(_setup(), surface=Surface.row(knobs, bits=10))
    broken = edit(setup, OutOfUse("K2"))
    assert _driven(broken.setup) == _driven(setup)
    at = {route.destination: route.knob for route in broken.setup.routes}
    assert at.get("Organ/air") == (None if knobs == 3 else "K4")
    none = "Organ/air: moved by no knob that works there, so none is looked for."
    assert (none in broken.sentences) == (knobs == 3)
    mended = edit(broken.setup, BackInUse("K2")).setup
    assert {*mended.routes} == {*setup.routes}
    assert attrs.evolve(mended, edits=(), routes=setup.routes) == setup
