"""Edits: one thing more or less, everything that names it put right; and what is refused."""

from __future__ import annotations

import random
from collections.abc import Callable

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    VoiceLayer,
    edits,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.reading import read
from tests.oracles.strategies import seeded_request

PAD = Voice("Pad", (Destination("cutoff"), Destination("level", must_place=True)), layer=1)
BASS = Voice("Bass", (Destination("cutoff"),), layer=2)
LEAD = Voice("Lead", (Destination("pan"),))
REQUEST = Request(
    Surface.row(3, favoured=("K2", "K1"), reserved=("K3",), destinations_per_knob=2, routes=3),
    (PAD, BASS, LEAD),
    groups=(
        Group("Low", ("Bass",)),
        Group("Cutoffs", ("Pad/cutoff", "Bass/cutoff")),
        Group("All low", ("Low",)),
    ),
    snapshots=(Snapshot("all", ("Pad", "Bass", "Lead")), Snapshot("low", ("All low",), 3)),
    rules=(
        Apart(("Pad",), ("Low", "Lead")),
        Alone(("All low",)),
        Together(("Cutoffs", "Lead"), 30),
        Fixed(("Bass/cutoff",), "K3"),
        Barred(("Lead", "Pad/level"), ("K2", "K3"), 9),
        Barred(("Bass",), ("K2",)),
    ),
    keep=Layout(
        (Route("Bass/cutoff", "K3"),), (KnobTravel("K3", Travel(0, 9)),), (VoiceLayer("Bass", 2),)
    ),
    previous=Layout.of({"K1": ("Pad/cutoff",), "K2": ("Bass/cutoff",)}),
)


def refused(edit: Callable[[], object], field: str, right: str) -> None:
    """Check that an edit is refused, and how."""
    with pytest.raises(InputError) as caught:
        edit()
    assert caught.value.field == field
    assert right in caught.value.right


# Knobs ------------------------------------------------------------------------------------------


def test_more_knobs_are_in_a_row_of_their_own_under_names_that_are_free() -> None:
    bare = Request(Surface((Knob("new 1", 2, 5), Knob("new 3", 7))), (PAD, BASS, LEAD))
    wide = edits.with_knobs(bare, 3)
    added = wide.surface.knobs[2:]
    assert added == (Knob("new 2", 8, 1), Knob("new 4", 8, 2), Knob("new 5", 8, 3))
    assert attrs.evolve(wide, surface=bare.surface) == bare
    assert edits.with_knobs(REQUEST).surface.knob_names == ("K1", "K2", "K3", "new 1")
    assert edits.with_knobs(REQUEST, 0) == REQUEST
    assert edits.with_knobs(Request(Surface(()), ()), 2).surface.knob_names == ("new 1", "new 2")


@pytest.fixture
def widest() -> Request:
    return Request(Surface((Knob("K1", 1), Knob("K2", 10_000))), (PAD,))


def test_more_knobs_than_a_surface_can_have_are_refused(widest: Request) -> None:
    right = "at most 10000 knobs and rows"
    refused(lambda: edits.with_knobs(REQUEST, 9_998), "with_knobs.more", right)
    refused(lambda: edits.with_knobs(widest), "with_knobs.more", right)
    assert len(edits.with_knobs(REQUEST, 9_997).surface.knobs) == 10_000
    for wrong in (-1, True, 1.0, "1"):
        refused(lambda w=wrong: edits.with_knobs(REQUEST, w), "with_knobs.more", "0 or more")  # type: ignore[misc]


def test_without_a_knob_nothing_names_it() -> None:
    less = edits.without_knob(REQUEST, "K3")
    surface = less.surface
    assert (surface.knob_names, surface.reserved, surface.favoured) == (
        ("K1", "K2"),
        (),
        ("K2", "K1"),
    )
    assert less.keep == Layout(layers=REQUEST.keep.layers)
    barred = Barred(("Lead", "Pad/level"), ("K2",), 9)
    assert less.rules == (*REQUEST.rules[:3], barred, REQUEST.rules[5])
    gone = edits.without_knob(REQUEST, "K2")
    assert gone.surface.favoured == ("K1",)
    assert gone.rules == (*REQUEST.rules[:4], Barred(("Lead", "Pad/level"), ("K3",), 9))
    assert (gone.keep, gone.previous) == (REQUEST.keep, REQUEST.previous)
    refused(
        lambda: edits.without_knob(REQUEST, "K9"), "without_knob.knob", "name a knob of the surface"
    )


