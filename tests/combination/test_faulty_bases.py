"""Faults of a base: each stays as it is, is told, and stops nothing."""

from __future__ import annotations

import attrs
import pytest

from knobpack.auditing.audit import audit
from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.combination.report import Source
from knobpack.present.text import layout_text
from knobpack.words import (
    Destination,
    Group,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.combination.cases import told
from tests.oracles.combination import complaints
from tests.oracles.reading_setups import moves, reads

PAD = Voice("Pad", (Destination("level", priority=1), Destination("pan")), 1)
LEAD = Voice("Lead", (Destination("level"),), 1)
BASE = Setup("Evening set", Surface.row(4), (PAD,), routes=(Route("Pad/level", "K1"),))
GUEST = Setup("Quay set", Surface.row(2), (LEAD,), routes=(Route("Lead/level", "K1"),))


def combined(base: Setup, *guests: Setup) -> Combination:
    found = combine(base, *guests)
    assert complaints(base, [Source(each) for each in guests], found) == []
    return found


def test_names_that_the_base_calls_in_vain_are_not_given_away() -> None:
    # A guest's voice of such a name would be driven, or moved, by what did nothing before.
    for base in (
        attrs.evolve(BASE, routes=(Route("Lead/level", "K1"),)),
        attrs.evolve(BASE, groups=(Group("Mine", ("Lead/level",)),)),
        attrs.evolve(BASE, snapshots=(Snapshot("mine", ("Lead", "Pad")),)),
    ):
        found = combined(base, GUEST)
        assert [voice.name for voice in found.setup.voices] == ["Pad", "Lead (Quay set)"]
    held = {"Pad/level", "Pad/pan"}
    assert moves(found.setup, found.setup.snapshots[0]) & reads(base, ["Pad"]) == held


def test_two_knobs_on_one_destination_stay_and_take_nothing_new() -> None:
    base = attrs.evolve(BASE, routes=(*BASE.routes, Route("Pad/level", "K2")))
    found = combined(base, GUEST)
    assert {each.new_knob for each in found.carried} <= {"K3", "K4"}
    assert "K2 to Pad/level is a second one: K1 drives it too; it stays so" in told(found)


def test_two_knobs_on_one_destination_become_one_where_it_is_freed() -> None:
    base = attrs.evolve(BASE, routes=(*BASE.routes, Route("Pad/level", "K2")))
    found = combine(base, GUEST, free=("Pad",))
    assert complaints(base, [Source(GUEST)], found, frozenset({"Pad/level"})) == []
    assert [route.destination for route in found.setup.routes].count("Pad/level") == 1
    assert "K2 to Pad/level goes: K1 drives it too, and one knob is enough" in told(found)


def test_a_knob_that_a_snapshot_tears_takes_nothing_new_and_is_told() -> None:
    both = (*BASE.routes, Route("Pad/pan", "K1"))
    base = attrs.evolve(BASE, routes=both, snapshots=(Snapshot("loud", ("Pad/level",)),))
    found = combined(base, GUEST)
    assert found.setup.routes[:2] == both
    assert "K1 to Pad/pan moves in other snapshots than Pad/level" in told(found)
    # It opens no snapshot to be broken by what is new.
    assert all(each.break_weight is None for each in found.request.played)


def test_a_knob_that_a_snapshot_tears_is_told_as_the_audit_has_it() -> None:
    both = (*BASE.routes, Route("Pad/pan", "K1"))
    base = attrs.evolve(BASE, routes=both, snapshots=(Snapshot("loud", ("Pad/level",)),))
    found = combined(base, GUEST)
    used = {use.knob: use for use in audit(found.setup).by_knob}
    assert "loud" not in used["K1"].follows
    for each in found.following:
        assert each.knobs == tuple(k for k, use in used.items() if each.snapshot in use.follows)
    rows = layout_text(found.allocation, setup=found.setup).partition("SNAPSHOTS")[2].splitlines()
    (row,) = (line.split() for line in rows if line.split()[:1] == ["loud"])
    assert row[1:3] == ["none", "K1,"]
    fact = next(each.fact for each in audit(base).findings if each.knobs == ("K1",))
    assert f"Wrong, as in {base.name}: {fact}." in found.headlines


def test_a_travel_beyond_the_resolution_stays() -> None:
    base = attrs.evolve(BASE, travels=(KnobTravel("K1", Travel(0, 300)),))
    found = combined(base, GUEST)
    assert found.setup.travels[0] == KnobTravel("K1", Travel(0, 300))
    assert "the travel 0 to 300 of K1 lies beyond 127" in told(found)
    # Freed altogether, the knob is set within its range; freed in part, it stays as it is.
    freed = combine(base, GUEST, free=("Pad",))
    assert complaints(base, [Source(GUEST)], freed, frozenset({"Pad/level"})) == []
    assert KnobTravel(freed.carried[0].new_knob or "", Travel(0, 127)) in freed.setup.travels
    partly = attrs.evolve(base, routes=(*base.routes, Route("Pad/pan", "K1")))
    stuck = combine(partly, GUEST, free=("Pad/level",))
    assert complaints(partly, [Source(GUEST)], stuck) == []
    assert "K1 to Pad/level is not freed: its knob takes nothing new" in told(stuck)


def test_layers_that_collide_or_are_not_there_stay() -> None:
    voices = (PAD, Voice("Choir", (), 1), Voice("Organ", (), 9), Voice("Harp", (), None))
    base = attrs.evolve(BASE, surface=Surface.row(4, layers=3), voices=voices)
    found = combined(base, GUEST)
    assert [voice.layer for voice in found.setup.voices] == [1, 1, 9, None, 3]
    assert "the voice Choir is on layer 1, where Pad is too, and stays there" in told(found)
    assert "the voice Organ is on layer 9 of 3 and stays there" in told(found)
    assert "the voice Harp has no layer; 2 is left free for it" in told(found)
    assert "Harp has no layer: 2 is left free for it." in found.headlines
    both = combine(base, GUEST, attrs.evolve(GUEST, name="Pier set"))
    assert [each.voice for each in both.unlayered] == ["Lead"]
    unlimited = attrs.evolve(base, surface=Surface.row(4))
    layers = [voice.layer for voice in combined(unlimited, GUEST).setup.voices]
    assert layers == [1, 1, 9, None, 3]


def test_groups_in_a_circle_hold_what_they_held() -> None:
    groups = (Group("A", ("B", "Pad")), Group("B", ("A", "Ghost")), Group("C", ("C",)))
    snapshots = (Snapshot("round", ("B",)),)
    base = attrs.evolve(BASE, groups=groups, snapshots=snapshots)
    found = combined(base, GUEST)
    assert "the circle of groups A and B holds itself and stays so" in told(found)
    guest = attrs.evolve(GUEST, groups=(Group("A", ("B",)), Group("B", ("A", "Lead"))))
    found = combined(BASE, guest)
    assert reads(found.setup, ["A"]) == reads(found.setup, ["B"]) == {"Lead/level"}
    assert "Quay set: the circle of groups A and B is undone" in told(found)
    combine(found.setup)  # it can be asked for as it stands


def test_a_base_beyond_its_own_limits_takes_nothing_more() -> None:
    both = (*BASE.routes, Route("Pad/pan", "K1"))
    surface = Surface.row(4, destinations_per_knob=1, routes=1, snapshots=1)
    shots = (Snapshot("one", ("Pad",)), Snapshot("two", ()))
    base = attrs.evolve(BASE, surface=surface, routes=both, snapshots=shots)
    found = combined(base, GUEST)
    assert [each.new_knob for each in found.carried] == [None]
    assert found.setup.snapshots == (attrs.evolve(shots[0], moves=("Pad", "Lead")), shots[1])
    said = told(found)
    assert "K1 to Pad/pan is one too many: a knob carries at most 1" in said
    assert "has more than the 1 route that its surface takes" in said
    assert "has more than the 1 snapshot that its surface stores" in said
    assert "the snapshot 'Quay set' has no room: the surface stores 1 snapshot" in said


def test_dead_routes_count_where_routes_are_numbered() -> None:
    dead = (*BASE.routes, Route("Gone/level", "K3"))
    base = attrs.evolve(BASE, surface=Surface.row(4, routes=2), routes=dead)
    assert [each.new_knob for each in combined(base, GUEST).carried] == [None]
    base = attrs.evolve(BASE, surface=Surface.row(4, routes=3), routes=dead)
    assert [each.new_knob for each in combined(base, GUEST).carried] != [None]


def test_a_dead_knob_that_is_used_anew_gets_a_travel_and_says_so() -> None:
    dead = tuple(KnobTravel(f"K{number}", Travel(64, 64)) for number in (2, 3, 4))
    found = combined(attrs.evolve(BASE, travels=dead), GUEST)
    knob = found.carried[0].new_knob
    assert f"the travel 64 to 64 of {knob} becomes 0 to 127: the knob drove nothing" in told(found)
    assert sum(setting.travel.empty for setting in found.setup.travels) == 2


@pytest.mark.parametrize("voices", [(), (Voice("Pad"),)])
def test_a_base_without_anything(voices: tuple[Voice, ...]) -> None:
    found = combined(Setup("Bare", Surface.row(2), voices), GUEST)
    assert [each.new_knob is not None for each in found.carried] == [True]
    assert combined(Setup("Bare", Surface.row(0)), GUEST).carried[0].new_knob is None
    assert combine(Setup("Bare", Surface.row(0))).setup.voices == ()
