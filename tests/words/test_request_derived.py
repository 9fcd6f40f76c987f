"""Request: what is derived from it."""

from itertools import pairwise
from typing import Any

import attrs
import pytest
from hypothesis import given, settings

from knobpack.errors import InputError
from knobpack.words import Destination, Group, Request, Snapshot, Surface, Travel, Voice
from knobpack.words import request as request_module
from tests.words_strategies import requests

PAD = Voice("Pad", (Destination("cutoff"), Destination("level", travel=Travel(0, 63))), layer=2)
BASS = Voice("Bass", (Destination("cutoff"), Destination("octave", movable=False)), layer=2)
LEAD = Voice("Lead", (Destination("level"),))
REQUEST = Request(Surface.row(4, layers=8), (PAD, BASS, LEAD))


def build(**changes: Any) -> Request:
    return attrs.evolve(REQUEST, **changes)


# Names and groups -------------------------------------------------------------------------------


def test_destinations_stand_under_their_full_names_in_order() -> None:
    names = ("Pad/cutoff", "Pad/level", "Bass/cutoff", "Bass/octave", "Lead/level")
    assert tuple(REQUEST.destinations) == names
    assert REQUEST.destinations["Bass/octave"] is BASS.destinations[1]
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
    monkeypatch.setattr(request_module, "MOST_HELD", 6)
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


@settings(max_examples=40, deadline=None)
@given(requests())
def test_default_snapshots_differ_and_cover_what_moves(request: Request) -> None:
    request = attrs.evolve(request, snapshots=None)
    moved = [request.moved(snapshot) for snapshot in request.played]
    assert len(set(moved)) == len(moved)
    assert moved[0] == {full for full, each in request.destinations.items() if each.movable}
    assert frozenset().union(*moved[1:]) <= moved[0]
    for group in request.groups:
        assert request.moved(Snapshot("s", (group.name,))) in moved
