"""Edits at a rehearsal, one after the other, as a player would make them."""

from __future__ import annotations

import attrs
import pytest

from knobpack import audit, combine, edit, take_back
from knobpack.errors import InputError
from knobpack.setups.as_read import read
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    KnobLabel,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
)
from knobpack.words.setup_edits import (
    Away,
    BackInUse,
    Join,
    OneMore,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)
from tests.edits.rehearsal import BASS, ORGAN, SETUP, STRINGS, as_played, on, travel
from tests.oracles.replay import in_order, replay


def test_what_is_faulty_in_a_setup_is_told_by_its_edits_too() -> None:
    assert not any(told.startswith("Amiss") for told in edit(SETUP, OutOfUse("K4")).sentences)
    faulty = attrs.evolve(
        SETUP,
        routes=(*SETUP.routes, Route("Organ/level", "K9")),
        travels=(*SETUP.travels, KnobTravel("K3", Travel(0, 500))),
        snapshots=(*SETUP.snapshots, Snapshot("Keys", ("Piano",))),
    )
    found = edit(faulty, OutOfUse("K4"))
    assert found.sentences[: len(found.headlines)] == found.headlines
    assert found.headlines[-1].startswith("K4 out of use: ")
    assert [told for told in found.sentences if told.startswith("Amiss")] == [
        "Amiss: the travel of K3 is 0 to 500, beyond the highest position, 127.",
        "Amiss: Organ/level is routed from 'K9', which is no knob of the surface.",
        "Amiss: snapshot 'Keys' names what is not there: 'Piano'.",
    ]


def test_what_gets_a_knob_of_its_own_goes_over_the_travel_that_it_wishes_for() -> None:
    found = edit(SETUP, OwnKnob(("Bass/level",)))
    assert on(found.setup, "K5") == {"Bass/level"}
    assert on(found.setup, "K2") == {"Bass/cutoff"}
    assert travel(found.setup, "K5") == Travel(0, 64)
    assert travel(found.setup, "K2") == Travel(127, 30)
    assert [str(each) for each in found.moved] == ["Bass/level goes from K2 to K5"]


def test_what_is_parted_goes_over_the_travel_that_it_wishes_for() -> None:
    found = edit(SETUP, Part(("Bass/level", "Bass/cutoff"))).setup
    knobs = {name: knob for knob in ("K2", "K5") for name in on(found, knob)}
    assert set(knobs) == {"Bass/level", "Bass/cutoff"}
    assert travel(found, knobs["Bass/level"]) == Travel(0, 64)
    # It wishes for nothing: it keeps what it had.
    assert travel(found, knobs["Bass/cutoff"]) == Travel(127, 30)


def test_what_loses_a_travel_that_it_did_not_wish_for_is_not_told_to_have_wished_for_it() -> None:
    held = attrs.evolve(
        SETUP,
        surface=Surface.row(2),
        voices=(ORGAN, BASS),
        routes=SETUP.routes[:4],
        travels=SETUP.travels[1:],
        snapshots=(Snapshot("All", ("Organ", "Bass")),),
        labels=(),
    )
    found = edit(held, OutOfUse("K2"))
    assert {(each.destination, each.wanted, each.given) for each in found.missed} == {
        ("Bass/level", Travel(0, 64), Travel(0, 127)),  # its own wish
        ("Bass/cutoff", Travel(127, 30), Travel(0, 127)),  # what it had
    }
    # The request of the edit knows what each was to keep, and calls that no wish.
    assert "it was to have 127 to 30" in str(found.allocation.why("Bass/cutoff"))
    less = attrs.evolve(held, travels=(KnobTravel("K2", Travel(0, 100)),))
    told = "\n".join(edit(less, OutOfUse("K2")).sentences)
    assert "Bass/cutoff had 0 to 100 (79 %) and now has 0 to 127 (full) on K1." in told