# Rules and snapshots ----------------------------------------------------------------------------


def test_a_rule_more_and_a_rule_less() -> None:
    rule = Alone(("Lead",), 4)
    more = edits.with_rule(REQUEST, rule)
    assert more.rules == (*REQUEST.rules, rule)
    twice = edits.with_rule(more, rule)
    assert edits.without_rule(twice, rule) == REQUEST
    other = attrs.evolve(rule, weight=5)  # of the same names, and another rule
    refused(
        lambda: edits.without_rule(more, other), "without_rule.rule", "give a rule of the request"
    )


def test_a_snapshot_more_and_a_snapshot_less() -> None:
    lead = Snapshot("lead", ("Lead",))
    more = edits.with_snapshot(REQUEST, lead)
    assert more.snapshots == (*REQUEST.played, lead)
    assert edits.without_snapshot(more, "lead") == REQUEST
    by_default = attrs.evolve(REQUEST, snapshots=None)
    names = [each.name for each in by_default.played]
    asked = edits.with_snapshot(by_default, lead).snapshots
    assert [each.name for each in asked or ()] == [*names, "lead"]
    fewer = edits.without_snapshot(by_default, "everything").snapshots
    assert [each.name for each in fewer or ()] == names[1:]
    assert edits.without_snapshot(edits.without_snapshot(REQUEST, "all"), "low").snapshots == ()
    right = "name a snapshot of the request"
    refused(lambda: edits.without_snapshot(REQUEST, "gone"), "without_snapshot.name", right)
    again = REQUEST.played[0]
    field = "Request.snapshots[2].name"
    refused(lambda: edits.with_snapshot(REQUEST, again), field, "twice")


# Voices -----------------------------------------------------------------------------------------


def test_a_voice_more_moves_in_the_snapshots_that_are_named() -> None:
    new = Voice("New", (Destination("drive"),))
    more = edits.with_voice(REQUEST, new, ("low",))
    assert more.voices == (*REQUEST.voices, new)
    assert [each.moves for each in more.played] == [
        ("Pad", "Bass", "Lead"),
        ("All low", "New"),
    ]
    still = edits.with_voice(REQUEST, new)
    assert still.snapshots == REQUEST.snapshots
    by_default = attrs.evolve(REQUEST, snapshots=None)
    assert edits.with_voice(by_default, new).snapshots is None
    asked = edits.with_voice(by_default, new, ("everything",)).snapshots
    assert asked is not None
    assert asked[0].moves == (*by_default.played[0].moves, "New")
    right = "name snapshots of the request"
    refused(lambda: edits.with_voice(REQUEST, new, ("gone",)), "moves_in", right)
    refused(lambda: edits.with_voice(REQUEST, PAD), "Request.voices[3].name", "twice")


def test_without_a_voice_nothing_names_it() -> None:
    less = edits.without_voice(REQUEST, "Bass")
    assert less.voices == (PAD, LEAD)
    # Low held nothing else, and All low nothing but Low.
    assert less.groups == (Group("Cutoffs", ("Pad/cutoff",)),)
    assert less.snapshots == (Snapshot("all", ("Pad", "Lead")), Snapshot("low", (), 3))
    assert less.rules == (
        Apart(("Pad",), ("Lead",)),
        Together(("Cutoffs", "Lead"), 30),
        Barred(("Lead", "Pad/level"), ("K2", "K3"), 9),
    )
    assert less.keep == Layout(travels=REQUEST.keep.travels)
    assert edits.without_voice(REQUEST, "Lead").rules[0] == Apart(("Pad",), ("Low",))
    refused(
        lambda: edits.without_voice(REQUEST, "Low"),
        "without_voice.name",
        "name a voice of the request",
    )


