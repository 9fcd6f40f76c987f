"""Snapshots of the result: all grows under its name, everything can be played alone (practice)."""

from __future__ import annotations

import attrs

from knobpack.allocation import Following
from knobpack.auditing.audit import audit
from knobpack.combination.combiner import combine
from knobpack.combination.report import GROWN, Source
from knobpack.present.combination_text import combination_text
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
from tests.combination.full_panels import setup
from tests.oracles.combination import complaints

BASE = setup("Evening set", 8, "Piano/level", "Harp/level")
BRASS = setup("Brass set", 2, "Brass/level", "Brass/tone")
ALL = Snapshot("all", ("Piano", "Harp"))


def names(found: Setup) -> list[str]:
    return [each.name for each in found.snapshots]


def moves(found: Setup, name: str) -> tuple[str, ...]:
    return next(each.moves for each in found.snapshots if each.name == name)


def test_all_takes_in_what_comes_and_what_plays_the_base_alone_is_enough() -> None:
    base = attrs.evolve(BASE, snapshots=(Snapshot("piano", ("Piano",)), ALL))
    found = combine(base, BRASS).setup
    assert names(found) == ["piano", "all", "Brass set"]
    assert moves(found, "all") == ("Piano", "Harp", "Brass")
    assert moves(found, "piano") == ("Piano",)


def test_where_only_all_is_there_the_base_gets_one_of_its_own() -> None:
    found = combine(attrs.evolve(BASE, snapshots=(ALL,)), BRASS).setup
    assert names(found) == ["all", "Evening set", "Brass set"]
    assert moves(found, "Evening set") == ("Piano", "Harp")


def test_all_goes_on_holding_what_it_held() -> None:
    # The harp is turned by hand, and so is the tone of the brass.
    base = attrs.evolve(BASE, snapshots=(Snapshot("all", ("Piano",)),))
    brass = attrs.evolve(BRASS, snapshots=(Snapshot("all", ("Brass/level",)),))
    found = combine(base, brass)
    assert moves(found.setup, "all") == ("Piano", "Brass/level")
    assert moves(found.setup, "Brass set") == ("Brass/level",)
    assert moves(found.setup, "Evening set") == ("Piano",)
    by_hand = {use.carries for use in audit(found.setup).by_knob if use.by_hand}
    assert by_hand == {("Harp/level",), ("Brass/tone",)}


def test_where_none_is_the_widest_one_is_added_and_said() -> None:
    shots = (Snapshot("piano", ("Piano",)), Snapshot("harp", ("Harp",)))
    found = combine(attrs.evolve(BASE, snapshots=shots), BRASS)
    assert names(found.setup) == ["piano", "harp", "everything", "Brass set"]
    assert "No one snapshot of Evening set moves all that its others move: 'everything' is" in str(
        found
    )
    twice = (ALL, Snapshot("again", ("Piano", "Harp")))
    found = combine(attrs.evolve(BASE, snapshots=twice), BRASS)
    assert names(found.setup) == ["all", "again", "everything", "Brass set"]


def test_what_a_source_calls_all_is_its_own_snapshot_and_others_follow() -> None:
    brass = attrs.evolve(
        BRASS, snapshots=(Snapshot("tone", ("Brass/tone",)), Snapshot("all", ("Brass",)))
    )
    found = combine(attrs.evolve(BASE, snapshots=(ALL,)), brass)
    assert names(found.setup) == ["all", "Evening set", "Brass set", "tone"]
    assert {e.old: e.new for e in found.brought if e.kind == "snapshot"} == {
        "all": "Brass set",
        "tone": "tone",
    }


def test_a_source_keeps_the_name_of_its_own_snapshot_where_it_is_free() -> None:
    def played(*base: Snapshot, sources: tuple[Setup, ...] = ()) -> list[str]:
        found = combine(attrs.evolve(BASE, snapshots=base), *(sources or (blow,)))
        assert complaints(found.wanted.base, found.wanted.sources, found) == []
        return names(found.setup)

    blow = attrs.evolve(BRASS, snapshots=(Snapshot("blow", ("Brass",)),))
    assert played(ALL) == ["all", "Evening set", "blow"]
    assert played(Snapshot("blow", ALL.moves)) == ["blow", "Evening set", "Brass set"]
    # Of two that bring one name the first keeps it.
    flute = setup("Flute set", 1, "Flute/level")
    flute = attrs.evolve(flute, snapshots=(Snapshot("blow", ("Flute",)),))
    assert played(ALL, sources=(blow, flute)) == ["all", "Evening set", "blow", "Flute set"]
    # What moves no more than one source is not called all, whatever the base's is called.
    every = attrs.evolve(BRASS, snapshots=(Snapshot("All", ("Brass",)),))
    assert played(Snapshot("band", ALL.moves), sources=(every,)) == [
        *("band", "Evening set", "Brass set")
    ]


