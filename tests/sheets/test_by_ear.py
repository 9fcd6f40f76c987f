"""What is to be set by ear: where knobs are held that no one knows of."""

from __future__ import annotations

import attrs

from knobpack.present.setup_text import by_ear_lines
from knobpack.sheets import patch_sheet
from knobpack.words import (
    Destination,
    KnobPosition,
    Route,
    Setup,
    Snapshot,
    Surface,
    Voice,
)
from tests.sheets.held import HELD, PAD, A, one_line


def test_where_knobs_are_held_stands_in_every_form() -> None:
    bare = Setup("Bare", A.surface)
    sheet = patch_sheet(bare, HELD)
    for text in (sheet.text(), sheet.markdown(), sheet.page()):
        assert "by ear" not in text.casefold()
    assert "Held in 'held': K1 at 512 and K2 at 9" in sheet.text()
    assert "Held in 'held': K1 at 512 and K2 at 9" in sheet.markdown()
    assert "Held in '<bdi>held</bdi>': <bdi>K1</bdi> at 512 and <bdi>K2</bdi> at 9" in sheet.page()


def test_what_is_held_where_no_one_knows_is_set_by_ear() -> None:
    """How a player sets what is not written down is common practice, no source."""
    one = attrs.evolve(HELD, snapshots=(Snapshot("held", positions=(KnobPosition("K1", 512),)),))
    said = "Snapshot 'held': set by ear K2; where it is held is not known."
    for before in (A, HELD, attrs.evolve(one, routes=HELD.routes[:1])):
        sheet = patch_sheet(before, one)
        assert f"SET BY EAR\n  - {said}" in sheet.text()
        assert f"## Set by ear\n\n- {said}" in sheet.markdown()
        assert "set by ear <bdi>K2</bdi>; where it is held is not known." in sheet.page()
    # It was so before: nothing is to be done about it now.
    assert "EAR" not in patch_sheet(one, attrs.evolve(one, name="B")).text()
    # A knob that follows, and one that drives nothing, need no ear.
    moves = attrs.evolve(one, routes=HELD.routes[:1], snapshots=(Snapshot("moves", ("Pad",)),))
    assert "EAR" not in patch_sheet(A, moves).text()
    # No snapshot is stored, so none is to be set.
    assert "EAR" not in patch_sheet(A, attrs.evolve(one, snapshots=())).text()


def test_only_what_comes_to_a_knob_is_new_where_it_stood_no_one_knew_where_before() -> None:
    lead = Voice("Lead", (Destination("level"),), 2)
    one = attrs.evolve(HELD, voices=(PAD, lead), snapshots=(Snapshot("held"),))
    more = attrs.evolve(one, routes=(*HELD.routes, Route("Lead/level", "K2")))
    said = ["  'held'  K2", "  K2 is the level of Lead, which sounds there unless you set it."]
    assert by_ear_lines(one, more)[1:] == said
    moved = attrs.evolve(one, routes=(Route("Pad/pan", "K1"), Route("Lead/level", "K2")))
    assert by_ear_lines(more, one) == by_ear_lines(moved, moved) == []


def test_levels_that_are_held_no_one_knows_where_are_named_as_they_sound() -> None:
    """That a voice sounds unless its level is set is common practice, no source."""
    lead = Voice("Lead", (Destination("level"), Destination("tone")), 2)
    keys = Voice("Keys", (Destination("out", "main volume"),), 3)
    after = attrs.evolve(
        HELD,
        surface=Surface.row(5, bits=10),
        voices=(PAD, lead, keys),
        routes=(
            *HELD.routes,
            Route("Lead/level", "K3"),
            Route("Lead/tone", "K4"),
            Route("Keys/out", "K5"),
        ),
    )
    before = attrs.evolve(HELD, surface=after.surface)
    ear = "Snapshot 'held': set by ear K3, K4 and K5; where they are held is not known."
    said = (
        f"{ear} K3 and K5 are the levels of Lead and Keys, which sound there unless you set them."
    )
    assert said in one_line(patch_sheet(before, after).text())
    silent = attrs.evolve(after, snapshots=(attrs.evolve(HELD.snapshots[0], silent=("Keys",)),))
    told = "K3 is the level of Lead, which sounds there unless you set it."
    assert told in one_line(patch_sheet(before, silent).text())
    # Whether the voice, or the snapshot, is new: a level stands wherever its knob stands.
    there = attrs.evolve(before, voices=after.voices)
    new = attrs.evolve(after, snapshots=(Snapshot("new", positions=HELD.snapshots[0].positions),))
    for one, other in ((there, after), (before, new)):
        assert said.partition(" K3 and K5 are")[2] in one_line(patch_sheet(one, other).text())


def test_levels_that_sound_are_told_once_where_other_knobs_beside_them_are_set_by_ear() -> None:
    lead = Voice("Lead", (Destination("level"), Destination("tone")), 2)
    (held,) = HELD.snapshots
    more = Snapshot("more", positions=(*held.positions, KnobPosition("K4", 9)))
    before = attrs.evolve(HELD, surface=Surface.row(4, bits=10), snapshots=(held, more))
    routes = (*HELD.routes, Route("Lead/level", "K3"), Route("Lead/tone", "K4"))
    after = attrs.evolve(before, voices=(PAD, lead), routes=routes)
    told = "K3 is the level of Lead, which sounds there unless you set it."
    what = "where these are held in a snapshot is not known"
    assert by_ear_lines(before, after)[0] == f"SET BY EAR  new: {what}"
    # Of a whole setup, with nothing before it, nothing is new.
    assert by_ear_lines(Setup("Evening", after.surface), after)[0] == f"SET BY EAR  {what}"
    assert by_ear_lines(before, after)[1:] == [
        "  'held'  K3, K4",
        "  'more'  K3",
        f"  'held' and 'more': {told}",
    ]
    one = attrs.evolve(after, snapshots=(more,))
    assert by_ear_lines(before, one)[1:] == ["  'more'  K3", f"  {told}"]


def test_snapshots_that_ask_for_the_same_ear_are_told_once() -> None:
    snapshots = (Snapshot("held"), Snapshot("held too"))
    after = attrs.evolve(HELD, snapshots=snapshots)
    text = one_line(patch_sheet(HELD, after).text())
    assert "Snapshots 'held' and 'held too': set by ear K1 and K2; where they are held" in text
    assert text.count("set by ear") == 1


def test_what_no_one_hears_need_not_be_set_by_ear() -> None:
    lead = Voice("Lead", (Destination("level"),), 2)
    base = attrs.evolve(
        A,
        voices=(PAD, lead),
        routes=(Route("Pad/level", "K1"), Route("Lead/level", "K2"), Route("Pad/pan", "K2")),
    )
    held = attrs.evolve(base, snapshots=(Snapshot("held", silent=("Pad",)),))
    assert "set by ear K2; where it is held" in patch_sheet(base, held).text()
    alone = attrs.evolve(base, snapshots=(Snapshot("held", silent=("Pad", "Lead")),))
    assert "by ear" not in patch_sheet(base, alone).text()
