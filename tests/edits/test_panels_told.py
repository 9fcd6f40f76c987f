"""What is told of a setup that is taken to another panel, and what its sheet says."""

from __future__ import annotations

import attrs

from knobpack import move_home, move_to_panel
from knobpack.explanation.what_if import Moved
from knobpack.words import (
    Destination,
    Knob,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.edits.setups import STAGE, one_by_one


def test_what_moves_is_told_from_where_it_was_at_home() -> None:
    voices = tuple(
        Voice(name, (Destination("level", priority=at),), at)
        for at, name in enumerate(("Organ", "Bass", "Lead"), 1)
    )
    home = Setup(
        "Evening set",
        Surface.row(3),
        voices,
        routes=tuple(Route(f"{v.name}/level", f"K{at}") for at, v in enumerate(voices, 1)),
        snapshots=tuple(Snapshot(v.name, (v.name,)) for v in voices),
    )
    panel = Surface((Knob("left", 1, 1), Knob("right", 1, 2)), reserved=("left",))
    away = move_to_panel(home, panel)
    told = str(away)
    out = "no layout that meets every demand leaves out less."
    assert f"Bass/level leaves K2 (here right) and is left out: {out}" in told
    assert "Organ/level goes from K1 (here left) to right" in told
    # Where knobs have the names that they have at home nothing is added to them.
    assert "here" not in str(move_to_panel(home, Surface.row(2)))


def test_knobs_of_another_name_are_told_and_home_is_where_all_was() -> None:
    home = one_by_one(0, 2)
    away = move_to_panel(home, Surface((Knob("Left", 1, 1), Knob("K2", 1, 2)), bits=10))
    assert not away.moved
    assert away.sentences[-1] == "At the same place, under another name: Left for K1."
    assert "back home: all is where it was." in str(move_home(away.setup))


def test_knobs_of_two_panels_are_not_told_as_if_they_were_of_one() -> None:
    found = move_to_panel(one_by_one(0, 3), Surface((Knob("Left", 1, 1),), bits=10))
    before = {each.before for each in found.moved}
    assert before in ({"K2", "K3"}, {"Left", "K2"}, {"Left", "K3"})
    mixed = attrs.evolve(found, moved=(Moved("Voice 1/level", "Left", None), *found.moved))
    told = next(each for each in mixed.sentences if "routes move" in each)
    assert ", from" not in told


def test_a_panel_of_which_knobs_are_reserved_is_told_so() -> None:
    narrow = attrs.evolve(Surface.row(4, bits=7), reserved=("K3", "K4"))
    told = move_to_panel(STAGE, narrow).sentences
    assert any("on 2 of 4 knobs (K3 and K4 are reserved) at 7 bits" in each for each in told)
    alone = move_to_panel(STAGE, Surface.row(1, bits=7)).sentences
    assert any("on 1 knob at 7 bits" in each for each in alone)


def test_a_travel_is_set_or_made_sure_of_on_each_knob_of_another_panel_that_is_in_use() -> None:
    organ = Voice("Organ", (Destination("level"), Destination("drive")), layer=1)
    routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K2"))
    low = (KnobTravel("K2", Travel(0, 511)),)
    at_home = Setup("Evening set", Surface.row(2, bits=10), (organ,), routes=routes, travels=low)
    away = move_to_panel(at_home, Surface.row(3))
    full = KnobTravel("K1", Travel(0, 127))
    assert away.setup.travels == (full, KnobTravel("K2", Travel(0, 63)))
    sure = "K1: make sure of the travel 0 to 127 (full); none was set."
    assert sure in away.sheet.sentences
    assert move_home(away.setup).setup == at_home
    own = attrs.evolve(Surface.row(3), travel_on="route")
    assert move_to_panel(at_home, own).setup.travels == ()