def test_a_name_that_is_taken_is_left_to_the_base() -> None:
    base = attrs.evolve(BASE, snapshots=(ALL, Snapshot("Brass set", ("Piano",))))
    found = combine(base, BRASS).setup
    assert names(found) == ["all", "Brass set", "only Brass set"]


def test_slots_run_out_in_order() -> None:
    shots = (Snapshot("tone", ("Brass/tone",)), Snapshot("blow", ("Brass",)))
    brass = attrs.evolve(BRASS, snapshots=shots)
    flute = setup("Flute set", 1, "Flute/level")
    told = {}
    for slots in range(2, 7):
        base = attrs.evolve(BASE, surface=Surface.row(8, snapshots=slots), snapshots=(ALL,))
        found = combine(base, brass, flute)
        assert complaints(base, [Source(brass), Source(flute)], found) == []
        told[slots] = names(found.setup)
    every = ["all", "Evening set", "blow", "Flute set", "tone"]
    assert told == {slots: every[:slots] for slots in range(2, 7)}


def test_a_late_source_needs_no_second_snapshot_of_the_base() -> None:
    first = combine(attrs.evolve(BASE, snapshots=(ALL,)), BRASS).setup
    later = combine(first, setup("Flute set", 1, "Flute/level")).setup
    assert names(later) == ["all", "Evening set", "Brass set", "Flute set"]
    assert moves(later, "all") == ("Piano", "Harp", "Brass", "Flute")


def test_what_adds_nothing_is_not_added() -> None:
    # Nothing of the base moves: all is what the source moves, and one snapshot says so.
    still = attrs.evolve(BASE, routes=())
    assert names(combine(still, BRASS).setup) == ["everything"]
    # No knob is free: what the source alone would move is on none.
    full = attrs.evolve(BASE, surface=Surface.row(2), snapshots=(ALL,))
    found = combine(full, BRASS, insist="Evening set")
    assert names(found.setup) == ["all"]
    assert len(found.request.played) > 1
    assert not any(each.kind == "snapshot" for each in found.left)  # nobody had it
    assert found.following == (Following("all", ("K1", "K2")),)
    assert found.without_knob == ("Brass/level", "Brass/tone")
    assert audit(found.setup).clean


def test_stored_positions_and_labels_come_along() -> None:
    brass = attrs.evolve(
        BRASS,
        surface=Surface.row(2),
        snapshots=(
            Snapshot("all", ("Brass",)),
            Snapshot("level", ("Brass/level",), positions=(KnobPosition("K2", 64),)),
        ),
    )
    base = attrs.evolve(BASE, surface=Surface.row(8, bits=10), snapshots=(ALL,))
    found = combine(base, brass).setup
    knob = next(route.knob for route in found.routes if route.destination == "Brass/tone")
    level = next(each for each in found.snapshots if each.name == "level")
    # 64 of 127 is 512 of 1023 (M2-115-U 1.0.2, 3.3.1).
    assert level.stored == {knob: 512}


def test_a_bundle_moves_as_its_knob_did() -> None:
    # Three on one knob, of which a snapshot names one: there the knob did not follow.
    voice = Voice("Brass", tuple(Destination(each) for each in ("level", "tone", "fan")), 1)
    routes = tuple(Route(f"Brass/{each}", "K1") for each in ("level", "tone", "fan"))
    shots = (Snapshot("all", ("Brass/level", "Brass/tone")), Snapshot("one", ("Brass/fan",)))
    torn = Setup("Brass set", Surface.row(1), (voice,), routes=routes, snapshots=shots)
    found = combine(attrs.evolve(BASE, snapshots=(ALL,)), torn)
    assert found.allocation.parted == ()
    assert moves(found.setup, "Brass set") == ("Brass",)
    assert "the snapshot 'all' moves Brass/fan too, because its knob did so there" in str(found)
    assert "the snapshot 'one' does not come: it moves nothing that does" in str(found)
    assert audit(found.setup).clean


def stood(found: Setup) -> dict[str, dict[str, int]]:
    return {each.name: each.stored for each in found.snapshots}


