"""A source taken away again: exactly the base is left, and what came otherwise stays."""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination.combiner import combine
from knobpack.combination.taken_away import without_source
from knobpack.errors import InputError
from knobpack.files import dumps, loads
from knobpack.words import (
    Alone,
    Apart,
    BrokenKnob,
    Group,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Together,
    Travel,
)
from tests.combination.cases import BASE, GUEST, LATER
from tests.combination.full_panels import setup

BRASS = setup("Brass set", 2, "Brass/level", "Brass/tone")
FLUTE = setup("Flute set", 1, "Flute/level")


def full_of_marks() -> Setup:
    """A base whose free knobs are set, labelled and stored somewhere."""
    return attrs.evolve(
        BASE,
        travels=(KnobTravel("K5", Travel(7, 7)), KnobTravel("K3", Travel(0, 9)), *BASE.travels),
        labels=(KnobLabel("K4", "spare"), KnobLabel("K1", "Piano")),
        snapshots=(
            Snapshot(
                "piano",
                ("Felt piano",),
                positions=(KnobPosition("K6", 3), KnobPosition("K3", 5), KnobPosition("K8", 1)),
                idle=("K4", "K8"),
            ),
        ),
    )


@pytest.mark.parametrize("base", [BASE, full_of_marks()])
def test_what_came_last_leaves_what_was_there(base: Setup) -> None:
    first = combine(base, GUEST, name="Night set").setup
    assert isinstance(first, Setup)
    second = combine(first, LATER).setup
    assert without_source(second, "Tin roof set") == first
    assert without_source(first, "Harbour set") == base
    # It is remembered in a file as well.
    kept = loads(dumps(second))
    assert isinstance(kept, Setup)
    assert without_source(without_source(kept, "Tin roof set"), "Harbour set") == base


def test_what_was_freed_or_cleared_for_it_comes_back() -> None:
    base = attrs.evolve(BASE, routes=(BASE.routes[0], Route("Gone/level", "K7"), *BASE.routes[1:]))
    found = combine(base, GUEST, LATER, free="Felt piano", clear="K7").setup
    assert found.routes[:2] != base.routes[:2]
    back = without_source(without_source(found, "Tin roof set"), "Harbour set")
    assert back == base


def test_in_whatever_order_they_go() -> None:
    base = full_of_marks()
    found = combine(combine(base, GUEST).setup, LATER).setup
    left = without_source(found, "Harbour set")
    assert {voice.source for voice in left.voices} == {None, "Tin roof set"}
    assert [each.name for each in left.snapshots] == ["piano", "Evening set", "Tin roof set"]
    assert without_source(left, "Tin roof set") == base


def test_of_two_that_came_at_once_each_may_go_first() -> None:
    base = full_of_marks()
    found = combine(base, BRASS, FLUTE).setup
    for one, other in (("Brass set", "Flute set"), ("Flute set", "Brass set")):
        left = without_source(found, one)
        assert [each.source for each in left.arrivals] == [other]
        assert not any(voice.source == one for voice in left.voices)
        assert without_source(left, other) == base


def test_what_is_said_of_groups_and_voices_goes_with_it() -> None:
    source = attrs.evolve(
        GUEST,
        groups=(Group("Low", ("Low drone",)), Group("All of it", ("Low", "Glass pad"))),
        snapshots=(Snapshot("quiet", ("Low",), silent=("Glass pad",)),),
    )
    found = combine(BASE, source).setup
    assert found.groups
    assert any(each.silent for each in found.snapshots)
    assert without_source(found, "Harbour set") == BASE


def test_what_was_agreed_on_it_goes_and_the_rest_holds() -> None:
    rules = (Alone(("Felt piano/level",)), Apart(("Felt piano/tone",), ("Glass pad/cutoff",)))
    found = attrs.evolve(combine(BASE, GUEST).setup, agreed=rules)
    left = without_source(found, "Harbour set")
    assert left == attrs.evolve(BASE, agreed=rules[:1])
    # What is agreed in the base holds for what comes: nothing may share that knob.
    crowded = attrs.evolve(BASE, surface=Surface.row(3, bits=10), agreed=rules[:1])
    later = combine(crowded, GUEST)
    assert all("Felt piano/level" not in each.beside for each in later.carried)
    assert rules[0] in later.request.rules
    # A rule that the base does not meet any more is not laid down.
    broken = attrs.evolve(crowded, agreed=(Together(("Felt piano",)),))
    assert combine(broken, GUEST).request.rules == ()
    # What is on both sides is to be apart from all the others.
    both = attrs.evolve(crowded, agreed=(Apart(("Felt piano",), ("Felt piano",)),))
    assert combine(both, GUEST).request.rules == both.agreed


def test_a_broken_knob_takes_nothing_that_comes() -> None:
    base = attrs.evolve(BASE, broken=(BrokenKnob("K3"),))
    found = combine(base, GUEST)
    assert {each.new_knob for each in found.carried} == {"K4", "K5", "K6", "K7"}
    assert without_source(found.setup, "Harbour set") == base


def test_where_nothing_is_remembered_the_voices_say_where_they_came_from() -> None:
    found = attrs.evolve(combine(BASE, GUEST).setup, arrivals=())
    left = without_source(found, "Harbour set")
    assert left.voices == BASE.voices
    assert left.routes == BASE.routes
    assert left.snapshots[0] == BASE.snapshots[0]


def test_what_did_not_come_cannot_go() -> None:
    found = combine(BASE, GUEST).setup
    with pytest.raises(InputError, match="close to it: Harbour set"):
        without_source(found, "Habour set")
    with pytest.raises(InputError, match="give a Setup"):
        without_source("Harbour set", "Harbour set")  # type: ignore[arg-type]


def test_a_broken_memory_is_no_fault() -> None:
    wide = attrs.evolve(BASE, surface=Surface.row(12))
    found = combine(wide, BRASS).setup
    # A later edit moved what was there to another knob: it stays where it was put.
    moved = attrs.evolve(
        found,
        routes=tuple(
            attrs.evolve(each, knob="K12") if each.destination == "Felt piano/tone" else each
            for each in found.routes
        ),
    )
    left = without_source(moved, "Brass set")
    assert Route("Felt piano/tone", "K12") in left.routes
