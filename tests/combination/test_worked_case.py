"""The worked case: a base with room, a guest that fits, a later one that must share.

Common practice, no source. The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of
M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import pytest

from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.words import KnobTravel, Snapshot, Travel
from tests.combination.cases import BASE, GUEST, LATER

FREE = ("Glass pad", "Low drone", "Reed lead")


@pytest.fixture(scope="module")
def first() -> Combination:
    return combine(BASE, GUEST)


@pytest.fixture(scope="module")
def second(first: Combination) -> Combination:
    return combine(first.setup, LATER, name="Night set", free=FREE)


def test_the_guest_comes_to_the_free_knobs_at_new_layers(first: Combination) -> None:
    assert first.allocation.proven
    assert [(e.old_layer, e.new, e.new_layer) for e in first.brought if e.kind == "voice"] == [
        (1, "Glass pad", 2),
        (2, "Low drone", 3),
        (3, "Reed lead", 4),
    ]
    # Four knobs did something there: four come, in their order, and two stay free.
    went = {each.old_knob: each.new_knob for each in first.carried}
    assert went == {"K1": "K3", "K2": "K4", "K3": "K5", "K4": "K6"}
    assert not first.allocation.parted
    assert not first.allocation.joined


def test_half_a_travel_is_half_a_travel_at_ten_bits(first: Combination) -> None:
    told = {each.full_name: each for each in first.carried}
    for name in ("Low drone/cutoff", "Low drone/drive", "Glass pad/send"):
        assert (told[name].old_knob, told[name].old_travel) == ("K2", Travel(0, 64))
        assert told[name].new_travel == Travel(0, 512)
        assert KnobTravel(told[name].new_knob or "", Travel(0, 512)) in first.setup.travels
    assert told["Reed lead/level"].new_travel == Travel(1023, 0)
    assert told["Glass pad/cutoff"].new_travel == Travel(0, 1023)


def test_a_snapshot_for_all_and_one_for_each_alone(first: Combination) -> None:
    guests = ("Glass pad", "Low drone", "Reed lead")
    assert first.setup.snapshots == (
        Snapshot("piano", ("Felt piano", *guests)),  # it moved all there was
        Snapshot("Evening set", ("Felt piano",)),
        Snapshot("Harbour set", guests),
        # K2 did not follow there: one of the three that it drove was named.
        Snapshot("pad", ("Glass pad/cutoff",)),
    )
    brought = {each.old: each.new for each in first.brought if each.kind == "snapshot"}
    assert brought == {"all": "Harbour set", "pad": "pad"}


def test_what_does_not_work_in_the_guest_is_told(first: Combination) -> None:
    dead = "Harbour set: the route of K5 to Glass pad/level does nothing"
    assert [str(each) for each in first.left] == [
        f"{dead}: the travel of its knob starts where it ends",
        "Harbour set: the destination Glass pad/level was driven by no knob that works",
        "Harbour set: the snapshot 'pad' holds Glass pad/send, because its knob did so there",
    ]
    assert first.sentences[0] == "6 of 7 came; there is no Gone/level (the knob K6 leads to it)."


def test_all_grows_once_more_under_its_name(second: Combination) -> None:
    names = [snapshot.name for snapshot in second.setup.snapshots]
    assert names == ["piano", "Evening set", "Harbour set", "pad", "Tin roof set"]
    assert second.setup.snapshots[0].moves == (
        *("Felt piano", "Glass pad", "Low drone", "Reed lead"),
        *("Pulse bass", "Felt piano (Tin roof set)"),
    )
    assert [str(each) for each in second.played] == [
        "Snapshot 'piano' takes in Tin roof set",
        "Snapshot 'Tin roof set' moves nothing but Tin roof set",
    ]


def test_what_was_not_driven_is_asked_for_on_demand() -> None:
    found = combine(BASE, GUEST, unreached=True)
    told = {each.full_name: each for each in found.carried}
    level = told["Glass pad/level"]
    assert (level.old_knob, level.old_travel, level.wanted) == (None, None, Travel(0, 1023))
    assert level.new_knob is not None
    assert "destination" not in {each.kind for each in found.left}
    assert "Harbour set, layer 1, no knob: Glass pad/level is now on layer 2, " in str(found)
