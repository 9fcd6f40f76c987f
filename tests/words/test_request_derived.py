"""Request: what is derived from it."""

from itertools import pairwise
from typing import Any

import attrs
import pytest
from hypothesis import given, settings

from knobpack.errors import InputError
from knobpack.words import (
    Barred,
    Destination,
    Fixed,
    Group,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    members,
)
from tests.words.test_request import BASS, LEAD, PAD, REQUEST, build
from tests.words_strategies import requests

# Names and groups -------------------------------------------------------------------------------


def test_destinations_stand_under_their_full_names_in_order() -> None:
    names = ("Pad/cutoff", "Pad/level", "Bass/cutoff", "Bass/octave", "Lead/level")
    assert tuple(REQUEST.by_full_name) == names
    assert REQUEST.by_full_name["Bass/octave"] is BASS.destinations[1]
    assert REQUEST.voice_of["Bass/octave"] is BASS


def test_groups_may_hold_groups_in_any_order() -> None:
    groups = (
        Group("all", ("high", "low")),
        Group("high", ("Lead", "Pad/cutoff")),
        Group("low", ("Bass/cutoff", "Pad/cutoff")),
    )
    request = build(groups=groups)
    assert request.members["high"] == ("Pad/cutoff", "Lead/level")
    assert request.members["low"] == ("Pad/cutoff", "Bass/cutoff")
    # Each once, in the order of the voices.
    assert request.members["all"] == ("Pad/cutoff", "Bass/cutoff", "Lead/level")
    assert request.members["Pad"] == ("Pad/cutoff", "Pad/level")
    assert request.members["Pad/level"] == ("Pad/level",)
    assert build(groups=groups[::-1]).members == request.members
    assert request.named(["Lead", "low", "Pad/cutoff"]) == (
        *("Pad/cutoff", "Bass/cutoff", "Lead/level"),
    )


@pytest.mark.parametrize(
    ("groups", "circle"),
    [
        ((Group("a", ("a",)),), {"a"}),
        ((Group("a", ("b",)), Group("b", ("Pad", "a"))), {"a", "b"}),
        # What leads to the circle, or is held by it, is no part of it.
        (
            (
                *(Group("in", ("b",)), Group("a", ("b", "out")), Group("b", ("c",))),
                *(Group("c", ("a",)), Group("out", ("Pad",))),
            ),
            {"a", "b", "c"},
        ),
    ],
)
def test_groups_hold_one_another_in_no_circle(groups: Any, circle: set[str]) -> None:
    with pytest.raises(InputError, match="break the circle") as caught:
        build(groups=groups)
    assert caught.value.field == "Request.groups"
    assert isinstance(caught.value.value, tuple)
    assert set(caught.value.value) == circle
    assert len(caught.value.value) == len(circle)


def test_a_long_chain_of_groups_is_followed() -> None:
    # As many as a list may hold, the outermost first: no recursion, no squared work.
    names = [f"g{place}" for place in range(10_000)]
    chain = [Group(name, (inner,)) for name, inner in pairwise(names)]
    request = build(groups=(*chain, Group(names[-1], ("Lead",))))
    assert request.members["g0"] == ("Lead/level",)


