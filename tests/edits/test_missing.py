"""What is essential and was driven by no knob before is told of an edit and of a show too."""

from __future__ import annotations

import re
from collections.abc import Callable
from html import unescape

import pytest

from knobpack import (
    Destination,
    InputError,
    Join,
    KnobTravel,
    Route,
    Setup,
    Surface,
    Travel,
    Voice,
    edit,
)
from knobpack.show import Show, Song, allocate_show
from knobpack.words.setup_edits import Away, OutOfUse, OwnKnob

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


def test_an_edit_tells_in_its_headlines_what_it_joins_and_what_goes_over_less() -> None:
    low = Destination("drive", travel=Travel(20, 127))
    organ = Voice("Organ", [Destination("level", priority=1), low], 1)
    travels = [KnobTravel("K1", Travel(0, 127)), KnobTravel("K2", Travel(20, 127))]
    setup = Setup("Late", Surface.row(3), [organ], routes=ROUTES, travels=travels)
    found = edit(setup, Join(["K1", "K2"]))
    _, joined, less = found.headlines
    assert "can no longer be moved apart" in joined
    assert less == "Organ/drive had 20 to 127 (84 %) and now has 0 to 127 (full) on K1."
    assert [*found.sentences].count(less) == 1


SHOWN = allocate_show(Show("One", [Song("Late", LATE)]))


@pytest.mark.parametrize(
    ("ask", "right"),
    [
        (edit(LATE, OutOfUse("K2")).allocation.why, "edit with OwnKnob"),
        (edit(LATE, OutOfUse("K2")).allocation.knob_of, "edit with OwnKnob"),
        (SHOWN.song("Late").travel_of, "edit with OwnKnob"),
        (lambda name: SHOWN.why_elsewhere("Late", name, "K3"), "no knob drives it in 'Late'"),
    ],
)
def test_of_what_no_knob_drives_it_is_said_how_it_can_be_asked(
    ask: Callable[[str], object], right: str
) -> None:
    ask("Organ/level")
    with pytest.raises(InputError, match=right):
        ask("Bells/shine")
    placed = edit(LATE, OwnKnob("Bells/shine"))
    assert placed.allocation.knob_of("Bells/shine") is not None


def test_what_was_put_away_is_not_missed() -> None:
    away = edit(LATE, Away(["Organ/level"]))
    assert away.essential_out == ("Bells/level",)
    assert edit(away.setup, OutOfUse("K3")).essential_out == ("Bells/level",)


def test_a_show_tells_what_its_setups_lack_and_counts_only_what_is_on_a_knob() -> None:
    lacking = allocate_show(Show("One", [Song("Late", LATE)]))
    assert lacking.essential_out == ("Late: Bells/level",)
    told = "Essential, and driven by no knob in 'Late': Bells/level."
    assert lacking.headlines[0] == lacking.sentences[0] == told
    assert told in unescape(re.sub("<[^>]*>", "", lacking.page()))
    full = Setup("Full", Surface.row(1, destinations_per_knob=1), [ORGAN], routes=ROUTES[:1])
    asked = allocate_show(Show("Two", [Song("Full", full), Song("Free", full, free=True)]))
    assert asked.essential_out == ()
    # Of what is left out no one asks where it is found.
    assert asked.headlines[-1] == "1 of 1 destination in several songs is on one knob throughout."
    assert "throughout" not in "".join(lacking.sentences)
