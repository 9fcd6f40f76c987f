"""Sources: what each brings, under which names, and what it cannot bring."""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination.combiner import combine
from knobpack.combination.report import Source
from knobpack.errors import InputError, NoLayoutFound
from knobpack.limits import Progress
from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Fixed,
    Group,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    Weights,
)
from knobpack.words.fields import LONGEST_NAME
from tests.combination.cases import BASE as EVENING
from tests.combination.cases import GUEST as HARBOUR
from tests.combination.cases import told
from tests.oracles.combination import complaints

BASE = Setup("Evening set", Surface.row(6), (Voice("Pad", (Destination("level"),), 1),))
LEAD = Voice("Lead", (Destination("level", "gain", 2, steps=5), Destination("pan")), 4)
GUEST = Setup("Quay set", Surface.row(2), (LEAD,), routes=(Route("Lead/level", "K1"),))


def test_the_same_source_twice_and_two_of_one_name() -> None:
    found = combine(BASE, GUEST, GUEST, attrs.evolve(GUEST, name="Evening set"), again=True)
    assert (
        complaints(
            BASE,
            [Source(GUEST), Source(GUEST), Source(attrs.evolve(GUEST, name="Evening set"))],
            found,
        )
        == []
    )
    assert [(voice.name, voice.source) for voice in found.setup.voices[1:]] == [
        ("Lead", "Quay set"),
        ("Lead (Quay set (2))", "Quay set (2)"),
        ("Lead (Evening set (2))", "Evening set (2)"),
    ]
    # A third one brought later is told apart from what came from it before.
    again = combine(found.setup, GUEST, again=True)
    assert again.setup.voices[-1].source == "Quay set (3)"


def test_a_source_is_brought_once_unless_it_is_asked_for_again() -> None:
    with pytest.raises(InputError, match=r"sources\[1\]: 'Quay set' will not do; Lead of it is"):
        combine(BASE, GUEST, GUEST)
    found = combine(BASE, GUEST)
    with pytest.raises(InputError, match=r"sources\[0\]: 'Quay set' will not do"):
        combine(found.setup, GUEST)
    # What has not come yet may follow, and so may another setup that goes by the same name.
    bass = Voice("Bass", (Destination("level"),), 2)
    wide = attrs.evolve(GUEST, voices=(LEAD, bass))
    later = combine(found.setup, Source(wide, ("Bass",)))
    assert later.setup.voices[-1].name == "Bass"
    other = attrs.evolve(GUEST, voices=(Voice("Lead", (Destination("fan"),), 1),), routes=())
    assert combine(found.setup, other).setup.voices[-1].source == "Quay set (2)"


def test_long_names_stay_names() -> None:
    name = "L" * LONGEST_NAME
    guest = Setup(
        "Q" * LONGEST_NAME,
        Surface.row(2),
        (Voice(name, LEAD.destinations),),
        groups=(Group("G" * LONGEST_NAME, (name,)),),
        routes=(Route(f"{name}/level", "K1"),),
        snapshots=(Snapshot("only " + name, (f"{name}/level",)), Snapshot("everything")),
    )
    found = combine(guest, guest, guest, guest, again=True)
    assert len({each.source for each in found.carried}) == len(found.carried) == 3
    voices = [voice.name for voice in found.setup.voices]
    assert len(set(voices)) == 4
    assert all(len(each) <= LONGEST_NAME for each in voices)
    combine(found.setup, found.setup, again=True)


def test_a_destination_comes_over_whole() -> None:
    found = combine(BASE, GUEST)
    level, pan = found.setup.voices[1].destinations
    full = Travel(0, 127)
    asked = attrs.evolve(LEAD.destinations[0], travel=full, source_knob="K1", source_place=1)
    assert level == asked
    assert pan == LEAD.destinations[1]


def test_snapshots_lose_only_what_cannot_be_moved_and_say_so() -> None:
    fixed = Voice("Lead", (Destination("level"), Destination("pan", movable=False)), 1)
    shots = (
        Snapshot("mix", ("Lead/level", "Lead/pan", "Ghost"), 7),
        Snapshot("still", ("Lead/pan",)),
        Snapshot("none"),
    )
    guest = attrs.evolve(GUEST, voices=(fixed,), snapshots=shots)
    found = combine(BASE, guest)
    assert complaints(BASE, [Source(guest)], found) == []
    said = told(found)
    assert "the member Lead/pan of the snapshot 'mix' is not movable: it is held" in said
    assert [(slip.name, slip.uses) for slip in found.slips] == [
        ("Ghost", ("a member of snapshot 'mix'",))
    ]
    assert "the snapshot 'still' does not come: it moves nothing that does" in said
    assert "the snapshot 'none' does not come: it moves nothing that does" in said


