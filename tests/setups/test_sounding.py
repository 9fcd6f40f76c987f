"""Levels that are held where they sound, worked by hand."""

from __future__ import annotations

import attrs

from knobpack import (
    Destination,
    KnobTravel,
    OutOfUse,
    Part,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    combine,
    edit,
    move_to_panel,
    patch_sheet,
)
from knobpack.present.combination_text import combination_text
from knobpack.present.setup_text import change_text
from knobpack.setups.sounding import sounding_told
from knobpack.words import KnobPosition


def _one(name: str, destination: str, layer: int = 1) -> Voice:
    return Voice(name, (Destination(destination, priority=1),), layer)


def _stored(name: str, *moves: str, **positions: int) -> Snapshot:
    return Snapshot(name, moves, positions=tuple(KnobPosition(*each) for each in positions.items()))


def _words(text: str) -> str:
    return " ".join(text.split())


BASE = Setup(
    "Evening set",
    Surface.row(6),
    (_one("Bass", "level"), _one("Keys", "level", 2), _one("Pad", "level", 3)),
    routes=(Route("Bass/level", "K1"), Route("Keys/level", "K2"), Route("Pad/level", "K3")),
    snapshots=(_stored("all", "Bass", "Keys", "Pad"), _stored("soft", "Bass", K2=100, K3=0)),
)
GUEST = Setup(
    "Guests",
    Surface.row(3),
    (_one("Bell", "level"), _one("Hall", "send", 2), _one("Saw", "level", 3)),
    routes=(Route("Bell/level", "K1"), Route("Hall/send", "K2"), Route("Saw/level", "K3")),
    snapshots=(_stored("x", "Bell", "Hall", "Saw"), _stored("y", "Saw", K1=110, K2=64)),
)
CAME = "In snapshot 'soft' Bell/level (K4 at 110) is held where it sounds."
THERE = "In snapshots 'x' and 'y' Keys/level (K2 at 100) is held where it sounds."


def test_what_sounds_in_snapshots_of_others_is_told_of_a_combination() -> None:
    """Neither a send, nor what is turned down, moves, is the snapshot's own or is to be set by ear.

    Those are Hall/send, Pad/level, Bass/level in its own, Bell/level in 'y', and Saw/level.
    """
    found = combine(BASE, GUEST)
    assert tuple(sounding_told(BASE, found.setup)) == (CAME, THERE) == found.headlines[:2]
    sheet = patch_sheet(BASE, found.setup)
    for text in (combination_text(found), sheet.text(), sheet.markdown(), sheet.page()):
        plain = _words(text.replace("\\", "").replace("<bdi>", "").replace("</bdi>", ""))
        assert CAME in plain
        assert THERE in plain
    silenced = attrs.evolve(found.setup.snapshots[1], silent=("Bell",))
    snapshots = (found.setup.snapshots[0], silenced, *found.setup.snapshots[2:])
    quiet = attrs.evolve(found.setup, snapshots=snapshots)
    assert [*sounding_told(BASE, quiet)] == [THERE]
    # Of what is held so in either only the rest is told.
    assert [*sounding_told(BASE, found.setup, than=quiet)] == [CAME]
    assert not [*sounding_told(BASE, quiet, than=found.setup)]
    assert not [*sounding_told(found.setup, found.setup)]
    # Where nothing was, all of it is new, but for what the snapshots of the base hold of it.
    assert [*sounding_told(Setup("New", BASE.surface), found.setup)] == [CAME, THERE]
    assert not [*sounding_told(Setup("New", BASE.surface), BASE)]


def test_what_was_turned_down_in_a_snapshot_and_sounds_is_told_of_an_edit() -> None:
    full = attrs.evolve(BASE, surface=Surface.row(2), voices=BASE.voices[1:])
    routes = (Route("Keys/level", "K1"), Route("Pad/level", "K2"))
    solo = _stored("solo", K1=100, K2=0)
    full = attrs.evolve(full, routes=routes, snapshots=(_stored("all", "Keys", "Pad"), solo))
    found = edit(full, OutOfUse("K2"))
    told = "In snapshot 'solo' Pad/level (K1 at 100) is held where it sounds, and was turned down."
    assert [*sounding_told(full, found.setup)] == [told]
    assert told in found.headlines
    assert told in _words(change_text("EDIT", found))
    assert told in _words(found.sheet.text())
    back = "In snapshot 'solo' Pad/level (K2 at 0) is not heard any more."
    assert [*sounding_told(found.setup, full)] == [back]
    higher = attrs.evolve(full, snapshots=(full.snapshots[0], _stored("solo", K1=100, K2=1)))
    assert [*sounding_told(full, higher)] == [told.replace("K1 at 100", "K2 at 1")]


def test_what_another_guest_put_on_its_knob_lets_a_level_sound_in_its_own_snapshot() -> None:
    """In 'x' Saw moves and Bell, that came with it, is held: where Keys stood, not where it did."""
    voices = (*BASE.voices, *(attrs.evolve(v, source="Guests") for v in GUEST.voices))
    routes = (Route("Keys/level", "K2"), Route("Bell/level", "K2"), Route("Saw/level", "K3"))
    made = attrs.evolve(BASE, voices=voices, routes=routes, snapshots=(_stored("x", "Saw", K2=90),))
    shared = "In snapshot 'x' Keys/level and Bell/level (K2 at 90) are held where they sound."
    assert [*sounding_told(BASE, made)] == [shared]
    alone = attrs.evolve(made, routes=routes[1:])
    assert not [*sounding_told(BASE, alone)]


