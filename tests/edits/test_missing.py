"""What is essential and was driven by no knob before is told of an edit and of a show too."""

from __future__ import annotations

from knobpack import Destination, Route, Setup, Surface, Voice, edit
from knobpack.show import Show, Song, allocate_show
from knobpack.words.setup_edits import Away, OutOfUse

ORGAN = Voice("Organ", [Destination("level", priority=1), Destination("drive")], 1)
BELLS = Voice("Bells", [Destination("level", priority=1), Destination("shine")], 2)
ROUTES = [Route("Organ/level", "K1"), Route("Organ/drive", "K2")]
LATE = Setup("Late", Surface.row(3), [ORGAN, BELLS], routes=ROUTES)


def test_what_no_knob_drove_before_an_edit_is_told_after_it() -> None:
    found = edit(LATE, OutOfUse("K2"))
    assert found.essential_out == ("Bells/level",)
    assert found.headlines[-1] == "Essential, and driven by no knob: Bells/level."
    # The edit itself leaves nothing out.
    assert found.allocation.essential_out == ()


def test_what_was_put_away_is_not_missed() -> None:
    away = edit(LATE, Away(["Organ/level"]))
    assert away.essential_out == ("Bells/level",)
    assert edit(away.setup, OutOfUse("K3")).essential_out == ("Bells/level",)


def test_a_show_tells_what_its_setups_lack_and_counts_only_what_is_on_a_knob() -> None:
    lacking = allocate_show(Show("One", [Song("Late", LATE)]))
    assert lacking.essential_out == ("Late: Bells/level",)
    assert lacking.sentences[0] == "'Late' leaves Bells/level out."
    assert "'Late' leaves Bells/level out." in lacking.page().replace("<bdi>", "").replace(
        "&#x27;", "'"
    )
    full = Setup("Full", Surface.row(1, destinations_per_knob=1), [ORGAN], routes=ROUTES[:1])
    asked = allocate_show(Show("Two", [Song("Full", full), Song("Free", full, free=True)]))
    assert asked.essential_out == ()
    assert asked.headlines[-1] == "1 of 1 destination is on one knob throughout."
