"""Faults of songs that are programmed: told once, with how to mend them, page and text alike."""

from __future__ import annotations

import re
from html import unescape

import attrs

from knobpack import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice
from knobpack.present.show_text import show_text
from knobpack.show import Show, Song, allocate_show, on_panel
from knobpack.show.faults import broken_told
from knobpack.words import BrokenKnob, KnobPosition

PANEL = Surface.row(4)
REED = Voice("Reed", [Destination("glide", priority=1), Destination("room")], layer=1)
SLIP = Setup(
    "Slip",
    PANEL,
    [REED],
    routes=[Route("Reed/glde", "K3"), Route("Reed/room", "K2")],
    travels=[KnobTravel("K2", Travel(64, 64))],
    snapshots=[Snapshot("all", ["Reed"])],
)
WELL = Setup("Well", PANEL, [REED], routes=[Route("Reed/room", "K2")])
FOUND = allocate_show(Show("Friday", [Song("A", SLIP), Song("B", SLIP), Song("C", WELL)]))


def test_each_fault_is_told_once_with_its_songs_and_how_to_mend_it() -> None:
    slip, still = FOUND.fault_sentences
    assert slip.startswith("In 'A' and 'B': K3 is routed to Reed/glde, ")
    assert slip.endswith("; close to it: Reed/glide.")
    assert still == (
        "In 'A' and 'B': the travel of K2 starts where it ends (64 to 64), so Reed/room stays put; "
        "set start and end apart."
    )
    for told in (FOUND.sentences, FOUND.headlines):
        assert [each for each in told if each in (slip, still)] == [slip, still]
    assert allocate_show(Show("Well", [Song("C", WELL)])).fault_sentences == ()


def test_what_does_nothing_is_said_where_the_knob_is_in_text_and_page() -> None:
    rows = [" ".join(line.split()) for line in show_text(FOUND).splitlines()]
    assert "K2 Reed/room all; does nothing in 1 and 2" in rows
    assert rows.count("K3 -") == 1
    page = unescape(re.sub("<[^>]*>", "", FOUND.page()))
    assert page.count("it has a travel that starts where it ends") == 2
    assert page.count("nothing: it leads to nothing that is there") == 2


def test_a_slip_is_carried_to_no_other_panel_and_told() -> None:
    there = on_panel(FOUND, Surface.row(2))
    for song, slips in zip(there.songs, (1, 1, 0), strict=True):
        told = [each for each in song.notes if each.startswith("Stays behind: K3 is routed to ")]
        assert len(told) == slips
        assert not song.gone
        assert not song.essential_out


def test_a_knob_that_is_out_of_use_in_a_song_is_told_with_what_it_drives_in_others() -> None:
    broken = attrs.evolve(WELL, broken=(BrokenKnob("K2"), BrokenKnob("K4")), routes=())
    found = allocate_show(Show("Friday", [Song("A", broken), Song("B", WELL), Song("C", WELL)]))
    told = "K2 is out of use in 'A', and drives Reed/room in 'B' and 'C'."
    assert [each for each in found.losses if "out of use" in each] == [told]
    assert told in found.sentences


def test_what_such_a_knob_drives_is_told_of_the_songs_in_which_it_does() -> None:
    more = attrs.evolve(WELL, routes=(*WELL.routes, Route("Reed/glide", "K2")))
    broken = attrs.evolve(WELL, broken=(BrokenKnob("K2"),), routes=())
    (told,) = broken_told({"A": broken, "B": WELL, "C": more, "D": WELL})
    drives = "Reed/room in 'B' and 'D', and Reed/room and Reed/glide in 'C'"
    assert told == f"K2 is out of use in 'A', and drives {drives}."


def test_the_page_says_what_each_snapshot_holds_and_what_sounds_for_it() -> None:
    solo = Snapshot("solo", (), positions=(KnobPosition("K1", 90), KnobPosition("K2", 0)))
    voices = [Voice(name, [Destination("level", priority=1)], n) for n, name in enumerate("ABC", 1)]
    routes = [Route(f"{name}/level", f"K{n}") for n, name in enumerate("ABC", 1)]
    song = Setup("Solo", PANEL, voices, routes=routes, snapshots=[Snapshot("all", "ABC"), solo])
    page = allocate_show(Show("Friday", [Song("Solo", song)])).page()
    told = "nothing with the master; K1 held at 90, where A/level sounds; K2 held at 0; K3 by ear"
    assert told in unescape(re.sub("<[^>]*>", "", page))