def test_a_level_that_starts_to_follow_in_a_snapshot_is_told_first() -> None:
    """Of two on a knob one is to move: that holds it; alone the one follows, as does none else."""
    both = (Route("Keys/level", "K1"), Route("Pad/level", "K1"), Route("Bass/level", "K2"))
    snapshots = (_stored("all", "Bass", "Keys", "Pad"), _stored("low", "Keys"))
    torn = attrs.evolve(BASE, routes=both, snapshots=snapshots)
    told = (
        "In snapshot 'low' Keys/level ({}) follows the master, unlike before: it jumps to where "
        "that stands, so set the master first."
    )
    found = edit(torn, Part("K1"))
    here = told.format(found.allocation.knob_of("Keys/level"))
    assert [*sounding_told(torn, found.setup)] == [here]
    assert found.headlines[0] == here
    for text in (change_text("EDIT", found), found.sheet.text(), found.sheet.page()):
        assert here in _words(text.replace("<bdi>", "").replace("</bdi>", ""))
    away = move_to_panel(torn, Surface.row(3, destinations_per_knob=1))
    there = told.format(away.allocation.knob_of("Keys/level")).replace("before", "at home")
    assert away.headlines[0] == there
    assert there in _words(away.sheet.text())
    # What is silent there, stands still or is new to the setup jumps nowhere.
    quiet = attrs.evolve(snapshots[1], silent=("Keys",))
    dead = KnobTravel(found.allocation.knob_of("Keys/level") or "", Travel(9, 9))
    for other in ({"snapshots": (snapshots[0], quiet)}, {"travels": (dead,)}):
        assert not [*sounding_told(torn, attrs.evolve(found.setup, **other))]
    bare = attrs.evolve(torn, voices=(BASE.voices[0], BASE.voices[2]), routes=both[1:])
    assert not [*sounding_told(attrs.evolve(bare, snapshots=snapshots[:1]), found.setup)]


def test_a_level_is_silent_at_0_alone_wherever_its_travel_ends() -> None:
    """At the bottom of a travel that goes no lower it sounds; a travel set anew moves no knob."""
    setup = attrs.evolve(BASE, snapshots=(_stored("all", "Bass"), _stored("soft", K2=30, K3=30)))
    narrow = attrs.evolve(setup, travels=(KnobTravel("K2", Travel(90, 30)),))
    assert not [*sounding_told(narrow, setup)]
    new = attrs.evolve(narrow, snapshots=(*setup.snapshots[:1], _stored("late", "Bass", K2=30)))
    bare = attrs.evolve(new, voices=BASE.voices[:1], snapshots=(), routes=BASE.routes[:1])
    told = "In snapshot 'late' Keys/level (K2 at 30) is held where it sounds."
    for travels in (new.travels, (), (KnobTravel("K2", Travel(30, 30)),)):  # or that does nothing
        assert [*sounding_told(bare, attrs.evolve(new, travels=travels))] == [told]


def test_where_travels_are_set_on_routes_the_level_is_where_its_route_puts_it() -> None:
    """A knob at the top holds what goes down to its quiet end, and one at 0 what goes up."""
    panel = attrs.evolve(BASE.surface, travel_on="route")
    routes = (
        Route("Bass/level", "K1"),
        Route("Keys/level", "K2", Travel(127, 0)),
        Route("Pad/level", "K3", Travel(127, 0)),
    )
    after = attrs.evolve(
        BASE, surface=panel, routes=routes, snapshots=(_stored("late", "Bass", K2=127, K3=0),)
    )
    before = attrs.evolve(after, voices=BASE.voices[:1], routes=routes[:1], snapshots=())
    told = "In snapshot 'late' Pad/level (K3 at 0) is held where it sounds."
    assert [*sounding_told(before, after)] == [told]


def test_several_that_sound_in_the_same_snapshots_are_one_sentence() -> None:
    setup = attrs.evolve(BASE, snapshots=(_stored("soft", "Bass", K2=0, K3=0),))
    loud = attrs.evolve(BASE, snapshots=(_stored("soft", "Bass", K2=9, K3=8),))
    (told,) = sounding_told(setup, loud, str.upper)
    which = "KEYS/LEVEL (K2 at 9) and PAD/LEVEL (K3 at 8)"
    assert told == f"In snapshot 'SOFT' {which} are held where they sound, and were turned down."


def test_what_was_heard_and_stands_at_its_quiet_end_now_is_told() -> None:
    """Of the send and the level on K3 the level decides: it is silent, and so is the send of Keys.

    The send of Pad, whose level is turned down there, was not heard.
    """
    send = Destination("room", "send", priority=4)
    voices = tuple(attrs.evolve(v, destinations=(*v.destinations, send)) for v in BASE.voices)
    routes = (*BASE.routes[:2], Route("Keys/room", "K4"), Route("Pad/room", "K4"), BASE.routes[2])
    solo = _stored("solo", "Bass", K2=100, K3=0, K4=40)
    before = attrs.evolve(BASE, voices=voices, routes=routes, snapshots=(solo,))
    moved = (*BASE.routes, Route("Keys/room", "K3"), Route("Pad/room", "K3"))
    after = attrs.evolve(before, routes=moved)
    told = "In snapshot 'solo' Keys/room (K3 at 0) is not heard any more."
    assert [*sounding_told(before, after)] == [told]
    assert told in _words(patch_sheet(before, after).text())
    assert not [*sounding_told(after, before)]
