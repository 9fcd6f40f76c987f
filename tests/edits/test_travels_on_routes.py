"""Setups whose travels are set on routes: combined, edited, taken to other panels and back.

That many instruments set them so is common practice, no source.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.combination.combiner import combine
from knobpack.combination.taken_away import without_source
from knobpack.edits.editor import edit
from knobpack.edits.other_panel import move_to_panel
from knobpack.setups.stored_positions import Origin, carried
from knobpack.sheets import patch_sheet
from knobpack.words import (
    Destination,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.setup_edits import BackInUse, OutOfUse, OwnKnob, Swap
from knobpack.words.surface import TravelOn
from tests.oracles.replay import replay
from tests.test_travel_on_route import BACK, HALF, ONE_OF_EACH

STRINGS = Setup(
    "Strings",
    Surface.row(2, bits=10),
    (Voice("strings", (Destination("cutoff"), Destination("level")), 1),),
    routes=(Route("strings/cutoff", "K1"), Route("strings/level", "K2")),
    travels=(KnobTravel("K1", Travel(0, 512)), KnobTravel("K2", Travel(1023, 0))),
    snapshots=(Snapshot("all strings", ("strings",)),),
)
BASE = attrs.evolve(ONE_OF_EACH, surface=Surface.row(3, travel_on="route"))


def test_what_comes_to_such_a_panel_goes_over_its_own_travel_rescaled() -> None:
    found = combine(BASE, STRINGS)
    assert found.setup.travels == ()
    assert set(found.setup.routes) == {
        *BASE.routes,
        Route("strings/cutoff", "K2", HALF),
        Route("strings/level", "K3", BACK),
    }
    assert all(each.new_travel == each.wanted for each in found.carried)
    assert not [f for f in audit(found.setup).findings if f.severity == causes.WRONG]
    assert replay(BASE, patch_sheet(BASE, found.setup).steps).routes == found.setup.routes
    assert without_source(found.setup, "Strings") == BASE


def test_where_all_must_share_nothing_is_missed() -> None:
    narrow = attrs.evolve(BASE, surface=Surface.row(2, travel_on="route"))
    found = combine(narrow, STRINGS)
    knobs = {route.destination: route for route in found.setup.routes}
    assert knobs["strings/cutoff"].travel == HALF
    assert knobs["strings/level"].travel == BACK
    assert sum(each.travel for each in found.allocation.prices.knobs) == 0


def test_what_comes_from_such_a_panel_brings_the_travel_of_each_route() -> None:
    there = Setup("There", Surface.row(2, bits=10))
    found = combine(there, BASE)
    wanted = {each.full_name: each.wanted for each in found.carried}
    # 64 of 127 is 512 of 1023 (M2-115-U 3.3).
    assert wanted == {"organ/drive": Travel(0, 512), "organ/level": Travel(1023, 0)}
    still = (attrs.evolve(BASE.routes[0], travel=Travel(7, 7)), BASE.routes[1])
    left = combine(there, attrs.evolve(BASE, routes=still)).left
    assert "does nothing: its travel starts where it ends" in [each.why for each in left]


def test_an_edit_leaves_each_its_own_travel() -> None:
    found = edit(BASE, Swap("K1", "K2")).setup
    assert set(found.routes) == {
        Route("organ/drive", "K2", HALF),
        Route("organ/level", "K2", BACK),
    }
    parted = edit(BASE, OwnKnob(("organ/level",))).setup
    assert {route.travel for route in parted.routes} == {HALF, BACK}
    assert len({route.knob for route in parted.routes}) == 2
    assert parted.travels == ()
    broken = edit(BASE, OutOfUse("K1")).setup
    assert {route.travel for route in broken.routes} == {HALF, BACK}
    assert "K1" not in {route.knob for route in broken.routes}
    assert attrs.evolve(edit(broken, BackInUse("K1")).setup, edits=()) == BASE


@pytest.mark.parametrize("bits", [7, 10])
@pytest.mark.parametrize("travel_on", ["knob", "route"])
def test_a_setup_goes_to_another_panel_and_back(bits: int, travel_on: TravelOn) -> None:
    other = Surface.row(2, bits=bits, travel_on=travel_on)
    for home in (BASE, attrs.evolve(STRINGS, surface=Surface.row(4, bits=10))):
        there = move_to_panel(home, other).setup
        assert (there.travels == ()) == (travel_on == "route")
        assert {route.travel is None for route in there.routes} == {travel_on == "knob"}
        assert not [f for f in audit(there).findings if f.severity == causes.WRONG]
        back = move_to_panel(there, home.surface).setup
        assert attrs.evolve(back, home=None) == home
    if travel_on == "route":
        there = move_to_panel(BASE, other).setup
        assert Travel(2**bits - 1, 0) in {route.travel for route in there.routes}


def test_between_the_two_sorts_it_is_the_destination_that_stays_where_it_stood() -> None:
    held = Snapshot("held", (), None, (KnobPosition("K1", 64),))
    there = attrs.evolve(BASE, snapshots=(held,), surface=Surface.row(2, travel_on="route"))
    on_knobs = Setup(
        "Other",
        Surface.row(2, bits=10),
        there.voices,
        routes=(Route("organ/drive", "K2"), Route("organ/level", "K1")),
        snapshots=(Snapshot("held"),),
    )
    names = {name: name for name in ("organ/drive", "organ/level")}
    origin = Origin(there, names, {"held": "held"})
    # At 64 of 127 drive is at 32 of its 64, and level at 127 - 64 = 63: of 1023 256 and 504.
    forth = carried(on_knobs, [origin]).snapshots[0]
    assert forth.stored == {"K2": 256, "K1": 504}
    alone = attrs.evolve(there, routes=there.routes[:1], snapshots=(Snapshot("held"),))
    back = Origin(attrs.evolve(on_knobs, snapshots=(forth,)), names, {"held": "held"})
    # 256 of 1023 is 32 of 127, half of the travel: 32 · 127 / 64 = 63.5, a half up.
    assert carried(alone, [back]).snapshots[0].stored == {"K1": 64}
    # At 90 of 127 drive, which goes no further than 64, cannot stand.
    far = (Snapshot("held", (), None, (KnobPosition("K2", 720),)),)
    beyond = Origin(attrs.evolve(on_knobs, snapshots=far), names, {"held": "held"})
    assert carried(alone, [beyond]).snapshots[0].stored == {}
    # Between two of one sort the knob itself stays where it stood, scaled.
    fine = attrs.evolve(there, surface=Surface.row(2, bits=10, travel_on="route"))
    assert carried(fine, [origin]).snapshots[0].stored == {"K1": 512}