def test_a_snapshot_keeps_naming_what_no_knob_drives_yet() -> None:
    base = attrs.evolve(BASE, routes=(Route("Pad/level", "K1"),))
    two = Voice("Bass", (Destination("level"),), 2)
    routes = (*GUEST.routes, Route("Bass/level", "K2"))
    shots = (Snapshot("lead", ("Lead/level", "Lead/pan")),)
    guest = attrs.evolve(GUEST, voices=(LEAD, two), routes=routes, snapshots=shots)
    found = combine(base, guest)
    assert found.setup.snapshots[-1] == shots[0]
    assert "pan" not in str(found.request.played)


def test_a_snapshot_that_may_be_broken_does_not_stand_for_one_that_may_not() -> None:
    base = attrs.evolve(
        BASE, routes=(Route("Pad/level", "K1"),), snapshots=(Snapshot("soft", ("Pad",), 3),)
    )
    found = combine(base, GUEST)
    assert [(each.name, each.break_weight) for each in found.setup.snapshots] == [
        ("soft", 3),
        ("Evening set", None),
        ("Quay set", None),
    ]
    # Of the source's own, one that may be broken does not stand for the one that may not either.
    soft = (Snapshot("soft", ("Lead/level",), 3), Snapshot("hard", ("Lead/level",)))
    both = combine(base, attrs.evolve(GUEST, snapshots=soft))
    assert [each.name for each in both.setup.snapshots] == ["soft", "Evening set", "Quay set"]


def test_a_travel_too_short_for_the_base_is_told() -> None:
    guest = attrs.evolve(
        GUEST, surface=Surface.row(2, bits=14), travels=(KnobTravel("K1", Travel(100, 120)),)
    )
    found = combine(BASE, guest)
    assert complaints(BASE, [Source(guest)], found) == []
    assert not found.carried
    assert "goes over 100 to 120, too short at 7 bits: it would start where it ends" in told(found)


def test_what_must_be_placed_is_asked_for_though_nothing_drove_it() -> None:
    must = attrs.evolve(LEAD, destinations=(Destination("level", must_place=True),))
    found = combine(BASE, attrs.evolve(GUEST, voices=(must,), routes=()))
    assert found.carried[0].old_knob is None
    assert found.carried[0].new_knob is not None


def test_rules_hold_in_the_names_of_the_result_and_idle_ones_are_told() -> None:
    found = combine(BASE, GUEST, rules=[Fixed(("Lead/level",), "K6"), Alone(("Lead/pan",))])
    assert found.carried[0].new_knob == "K6"
    assert "the rule alone(Lead/pan) names what no knob drives" in told(found)


def test_what_the_surface_cannot_store_is_left_the_last_first() -> None:
    base = attrs.evolve(
        BASE, surface=Surface.row(6, snapshots=2), routes=(Route("Pad/level", "K1"),)
    )
    found = combine(base, GUEST)
    assert [each.name for each in found.setup.snapshots] == ["everything", "Evening set"]
    assert "the snapshot 'Quay set' has no room: the surface stores 2 snapshots" in told(found)