def test_what_groups_hold_in_all_has_a_limit(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(members, "MOST_HELD", 6)
    groups = (Group("a", ("Pad", "Lead")), Group("b", ("a",)))
    assert build(groups=groups).members["b"] == ("Pad/cutoff", "Pad/level", "Lead/level")
    with pytest.raises(InputError, match="at most 6 destinations, added up") as caught:
        build(groups=(*groups, Group("c", ("Lead",))))
    assert caught.value.field == "Request.groups"


# Travels ----------------------------------------------------------------------------------------


def test_a_destination_that_says_no_travel_wants_the_full_one() -> None:
    assert REQUEST.wanted("Pad/cutoff") == Travel(0, 127)
    assert REQUEST.wanted("Pad/level") == Travel(0, 63)
    assert build(surface=Surface.row(4, bits=14)).wanted("Pad/cutoff") == Travel(0, 16383)


# Snapshots --------------------------------------------------------------------------------------


def test_snapshots_that_are_given_are_the_ones_played() -> None:
    given_ones = (Snapshot("a", ("Pad",)), Snapshot("b", ("Pad",)), Snapshot("still"))
    assert build(snapshots=given_ones).played == given_ones
    assert build(snapshots=()).played == ()


def test_the_default_snapshots_are_everything_and_each_voice_alone() -> None:
    assert REQUEST.played == (
        Snapshot("everything", ("Pad", "Bass", "Lead")),
        Snapshot("only Pad", ("Pad",)),
        Snapshot("only Bass", ("Bass",)),
        Snapshot("only Lead", ("Lead",)),
    )


def test_a_group_stands_for_the_voices_that_it_takes_in() -> None:
    request = build(groups=(Group("low", ("Bass", "Pad/level")),))
    assert [snapshot.name for snapshot in request.played] == [
        *("everything", "only low", "only Pad", "only Lead"),
    ]
    # Two groups may take a voice in between them.
    both = (Group("low", ("Bass", "Pad/level")), Group("high", ("Pad/cutoff",)))
    assert [snapshot.name for snapshot in build(groups=both).played] == [
        *("everything", "only low", "only high", "only Lead"),
    ]


def test_default_snapshots_that_move_the_same_are_one() -> None:
    # Of Bass only the cutoff may move, so the group moves what the voice alone would move.
    request = build(voices=(BASS, LEAD), groups=(Group("low", ("Bass/cutoff",)),))
    assert [snapshot.name for snapshot in request.played] == ["everything", "only low", "only Lead"]
    assert [each.name for each in build(voices=(LEAD,)).played] == ["everything"]
    whole = (Group("all", ("Pad", "Bass", "Lead")), Group("again", ("all",)))
    assert [each.name for each in build(groups=whole).played] == ["everything"]


def test_a_default_snapshot_fits_the_longest_name() -> None:
    names = ["v" * 119 + "1", "v" * 119 + "2"]
    request = build(voices=tuple(Voice(name, (Destination("level"),)) for name in names))
    assert [each.name for each in request.played] == [
        *("everything", f"only {names[0]}", f"only {names[1]}"),
    ]


def test_what_is_not_movable_is_held_in_every_snapshot() -> None:
    assert REQUEST.moved(Snapshot("s", ("Bass",))) == {"Bass/cutoff"}
    assert REQUEST.moved(REQUEST.played[0]) == {
        *("Pad/cutoff", "Pad/level", "Bass/cutoff", "Lead/level"),
    }
    assert REQUEST.moved(Snapshot("still")) == frozenset()


@settings(max_examples=40)
@given(requests())
def test_default_snapshots_differ_and_cover_what_moves(request: Request) -> None:
    request = attrs.evolve(request, snapshots=None)
    moved = [request.moved(snapshot) for snapshot in request.played]
    assert len(set(moved)) == len(moved)
    assert moved[0] == {full for full, each in request.by_full_name.items() if each.movable}
    assert frozenset().union(*moved[1:]) <= moved[0]
    for group in request.groups:
        alone = request.moved(Snapshot("s", (group.name,)))
        # With what completes a bundle, or what is required together.
        assert any(alone <= each for each in moved)
    for bundle in request.bundles:
        movable = {name for name in bundle.names if request.by_full_name[name].movable}
        assert all(movable <= each or not movable & each for each in moved)


def from_source(name: str, *knobs: str, source: str | None = "Old") -> Voice:
    """A voice with a destination for each of these knobs of its source."""
    inner = (Destination(f"d{at}", source_knob=knob) for at, knob in enumerate(knobs, 1))
    return Voice(name, tuple(inner), source=source)


def names_played(request: Request) -> dict[str, tuple[str, ...]]:
    return {each.name: each.moves for each in request.played}


def test_default_snapshots_take_voices_that_a_bundle_joins_for_one() -> None:
    voices = (from_source("Organ", "S1"), from_source("Lead", "S3"), from_source("Bass", "S1"))
    assert names_played(Request(Surface.row(2), voices)) == {
        "everything": ("Organ", "Lead", "Bass"),
        "only Organ and Bass": ("Organ", "Bass"),
        "only Lead": ("Lead",),
    }
    # What came from another source is another bundle.
    others = (from_source("Organ", "S1"), from_source("Bass", "S1", source="New"))
    assert [*names_played(Request(Surface.row(2), others))] == [
        *("everything", "only Organ", "only Bass"),
    ]


def test_default_snapshots_take_what_is_required_together_for_one() -> None:
    rule = Together(("Pad/level", "Lead"))
    assert [*names_played(build(rules=(rule,)))] == [
        *("everything", "only Pad and Lead", "only Bass"),
    ]
    assert build(rules=(attrs.evolve(rule, weight=9),)).played == REQUEST.played


def test_a_group_takes_in_the_rest_of_a_bundle_that_it_holds_some_of() -> None:
    voices = (from_source("Organ", "S1", "S2"), from_source("Bass", "S1"), from_source("Lead", "S"))
    request = Request(Surface.row(2), voices, groups=(Group("low", ("Bass",)),))
    assert names_played(request) == {
        "everything": ("Organ", "Bass", "Lead"),
        "only low": ("low", "Organ/d1"),
        "only Organ and Bass": ("Organ", "Bass"),
        "only Lead": ("Lead",),
    }


@pytest.mark.parametrize("size", [1, 108, 109, 112, 113, 114, 115, 116, 117, 118, 119, 120])
def test_a_default_snapshot_of_voices_that_count_as_one_has_a_name_that_fits(size: int) -> None:
    first = "v" * size
    named = (first, "Organ", "Bass", "Lead", "Strings")
    request = Request(Surface.row(2), tuple(from_source(name, "S1") for name in named))
    assert [each.moves for each in request.played] == [named]
    apart = attrs.evolve(request, voices=(*request.voices, from_source("Horn", "S2")))
    called = [each.name for each in apart.played]
    assert len(called) == len(set(called)) == 3
    assert called[1].startswith(f"only {first}")
    assert (called[1] == f"only {first}, Organ, Bass and 2 more") == (size <= 96)


def test_default_snapshots_have_names_of_their_own() -> None:
    # A voice may be called as two others are that count as one, and a group as well.
    voices = (
        from_source("Organ", "S1"),
        from_source("Bass", "S1"),
        Voice("Organ and Bass", PAD.destinations),
    )
    assert names_played(Request(Surface.row(2), voices)) == {
        "everything": ("Organ", "Bass", "Organ and Bass"),
        "only Organ and 1 more": ("Organ", "Bass"),
        "only Organ and Bass": ("Organ and Bass",),
    }
    groups = (Group("Organ and 1 more", ("Organ and Bass/level",)),)
    assert [*names_played(Request(Surface.row(2), voices, groups=groups))] == [
        *("everything", "only Organ and 1 more", "only Organ", "only Organ and Bass"),
    ]


# Bundles ----------------------------------------------------------------------------------------


def test_what_one_knob_of_a_source_drove_is_a_bundle() -> None:
    voices = (
        from_source("Organ", "S1", "S2", "S1"),
        from_source("Bass", "S1", "S3"),
        from_source("Strings", "S1", "S1", source=None),
        from_source("Lead", "S1", "S2", source=None),
        Voice("Horn", (Destination("a"), Destination("b"))),
    )
    found = Request(Surface.row(2), voices).bundles
    assert [(each.source, each.knob, each.names) for each in found] == [
        ("Old", "S1", ("Organ/d1", "Organ/d3", "Bass/d1")),
        (None, "S1", ("Strings/d1", "Strings/d2")),
    ]
    assert [str(each) for each in found] == ["bundle of S1 in Old", "bundle of S1 in Strings"]


def placed(name: str, knob: str, place: int | None) -> Destination:
    return Destination(name, source_knob=knob, source_place=place)


def test_what_came_from_one_source_follows_in_its_order() -> None:
    first = (placed("a", "S9", None), placed("b", "S3", 3), placed("c", "S1", None))
    second = (placed("a", "S1", 1), placed("b", "S8", None), placed("c", "S2", 2))
    voices = (Voice("Organ", first, source="Old"), Voice("Bass", second, source="Old"))
    request = Request(Surface.row(2), (*voices, Voice("Lead", first)))
    # By place, what no place is known of last, as it is first named; each by what comes first.
    assert request.sequence == (
        *(("Organ/c", "Bass/c"), ("Bass/c", "Organ/b"), ("Organ/b", "Organ/a")),
        ("Organ/a", "Bass/b"),
        *(("Lead/b", "Lead/a"), ("Lead/a", "Lead/c")),
    )
    assert Request(Surface.row(2), (PAD, BASS)).sequence == ()


# Hidden ones ------------------------------------------------------------------------------------


def hidden(name: str, knob: str | None = None, **changes: Any) -> Destination:
    return Destination(name, priority=5, source_knob=knob, **changes)


def test_what_is_hidden_is_expendable_unless_demanded_or_of_a_bundle_that_is_not() -> None:
    inner = (
        *(hidden("alone"), hidden("must", must_place=True), hidden("kept"), hidden("fixed")),
        *(hidden("pair 1", "S1"), hidden("pair 2", "S1"), hidden("mate", "S2")),
        *(Destination("low", priority=4, source_knob="S2"), hidden("barred"), hidden("rather")),
        *(hidden("held 1", "S3"), hidden("held 2", "S3"), hidden("bound"), Destination("shown")),
    )
    request = Request(
        Surface.row(3),
        (Voice("Organ", inner, source="Old"),),
        rules=(
            Fixed(("Organ/fixed",), "K1"),
            Fixed(("Organ/rather",), "K1", weight=9),
            Barred(("Organ/barred",), ("K1",)),
            Together(("Organ/bound", "Organ/shown")),
        ),
        keep=Layout((Route("Organ/kept", "K2"), Route("Organ/held 2", "K3"))),
    )
    assert request.expendable == {
        *("Organ/alone", "Organ/pair 1", "Organ/pair 2", "Organ/barred", "Organ/rather"),
    }