def test_a_knob_stands_where_it_always_stood_when_it_was_held() -> None:
    # K1 follows in all, and stands at 100 wherever the base holds it.
    swell = Snapshot("swell", ("Harp",), positions=(KnobPosition("K1", 100),))
    hush = Snapshot("hush", positions=(KnobPosition("K1", 100), KnobPosition("K2", 7)))
    base = attrs.evolve(BASE, snapshots=(ALL, swell, hush))
    found = stood(combine(base, BRASS).setup)
    assert found["Brass set"] == {"K1": 100, "K2": 7}
    assert (found["swell"], found["hush"]) == (swell.stored, hush.stored)
    # Where it stood at two places, or at none that is known, nothing is made up.
    for other in (attrs.evolve(swell, positions=(KnobPosition("K1", 9),)), Snapshot("still")):
        odd = attrs.evolve(base, snapshots=(ALL, other, hush))
        assert "K1" not in stood(combine(odd, BRASS).setup)["Brass set"]
    # So it is with what a source held, in the snapshots of others.
    shots = (Snapshot("blow", ("Brass",)), Snapshot("lev", ("Brass/level",), None, at_k2(64)))
    brass = attrs.evolve(BRASS, snapshots=shots)
    found = stood(combine(base, brass).setup)
    assert found["swell"] == {"K1": 100, "K4": 64}
    assert found["lev"] == {"K1": 100, "K2": 7, "K4": 64}


def test_what_plays_the_base_alone_stands_in_for_all_that_played_it() -> None:
    held = attrs.evolve(BASE, snapshots=(Snapshot("all", ("Piano",), positions=at_k2(30)),))
    found = stood(combine(held, BRASS).setup)
    assert found == {"all": {"K2": 30}, "Evening set": {"K2": 30}, "Brass set": {"K2": 30}}


def at_k2(position: int) -> tuple[KnobPosition, ...]:
    return (KnobPosition("K2", position),)


def test_nothing_is_said_of_what_does_not_come() -> None:
    full = attrs.evolve(BASE, surface=Surface.row(2), snapshots=(ALL,))
    found = combine(full, BRASS, insist="Evening set")
    assert found.came == (0, 2)
    assert found.played == ()
    assert "no better layout" not in str(found)
    assert "takes in" not in str(found)
    # Of two sources of which one comes, that one is named.
    room = attrs.evolve(full, surface=Surface.row(3, layers=3))
    horn = setup("Horn set", 1, "Horn/level")
    both = combine(room, horn, BRASS)
    assert [str(each) for each in both.played if each.what == GROWN] == [
        "Snapshot 'all' takes in Horn set"
    ]


def test_a_snapshot_that_does_not_come_and_what_no_knob_moved_are_told_in_the_short_answer() -> (
    None
):
    piano = Voice("Piano", (Destination("level", priority=1),), 1)
    base = Setup(
        "Club set",
        Surface.row(2, destinations_per_knob=1),
        (piano,),
        routes=(Route("Piano/level", "K1"),),
        snapshots=(Snapshot("All", ("Piano",)),),
    )
    inner = (
        Destination("level", priority=1),
        Destination("cutoff", priority=4),
        Destination("rotor"),
        Destination("send"),
    )
    source = Setup(
        "Synth set",
        Surface.row(3),
        (Voice("Lead", inner, 1),),
        routes=tuple(Route(f"Lead/{each.name}", f"K{at}") for at, each in enumerate(inner[:3], 1)),
        travels=(KnobTravel("K3", Travel(64, 64)),),
        snapshots=(Snapshot("Solo", ("Lead",)), Snapshot("Filter", ("Lead/cutoff",))),
    )
    found = combine(base, source)
    assert found.without_knob == ("Lead/cutoff",)
    gone = "Synth set: the snapshot 'Filter' does not come: all that it moves is left out"
    idle = "Lead/rotor and Lead/send: moved by no knob that works there, so none is looked for."
    assert tuple(map(str, found.gone)) == (gone,)
    assert f"{gone}." in found.headlines
    assert idle in found.headlines
    short = " ".join(combination_text(found, details=False).split())
    assert gone in short
    assert idle in short
    # It is told once where all is told.
    assert " ".join(combination_text(found).split()).count(gone) == 1
    assert str(found).count(gone) == 1
    # What is looked for nevertheless, or left out on purpose, is not told so.
    assert combine(base, source, unreached=True).idle == ()
    assert combine(base, source, leave=("Lead/rotor", "Lead/send")).idle == ()