def test_some_destinations_alone_leave_every_voice_and_the_snapshots_of_all() -> None:
    less = edits.only(REQUEST, ("Pad/level", "Lead/pan"))
    assert tuple(less.by_full_name) == ("Pad/level", "Lead/pan")
    assert [voice.name for voice in less.voices] == ["Pad", "Bass", "Lead"]
    assert less.snapshots == REQUEST.snapshots
    assert less.keep.routes == ()
    assert less.groups == (Group("Low", ("Bass",)), Group("All low", ("Low",)))
    by_default = attrs.evolve(REQUEST, snapshots=None, groups=(), rules=())
    few = edits.only(by_default, ("Pad/level",))
    assert [each.name for each in few.played] == [each.name for each in by_default.played]
    assert edits.only(REQUEST, REQUEST.by_full_name) == REQUEST
    assert edits.only(REQUEST, ()).by_full_name == {}


def test_what_must_be_placed() -> None:
    def musts(request: Request) -> list[str]:
        return [name for name, inner in request.by_full_name.items() if inner.must_place]

    assert musts(edits.placed(REQUEST)) == list(REQUEST.by_full_name)
    assert musts(edits.placed(REQUEST, ("Lead/pan",))) == ["Pad/level", "Lead/pan"]
    assert edits.placed(REQUEST, ()) == REQUEST


# Any request ------------------------------------------------------------------------------------


def test_edits_leave_all_else_as_it_is() -> None:
    """What is left of a request reads the same, bit by bit, as it did before."""
    draw = random.Random(0)  # noqa: S311 (no secret)
    for seed in range(EXAMPLES // 2):
        request = seeded_request(seed)
        names = list(request.by_full_name)
        stay = draw.sample(names, draw.randint(0, len(names)))
        less = edits.only(request, stay)
        was, now = read(request), read(less)
        assert list(now.names) == [name for name in names if name in stay]

        def left(mask: int, names: list[str] = names, stay: list[str] = stay) -> list[str]:
            return [n for at, n in enumerate(names) if mask >> at & 1 and n in stay]

        def told(mask: int, names: tuple[str, ...] = now.names) -> list[str]:
            return [name for at, name in enumerate(names) if mask >> at & 1]

        assert [told(mask) for mask in now.firm] == [left(mask) for mask in was.firm]
        assert [(told(m), w) for m, w in now.soft] == [(left(m), w) for m, w in was.soft]
        assert [told(mask) for mask in now.kept] == [left(mask) for mask in was.kept]
        assert [told(m) for m in now.groups if m] == [left(m) for m in was.groups if left(m)]
        rules = [
            (type(each.rule), each.rule.weight, left(each.first), left(each.second))
            for each in was.rules
            if left(each.first) and (left(each.second) or not isinstance(each.rule, Apart))
        ]
        assert [
            (type(each.rule), each.rule.weight, told(each.first), told(each.second))
            for each in now.rules
            if told(each.first) and (told(each.second) or not isinstance(each.rule, Apart))
        ] == rules
        assert (less.surface, less.weights, less.previous) == (
            request.surface,
            request.weights,
            request.previous,
        )


def test_without_any_voice_or_knob_a_request_still_stands() -> None:
    for seed in range(EXAMPLES // 2):
        request = seeded_request(seed)
        for voice in request.voices:
            less = edits.without_voice(request, voice.name)
            assert set(less.by_full_name) == set(request.by_full_name) - set(
                request.members[voice.name]
            )
            assert not any(voice.name in group.members for group in less.groups)
        for knob in request.surface.knob_names:
            small = edits.without_knob(request, knob)
            assert knob not in small.surface.knob_names
            assert tuple(small.by_full_name) == tuple(request.by_full_name)
            assert len(small.rules) >= len(request.rules) - 3
            assert edits.with_knobs(small, 1).surface.knob_names[:-1] == small.surface.knob_names


def test_what_names_nothing_is_refused_with_what_comes_close() -> None:
    first = next(iter(REQUEST.by_full_name))
    for call in (edits.only, edits.placed):
        with pytest.raises(InputError, match=f"close to it: {first}") as caught:
            call(REQUEST, [first, first[:-1]])
        assert caught.value.field == f"{call.__name__}.destinations[1]"
    with pytest.raises(InputError, match="close to it: K1"):
        edits.without_knob(REQUEST, "k1")
    with pytest.raises(InputError, match=f"close to it: {REQUEST.voices[0].name}"):
        edits.without_voice(REQUEST, REQUEST.voices[0].name.upper())
