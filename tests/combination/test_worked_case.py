"""The worked case: a base with room, a guest that fits, a later one that must share.

Common practice, no source. The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of
M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import pytest

from knobpack.checker import check
from knobpack.combination.answer import Combination
from knobpack.combination.combine import combine
from knobpack.combination.report import Source
from knobpack.words import KnobTravel, Route, Snapshot, Travel
from tests.combination.cases import BASE, GUEST, LATER
from tests.oracles.combination import complaints

FREE = ("Glass pad", "Low drone", "Reed lead")


@pytest.fixture(scope="module")
def first() -> Combination:
    return combine(BASE, GUEST)


@pytest.fixture(scope="module")
def second(first: Combination) -> Combination:
    return combine(first.setup, LATER, name="Night set", free=FREE)


def test_the_base_is_untouched(first: Combination) -> None:
    setup = first.setup
    assert setup.voices[:1] == BASE.voices
    assert setup.routes[:2] == BASE.routes
    assert setup.travels[:1] == BASE.travels
    assert setup.snapshots[0] == Snapshot("piano", ("Felt piano", *FREE))
    assert setup.surface == BASE.surface
    assert complaints(BASE, [Source(GUEST)], first) == []


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


def test_the_later_guest_comes_to_the_two_knobs_that_stayed_free(first: Combination) -> None:
    later = combine(first.setup, LATER)
    assert later.allocation.proven
    assert later.setup.routes[: len(first.setup.routes)] == first.setup.routes
    assert {each.new_knob for each in later.carried} == {"K7", "K8"}
    # Five whole bundles on two knobs: joined, for want of more.
    assert sum(len(each.bundles) for each in later.allocation.joined) == 5
    assert all(each.ran_out for each in later.allocation.joined)
    assert complaints(first.setup, [Source(LATER)], later) == []


def test_freed_bundles_move_whole_and_make_room(first: Combination, second: Combination) -> None:
    assert second.allocation.proven
    assert all(each.new_knob for each in second.carried)
    assert not second.allocation.parted
    assert second.setup.routes[:2] == BASE.routes
    freed = {route.destination for route in first.setup.routes[2:]}
    assert complaints(first.setup, [Source(LATER)], second, frozenset(freed)) == []


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


def test_both_at_once_ask_for_the_same(first: Combination) -> None:
    once, later = combine(BASE, GUEST, LATER), combine(first.setup, LATER)
    assert once.allocation.proven
    wanted = {e.full_name: e.wanted for e in once.carried if e.source == "Tin roof set"}
    assert wanted == {e.full_name: e.wanted for e in later.carried}


@pytest.mark.parametrize("sources", [(), (GUEST,), (LATER, GUEST), (GUEST, GUEST)])
def test_the_result_passes_the_plain_checker(sources: tuple[object, ...]) -> None:
    found = combine(BASE, *sources, again=True)  # type: ignore[arg-type]
    seen = check(found.request, found.setup.layout)
    assert seen.valid
    assert seen.prices == found.allocation.prices
    # A route put on a knob of the base is noticed.
    wrong = [*found.setup.routes[:-1], Route(found.setup.routes[-1].destination, "K1")]
    if sources:
        layout = found.setup.layout.of({})
        layout = type(layout)(tuple(wrong), found.setup.travels, found.setup.layout.layers)
        assert not check(found.request, layout).valid


def test_some_voices_are_picked() -> None:
    found = combine(BASE, Source(GUEST, ("Low drone",)))
    assert [each.full_name for each in found.carried] == ["Low drone/cutoff", "Low drone/drive"]
    behind = {each.name for each in found.left if each.kind == "voice"}
    assert behind == {"Glass pad", "Reed lead"}
    assert complaints(BASE, [Source(GUEST, ("Low drone",))], found) == []


def test_what_was_not_driven_is_asked_for_on_demand() -> None:
    found = combine(BASE, GUEST, unreached=True)
    told = {each.full_name: each for each in found.carried}
    level = told["Glass pad/level"]
    assert (level.old_knob, level.old_travel, level.wanted) == (None, None, Travel(0, 1023))
    assert level.new_knob is not None
    assert "destination" not in {each.kind for each in found.left}
    assert "Harbour set, layer 1, no knob: Glass pad/level is now on layer 2, " in str(found)
