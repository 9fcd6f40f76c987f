"""The worked case: a base with room, a guest that fits, a later one that must share.

Common practice, no source. The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of
M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import pytest

from knobpack.checker import check
from knobpack.combination.combine import combine
from knobpack.combination.report import Combination, Source
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
    assert setup.snapshots[:1] == BASE.snapshots
    assert setup.surface == BASE.surface
    assert complaints(BASE, [Source(GUEST)], first) == []


def test_the_guest_comes_to_the_free_knobs_at_new_layers(first: Combination) -> None:
    assert first.allocation.proven
    assert [(e.old_layer, e.new, e.new_layer) for e in first.brought if e.kind == "voice"] == [
        (1, "Glass pad", 2),
        (2, "Low drone", 3),
        (3, "Reed lead", 4),
    ]
    new = {route.knob for route in first.setup.routes[2:]}
    assert new == {f"K{number}" for number in range(3, 9)}
    assert all(not each.beside for each in first.carried)  # six are wanted, and six are free


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
        Snapshot("piano", ("Felt piano",)),  # the base alone
        Snapshot("everything", ("Felt piano", *guests)),
        Snapshot("only Harbour set", guests),
        Snapshot("pad", ("Glass pad",)),
    )
    left = {(each.kind, each.name): each.why for each in first.left}
    assert left["snapshot", "all"] == "moves the same as 'only Harbour set', which stands for it"


def test_what_does_not_work_in_the_guest_is_told(first: Combination) -> None:
    dead = "Harbour set: the route of K5 to Glass pad/level does nothing"
    assert [str(each) for each in first.left] == [
        f"{dead}: the travel of its knob starts where it ends",
        "Harbour set: the route of K6 to Gone/level leads to nothing that is there",
        "Harbour set: the destination Glass pad/level was driven by no knob that works",
        "Harbour set: the snapshot 'all' moves the same as 'only Harbour set', which stands for it",
    ]


def test_without_room_the_later_guest_is_left_out_and_nothing_moves(first: Combination) -> None:
    full = combine(first.setup, LATER)
    assert full.setup.routes == first.setup.routes
    assert [each.new_knob for each in full.carried] == [None] * 5
    assert full.allocation.proven
    told = {(each.kind, each.name): each.why for each in full.left}
    assert "all that it moves is left out" in told["snapshot", "only Tin roof set"]
    assert complaints(first.setup, [Source(LATER)], full) == []


def test_once_freed_they_share_inside_their_own_source(
    first: Combination, second: Combination
) -> None:
    assert second.allocation.proven
    assert all(each.new_knob for each in second.carried)
    source = {voice.name: voice.source for voice in second.setup.voices}
    on: dict[str, set[str | None]] = {}
    for route in second.setup.routes:
        on.setdefault(route.knob, set()).add(source[route.destination.split("/")[0]])
    assert len(on) == 8
    assert all(len(sources) == 1 for sources in on.values())
    assert second.setup.routes[:2] == BASE.routes
    assert second.setup.snapshots[:4] == first.setup.snapshots
    freed = {route.destination for route in first.setup.routes[2:]}
    assert complaints(first.setup, [Source(LATER)], second, frozenset(freed)) == []
    # All that was freed stays or moves, and the least that must: one knob is enough to make room.
    moved = [e for e in second.carried if e.source == "Evening set" and e.old_knob != e.new_knob]
    assert len(moved) == second.allocation.tiers[3].value == 1


def test_the_later_everything_says_what_it_moves_besides(second: Combination) -> None:
    names = [snapshot.name for snapshot in second.setup.snapshots]
    assert names[4:] == ["everything with Tin roof set", "only Tin roof set"]
    everything = second.setup.snapshots[4]
    assert everything.moves == (
        *("Felt piano", "Glass pad", "Low drone", "Reed lead"),
        *("Pulse bass", "Felt piano (Tin roof set)"),
    )
    said = "holds what is new; 'everything with Tin roof set' moves all"
    assert said in {each.why for each in second.left}


def test_both_at_once_ask_for_the_same(second: Combination) -> None:
    once = combine(BASE, GUEST, LATER)
    assert once.allocation.proven
    assert once.allocation.tiers[:3] == second.allocation.tiers[:3]
    assert {e.full_name: e.wanted for e in once.carried} == {
        e.full_name: e.wanted for e in second.carried
    }


@pytest.mark.parametrize("sources", [(), (GUEST,), (LATER, GUEST), (GUEST, GUEST)])
def test_the_result_passes_the_plain_checker(sources: tuple[object, ...]) -> None:
    found = combine(BASE, *sources)  # type: ignore[arg-type]
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