def test_what_moves_whole_takes_travel_positions_and_label_along() -> None:
    found = edit(SETUP, Swap("K1", "K5")).setup
    assert on(found, "K5") == {"Organ/level", "Organ/drive"}
    assert travel(found, "K5") == Travel(20, 101)
    assert {each.knob: each.label for each in found.labels} == {"K5": "ORGAN", "K2": "BASS"}
    stored = {each.name: each.stored for each in found.snapshots}
    assert stored["Bass"] == {"K3": 33, "K5": 99}
    assert stored["All"] == {}


def test_parted_and_joined_again() -> None:
    parted = edit(SETUP, Part(("K2",))).setup
    assert len({r.knob for r in parted.routes if r.destination.startswith("Bass")}) == 2
    later = edit(parted, OutOfUse("K1")).setup
    assert len({r.knob for r in later.routes if r.destination.startswith("Bass")}) == 2
    knobs = tuple({r.knob for r in later.routes if r.destination.startswith("Bass")})
    joined = edit(later, Join(knobs))
    assert len({r.knob for r in joined.setup.routes if r.destination.startswith("Bass")}) == 1
    assert joined.replaced


def test_voices_are_parted_from_one_another_and_not_within() -> None:
    plain = attrs.evolve(SETUP, snapshots=SETUP.snapshots[:1])
    together = edit(plain, Join(("K1", "K2"))).setup
    (knob,) = {r.knob for r in together.routes if r.destination.startswith(("Organ", "Bass"))}
    found = edit(together, Part(("Organ", "Bass")))
    at = {r.destination: r.knob for r in found.setup.routes}
    assert at["Organ/level"] == at["Organ/drive"] != at["Bass/level"] == at["Bass/cutoff"]
    assert found.done == "Organ and Bass parted"
    assert len(found.moved) == 2
    # It holds: what comes to a knob with the one takes nothing of the other along.
    assert Apart(("Organ/level", "Organ/drive"), ("Bass/level", "Bass/cutoff")) in (
        found.setup.agreed
    )
    # Of three each from each; a knob and a group stand for what is in them.
    every = edit(together, Join((knob, "K3"))).setup
    three = edit(every, Part(("Organ", "Bass", "Strings/level"))).setup
    by = {r.destination: r.knob for r in three.routes}
    assert len({by["Organ/level"], by["Bass/level"], by["Strings/level"]}) == 3
    assert by["Organ/level"] == by["Organ/drive"]
    assert by["Bass/level"] == by["Bass/cutoff"]
    # One alone is parted within, as destinations that are named are.
    within = edit(together, Part(("Bass",))).setup
    assert len({r.knob for r in within.routes if r.destination.startswith("Bass")}) == 2


def test_a_voice_away_goes_whole_and_moves_nothing_else() -> None:
    found = edit(SETUP, Away(("Bass",)))
    assert found.setup.voices == (ORGAN, STRINGS)
    assert [each.name for each in found.setup.snapshots] == ["All", "Rest"]
    assert "Snapshot 'Bass' is gone: it moved nothing else." in found.sentences
    assert found.setup.groups == (Group("Low", ("Organ/drive",)),)
    assert {each.destination for each in found.moved} == {"Bass/level", "Bass/cutoff"}
    assert found.allocation.proven
    assert in_order(replay(SETUP, found.sheet.steps)) == in_order(found.setup)


def test_a_source_away_goes_with_its_voices() -> None:
    found = edit(SETUP, Away(("Late set",))).setup
    assert found.voices == (ORGAN, BASS)
    assert on(found, "K3") == on(found, "K4") == set()


def test_a_destination_away_stays_away_until_it_is_named() -> None:
    found = edit(SETUP, Away(("Strings/attack",))).setup
    assert STRINGS in found.voices
    later = edit(edit(found, OutOfUse("K1")).setup, Swap("K2", "K3")).setup
    assert not read(later).knobs_of["Strings/attack"]
    back = edit(later, OnKnob(("Strings/attack",), "K4")).setup
    assert read(back).knobs_of["Strings/attack"] == ("K4",)


