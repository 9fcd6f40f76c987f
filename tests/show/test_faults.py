"""Faults of songs that are programmed: told once, with how to mend them, page and text alike."""

from __future__ import annotations

import re
from html import unescape

from knobpack import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice
from knobpack.present.show_text import show_text
from knobpack.show import Show, Song, allocate_show, on_panel

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
