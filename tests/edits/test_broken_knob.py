"""A knob that breaks, and is mended: what it drove comes back as it was."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import edit, move_home, move_to_panel
from knobpack.errors import InputError
from knobpack.words import (
    Destination,
    Fixed,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.setup_edits import BackInUse, Edit, OnKnob, OutOfUse, OwnKnob, Part
from tests.edits.rehearsal import SETUP, as_played, on
from tests.edits.setups import on_routes, small_setup
from tests.edits.test_back import drawn, tried
from tests.oracles.amount import EXAMPLES
from tests.oracles.replay import in_order


def test_a_broken_knob_stays_unused_and_what_it_drove_comes_back_when_it_is_mended() -> None:
    broken = edit(SETUP, OutOfUse("K1"))
    assert broken.proven
    assert "because K1 is broken" in str(broken)
    assert on(broken.setup, "K1") == set()
    assert on(broken.setup, "K5") == {"Organ/level", "Organ/drive"}
    later = edit(broken.setup, OwnKnob(("Strings/attack",))).setup
    assert on(later, "K1") == set()
    with pytest.raises(InputError, match="it is broken"):
        edit(later, OnKnob(("Bass",), "K1"))
    mended = edit(later, BackInUse("K1")).setup
    assert as_played(mended) == as_played(SETUP)
    assert in_order(mended).travels == in_order(SETUP).travels
    assert mended.broken == ()


def test_an_edit_that_is_stopped_at_once_leaves_out_no_more_than_it_has_to() -> None:
    for seed in (4, 28, 51):
        setup = small_setup(seed)
        for knob in setup.surface.knob_names:
            whole, cut = (edit(setup, OutOfUse(knob), effort=effort) for effort in (10, 0))
            assert cut.allocation.tiers[0].value == whole.allocation.tiers[0].value


def test_what_was_edited_while_a_knob_was_broken_stays_as_it_was_edited() -> None:
    broken = edit(SETUP, OutOfUse("K1")).setup
    moved = edit(broken, OwnKnob(("Organ/drive",), "K4")).setup
    assert on(moved, "K4") == {"Organ/drive"}
    mended = edit(moved, BackInUse("K1")).setup
    assert on(mended, "K1") == {"Organ/level"}
    assert on(mended, "K4") == {"Organ/drive"}


def test_where_nothing_is_remembered_a_mended_knob_is_free() -> None:
    broken = attrs.evolve(edit(SETUP, OutOfUse("K1")).setup, edits=())
    mended = edit(broken, BackInUse("K1"))
    assert mended.setup.broken == ()
    assert not mended.moved


def test_what_was_put_on_a_knob_that_breaks_goes_back_when_it_is_mended() -> None:
    put = edit(SETUP, OnKnob(("Strings/level",), "K5")).setup
    broken = edit(put, OutOfUse("K5")).setup
    assert Fixed(("Strings/level",), "K5") in broken.agreed
    assert on(broken, "K5") == set()
    assert on(edit(broken, BackInUse("K5")).setup, "K5") == {"Strings/level"}


def test_where_knobs_stood_comes_back_when_the_broken_one_is_mended() -> None:
    """One knob less than is needed: the bass comes to the strings, or they to it, and goes back.

    That a mended knob is what it was is common practice, no source.
    """
    full = attrs.evolve(SETUP, surface=Surface.row(4), snapshots=SETUP.snapshots[1:])
    for knob in ("K1", "K2", "K3", "K4"):
        for positions in ((), (KnobPosition("K1", 99), KnobPosition("K3", 33))):
            held = Snapshot("Bass", positions=(*positions, KnobPosition("K4", 7)))
            setup = attrs.evolve(full, snapshots=(held, Snapshot("Still")))
            broken = edit(setup, OutOfUse(knob)).setup
            mended = edit(broken, BackInUse(knob)).setup
            assert as_played(mended) == as_played(setup)
            # What was stored by hand meanwhile stays, and goes with what it was stored for.
            there = next(k for k in setup.surface.knob_names if on(broken, k) > on(setup, k))
            by_hand = attrs.evolve(
                held,
                positions=(
                    *(e for e in broken.snapshots[0].positions if e.knob != there),
                    KnobPosition(there, 51),
                ),
            )
            other = attrs.evolve(broken, snapshots=(by_hand, broken.snapshots[1]))
            again = edit(other, BackInUse(knob)).setup.snapshots[0].stored
            moved = {
                route.knob for route in setup.routes if on(broken, there) & {route.destination}
            }
            assert 51 in {again.get(each) for each in moved} <= {51, None}


def test_what_is_told_of_positions_is_what_is_stored_when_a_knob_is_mended() -> None:
    """Two that a snapshot tears go to two knobs, which stand elsewhere, and come back.

    Where the knob stood is not known again then: that what they shared meanwhile stood at 99 and
    at 12 is not told any more.
    """
    pad = Voice("Pad", (Destination("level", priority=1), Destination("bright")), 1)
    organ = Voice("Organ", (Destination("level", priority=1), Destination("bright")), 2)
    names = ("Organ/level", "Organ/bright", "Pad/level", "Pad/bright")
    routes = tuple(map(Route, names, ("K1", "K2", "K3", "K3")))
    stood = (KnobPosition("K1", 99), KnobPosition("K2", 12))
    snapshots = (
        Snapshot("Some", (names[0], names[2])),
        Snapshot("Solo", (), positions=(*stood, KnobPosition("K3", 0))),
        Snapshot("Still", (), positions=stood),
    )
    setup = Setup("Evening", Surface.row(3), (organ, pad), routes=routes, snapshots=snapshots)
    broken = edit(setup, OutOfUse("K3"))
    assert (on(broken.setup, "K1"), on(broken.setup, "K2")) == (set(names[::2]), set(names[1::2]))
    assert any("'Solo' K1 stands at 99" in told for told in broken.notes)
    mended = edit(broken.setup, BackInUse("K3"))
    assert as_played(mended.setup) == as_played(setup)
    assert mended.notes == ()


def test_a_knob_that_broke_on_another_panel_is_no_edit_at_home() -> None:
    panel = Surface.row(5, bits=10)
    away = move_to_panel(SETUP, panel).setup
    broken = edit(away, OutOfUse("K1")).setup
    home = move_home(broken)
    assert home.setup == SETUP
    assert home.proven
    told = "K1 of the other panel: out of use there alone; whoever goes there again takes it out of"
    assert f"back home: all is where it was.\n{told} use again." in str(home)
    first = edit(away, OwnKnob(("Strings/attack",))).setup
    both = edit(edit(first, OutOfUse("K3")).setup, OutOfUse("K1")).setup
    assert move_home(both).setup == move_home(first).setup != SETUP
    # What was asked for as the knob was broken alone goes with it, and that is said.
    joined = next(n for n in on(broken, "K5") if n.startswith("Organ"))
    parted = edit(edit(broken, OwnKnob((joined,))).setup, Part(("K2",))).setup
    plain = edit(edit(away, OwnKnob((joined,))).setup, Part(("K2",))).setup
    assert move_home(parted).setup == move_home(plain).setup
    # What was mended is nothing that is left out.
    mended = edit(edit(broken, BackInUse("K1")).setup, Part(("K2",))).setup
    assert on(move_home(mended).setup, "K2") == on(
        move_home(edit(away, Part(("K2",))).setup).setup, "K2"
    )
    third = Surface.row(6, bits=7)
    assert move_to_panel(broken, third).setup == move_to_panel(SETUP, third).setup


def test_back_home_any_setup_is_what_it_would_be_had_no_knob_of_the_other_panel_broken() -> None:
    edited = 0
    for seed in range(max(12, EXAMPLES // 15)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        home = small_setup(seed, knobs=5)
        home = on_routes(home, draw) if seed % 4 == 3 else home
        panel = Surface.row(draw.choice((3, 4, 6)), bits=draw.choice((7, 10)))
        broken = plain = move_to_panel(home, panel).setup
        at = draw.randint(0, 2)
        for number in range(3):
            what: Edit = OutOfUse(draw.choice(broken.routes).knob)
            if number != at:
                what = drawn(broken, draw)
                if isinstance(what, BackInUse | OutOfUse):
                    continue
            after = tried(broken, what)
            if after is not None and after.routes:
                broken = after
                plain = plain if number == at else tried(plain, what) or plain
        assert move_home(broken).setup == move_home(plain).setup, seed
        edited += bool(broken.broken and plain.edits)
    assert edited > 5


def test_what_comes_and_turns_something_round_is_offered_another_knob() -> None:
    """The level goes to the tone, as it costs less than to join essentials, and turns it round."""
    turned = Travel(127, 0)
    inner = (("Low/level", 1, turned), ("Mid/tone", 4, Travel(0, 64)), ("High/level", 1, turned))
    voices = [
        Voice(voice, [Destination(name, priority=priority, travel=travel)], layer)
        for layer, (full, priority, travel) in enumerate(inner, 1)
        for voice, name in [full.split("/")]
    ]
    setup = Setup(
        "Evening set",
        Surface.row(3),
        voices,
        routes=[Route(full, f"K{at}") for at, (full, *_) in enumerate(inner, 1)],
        travels=[KnobTravel(f"K{at}", travel) for at, (*_, travel) in enumerate(inner, 1)],
        snapshots=[Snapshot("All", ["Low", "Mid", "High"])],
    )
    found = edit(setup, OutOfUse("K3"))
    assert [each.destination for each in found.alarming] == ["Mid/tone"]
    (told,) = found.avoided
    assert told == (
        "Put High/level on K1 first, and Mid/tone stays as it was: 1 route moves in all, and "
        "K1 drives Low/level and High/level."
    )
    assert told in found.headlines
    then = edit(edit(setup, OnKnob("High/level", "K1")).setup, OutOfUse("K3"))
    assert (then.moved, then.alarming, then.avoided) == ((), (), ())
    # Where there is no other knob, or it was asked for there, nothing is offered.
    shut = attrs.evolve(setup, surface=attrs.evolve(setup.surface, reserved=("K1",)))
    asked = edit(setup, OnKnob("High/level", "K2"))
    for other in (edit(shut, OutOfUse("K3")), asked):
        assert other.alarming
        assert other.avoided == ()