def test_a_knob_is_cleared_and_nothing_else_moves() -> None:
    routes = (*SETUP.routes, Route("Bass/level", "K1"), Route("Gone/level", "K4"))
    setup = attrs.evolve(
        SETUP,
        routes=routes,
        travels=(*SETUP.travels, KnobTravel("K4", Travel(5, 5))),
        labels=(KnobLabel("K4", "dead"), KnobLabel("K1", "Organ")),
    )
    dead = edit(setup, Away("K4")).setup
    assert "K4" not in {each.knob for each in dead.travels}
    assert dead.labels == (KnobLabel("K1", "Organ"),)
    assert [r for r in routes if r.knob != "K4"] == [*dead.routes]
    # What another knob drives too stays on that; what none drives is told.
    found = edit(setup, Away("K1"))
    assert "K1" not in {route.knob for route in found.setup.routes}
    assert read(found.setup).knobs_of["Bass/level"]
    gone = {each.destination for each in found.moved if each.after is None}
    assert gone == {"Organ/level", "Organ/drive"}
    assert take_back(found.setup).setup == setup


def test_a_voice_more_takes_free_knobs_in_its_bundles_and_moves_with_all() -> None:
    choir = Voice(
        "Choir",
        (Destination("level", priority=1, source_knob="3"), Destination("breath", source_knob="3")),
        layer=1,
    )
    found = edit(SETUP, OneMore(choir))
    assert on(found.setup, "K5") == {"Choir/level", "Choir/breath"}
    assert found.setup.voices[-1] == attrs.evolve(choir, layer=4)
    moves = {each.name: "Choir" in each.moves for each in found.setup.snapshots}
    assert moves == {"All": True, "Bass": False, "Rest": False}
    new = [each for each in audit(found.setup).findings if each not in audit(SETUP).findings]
    assert not [each for each in new if "K5" not in str(each)]
    with pytest.raises(InputError, match="this name is taken"):
        edit(found.setup, OneMore(choir))


def test_faults_of_the_setup_stay_as_they_are() -> None:
    faulty = attrs.evolve(
        SETUP, routes=(*SETUP.routes, Route("Nobody/level", "K4"), Route("Bass/level", "K3"))
    )
    found = edit(faulty, Swap("K1", "K5")).setup
    assert Route("Nobody/level", "K4") in found.routes
    assert Route("Bass/level", "K3") in found.routes
    assert Route("Bass/level", "K2") in found.routes


def test_a_search_that_is_stopped_says_that_nothing_is_proven() -> None:
    found = edit(SETUP, OwnKnob(("Bass/level",)), effort=0)
    assert not found.proven
    assert "not proven the least (stopped by the limit of effort)" in str(found)
    assert len(on(found.setup, read(found.setup).knobs_of["Bass/level"][0])) == 1


def test_what_comes_to_share_a_knob_is_told_and_what_shared_one_is_not() -> None:
    own = edit(SETUP, OwnKnob(("Bass/level",))).setup  # K5, and so every knob drives something
    found = edit(own, OwnKnob(("Organ/level",)))
    assert any("which were on K1 and" in each for each in found.sentences)
    alone = edit(SETUP, Swap("K1", "K5"))
    assert not any("moved apart" in each for each in alone.sentences)
    joined = edit(SETUP, Join(("K3", "K4")))
    together = "now drives Strings/level and Strings/attack, which were on K3 and K4"
    assert any(together in each for each in joined.sentences)
    assert any(each.endswith("they can no longer be moved apart.") for each in joined.sentences)


def test_a_knob_that_drives_more_is_told_without_what_shared_it_before() -> None:
    bare = attrs.evolve(SETUP, snapshots=())
    found = edit(bare, OnKnob(("Strings/attack",), "K1")).sentences
    assert (
        "K1 now drives Organ/level, Organ/drive and Strings/attack, which were on K1 and K4: "
        "what was on different knobs can no longer be moved apart."
    ) in found