def test_voices_without_a_layer_are_left_out_and_counted() -> None:
    both = attrs.evolve(
        GUEST,
        voices=(LEAD, Voice("Bass", (Destination("level", priority=1),), 2)),
        routes=(*GUEST.routes, Route("Bass/level", "K2")),
    )
    found = combine(attrs.evolve(BASE, surface=Surface.row(6, layers=2)), both)
    assert (
        complaints(attrs.evolve(BASE, surface=Surface.row(6, layers=2)), [Source(both)], found)
        == []
    )
    assert [voice.name for voice in found.setup.voices] == ["Pad", "Lead"]
    assert found.came == (1, 2)
    assert found.sentences[:3] == (
        "Essential, and left out: Bass/level.",
        "1 of 2 came; there is no layer for Bass of Quay set.",
        "Of 2 layers none is left: bring fewer voices, or take one away first.",
    )


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"base": "Evening set"}, "combine.base"),
        ({"sources": ["Quay set"]}, "combine.sources[0]"),
        ({"sources": [GUEST, None]}, "combine.sources[1]"),
        ({"name": "a/b"}, "combine.name"),
        ({"unreached": 1}, "combine.unreached"),
        ({"again": 1}, "combine.again"),
        ({"clear": "K1"}, "combine.clear[0]"),
        ({"give_up": "Quay"}, "combine.give_up[0]"),
        ({"insist": "Quay"}, "combine.insist[0]"),
        ({"leave": "Lead/lvel"}, "combine.leave[0]"),
        ({"leave": [3]}, "combine.leave[0]"),
        ({"free": "Ghost"}, "combine.free[0]"),
        ({"free": ["Pad", 3]}, "combine.free[1]"),
        ({"free": 3}, "combine.free"),
        ({"rules": 3}, "combine.rules"),
        ({"rules": [Apart(("Pad",), ("Ghost",))]}, "combine.rules[0].second[0]"),
        ({"weights": 3}, "Request.weights"),
        ({"effort": -1}, "combine.effort"),
        ({"time_limit": "soon"}, "combine.time_limit"),
        ({"progress": 3}, "combine.progress"),
        ({"cancel": True}, "combine.cancel"),
    ],
)
def test_what_cannot_be_asked_is_refused(given: dict[str, object], field: str) -> None:
    asked = {"base": BASE, "sources": [GUEST], **given}
    base, sources = asked.pop("base"), asked.pop("sources")
    with pytest.raises(InputError) as caught:
        combine(base, *sources, **asked)  # type: ignore[arg-type, misc]
    assert caught.value.field == field


def test_a_source_names_voices_of_its_setup_once() -> None:
    assert Source(GUEST, "Lead").picked == ("Lead",)
    slip = combine(BASE, Source(GUEST, ("Led", "Lead")))
    assert (
        slip.sentences[0] == "1 of 2 came; there is no Led (a voice to bring), close to it: Lead."
    )
    with pytest.raises(InputError, match=r"Source.voices\[1\]"):
        Source(GUEST, ("Lead", "Lead"))
    none = combine(BASE, Source(HARBOUR, ()))
    assert none.carried == ()
    assert complaints(BASE, [Source(HARBOUR, ())], none) == []


def test_a_travel_within_one_step_is_told_and_not_carried_over() -> None:
    """Of five steps at 7 bits the first takes 0 to 25 (M2-115-U 5): 3 to 9 never leaves it."""
    guest = attrs.evolve(
        GUEST,
        routes=(Route("Lead/level", "K1"), Route("Lead/pan", "K1")),
        travels=(KnobTravel("K1", Travel(3, 9)),),
    )
    found = combine(BASE, guest)
    assert [each.full_name for each in found.carried] == ["Lead/pan"]
    assert "does nothing: 3 to 9 stays within one step of what it leads to" in told(found)


def test_a_wish_for_a_travel_that_does_nothing_is_told_and_sets_no_knob_to_it() -> None:
    # From 0 to 3 of 16,383 is from 0 to 0 of 127.
    wishes = tuple(Destination(f"d{end}", travel=Travel(0, end)) for end in (0, 3, 256))
    # Of two steps the first takes 0 to 63 (M2-115-U 5).
    wishes = (*wishes, Destination("stepped", steps=2, travel=Travel(0, 8000)))
    guest = Setup("Quay set", Surface.row(1, bits=14), (Voice("Lead", wishes),))
    found = combine(BASE, guest, unreached=True)
    full, short = Travel(0, 127), Travel(0, 2)
    assert [each.new_travel for each in found.carried] == [full, full, short, full]
    assert "0 to 3 wanted by Lead/d3 does nothing: it is too short at 7 bits" in told(found)
    assert "wanted by Lead/d256" not in told(found)


def test_one_name_alone_may_be_freed_and_weights_are_handed_on() -> None:
    found = combine(EVENING, HARBOUR, free="Felt piano", weights=Weights(crowd=77))
    assert {e.full_name for e in found.carried if e.source == "Evening set"} == {
        "Felt piano/level",
        "Felt piano/tone",
    }
    assert found.request.weights.crowd == 77
    assert "Evening set, layer 1, K1: Felt piano/level stays there, 0 to 1023 (full)." in (
        found.sentences
    )


def test_a_combination_can_be_followed_and_cut_short() -> None:
    heard: list[Progress] = []
    found = combine(BASE, GUEST, progress=heard.append, time_limit=60)
    assert found.allocation.proven
    assert [each.tier for each in heard][-1] == "layout"
    for stop in ({"time_limit": 0}, {"cancel": lambda: True}):
        try:
            cut = combine(BASE, GUEST, **stop)
        except NoLayoutFound:
            continue
        assert complaints(BASE, [Source(GUEST)], cut) == []
        assert cut.allocation.proven or cut.allocation.stopped is not None