def test_an_edit_that_leaves_out_what_an_earlier_one_asked_for_says_so() -> None:
    surface = Surface.row(2, destinations_per_knob=1)
    routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K2"))
    setup = Setup("Small set", surface, (ORGAN,), routes=routes)
    found = edit(edit(setup, OwnKnob(("Organ/drive",))).setup, OutOfUse("K1"))
    assert found.left_out == ("Organ/drive",)
    assert not found.gave_way
    overridden = "This overrides what an earlier edit asked for: Organ/drive on a knob of its own."
    assert overridden in found.sentences


def test_an_earlier_edit_gives_way_rather_than_that_more_is_left_out() -> None:
    found = edit(attrs.evolve(SETUP, snapshots=()), OwnKnob(("Organ/drive",)))
    for knob in ("K5", "K4", "K3"):
        found = edit(found.setup, OutOfUse(knob))
        assert not found.left_out
        assert not found.gave_way
    full = found.setup
    found = edit(full, OutOfUse("K2"))
    assert not found.left_out
    assert found.proven
    assert found.gave_way == (Alone(("Organ/drive",)),)
    assert found.sentences[0] == (
        "Organ/drive on a knob of its own, which an earlier edit asked for, gives way: "
        "more would be left out else."
    )
    assert not found.setup.agreed
    mended = edit(found.setup, BackInUse("K2")).setup
    assert mended.agreed == full.agreed
    assert as_played(mended) == as_played(full)
    later = edit(found.setup, OneMore(Voice("Horn", (Destination("level"),)))).setup
    assert Alone(("Organ/drive",)) in edit(later, BackInUse("K2")).setup.agreed


def test_what_is_overridden_is_told_in_words() -> None:
    """Each of the five kinds of rule."""
    two = ("Organ/level", "Organ/drive")
    assert Alone(two).phrase == "Organ/level and Organ/drive on a knob of their own"
    assert Fixed(two[:1], "K1").phrase == "Organ/level on K1"
    assert Together(two).phrase == "Organ/level and Organ/drive on one knob"
    assert Apart(two, two).phrase == "Organ/level and Organ/drive parted"
    assert Apart(two[:1], two[1:]).phrase == "Organ/level parted from Organ/drive"
    assert Barred(two[:1], ("K1", "K2")).phrase == "Organ/level not on K1 and K2"


def test_a_snapshot_that_came_with_a_source_goes_with_it_and_that_is_said() -> None:
    horn = Voice("Horn", (Destination("level"),), 1)
    source = Setup("Horn set", Surface.row(1), (horn,), routes=(Route("Horn/level", "K1"),))
    base = attrs.evolve(SETUP, snapshots=(), arrivals=())
    both = combine(base, source).setup
    found = edit(both, Away(("Horn set",)))
    gone = {e.name for e in both.snapshots} - {e.name for e in found.setup.snapshots}
    assert "everything" in gone
    assert "Snapshot 'everything' is gone: it came with Horn set." in found.sentences
    assert not any("it moved nothing else" in each for each in found.sentences)


def test_what_is_on_its_knob_already_stays_there_be_it_by_a_fault() -> None:
    torn = attrs.evolve(SETUP, snapshots=(Snapshot("half", ("Bass/level",)),))
    assert any(
        each.knobs == ("K2",) and each.snapshots == ("half",) for each in audit(torn).findings
    )
    found = edit(torn, OnKnob(("Bass/level",), "K2"))
    assert found.headlines == ("Bass/level on K2: already there, and nothing moves.",)
    assert (found.moved, found.setup.routes) == ((), torn.routes)
    # It stays from then on, whatever else is asked for.
    assert Fixed(("Bass/level",), "K2") in found.setup.agreed
    # What comes there beside it moves, and it does not.
    both = edit(SETUP, OnKnob(("Strings/level", "Strings/attack"), "K3"))
    assert [each.destination for each in both.moved] == ["Strings/attack"]
