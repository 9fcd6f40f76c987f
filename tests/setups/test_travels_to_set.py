"""Which edit gives a level that matters its travel, and what that costs what shares its knob."""

from __future__ import annotations

import attrs

from knobpack import (
    Destination,
    KnobTravel,
    OutOfUse,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    combine,
    edit,
)
from knobpack.setups.missed_travels import missed_between, missed_told

TOLD = (
    "The edit 'travel K1 0 127' gives Organ/level its travel; then Pad/send, Pad/echo and Pad/wash "
    "go higher than they want on K1: 0 to 127 (full), not 0 to 60 (47 %)."
)


def a_pad(*more: Voice, priority: int = 1) -> Setup:
    """Three essential sends over 0 to 60 on one knob, and other voices, whose levels are on K2.

    Args:
        more: the other voices.
        priority: that of each level.
    """
    inner = [Destination(each, "send", priority=1) for each in ("send", "echo", "wash")]
    levels = [attrs.evolve(each, destinations=(_level(priority),)) for each in more]
    return Setup(
        "Pad set",
        Surface.row(2),
        (Voice("Pad", inner, 1), *levels),
        routes=(
            *(Route(f"Pad/{each.name}", "K1") for each in inner),
            *(Route(f"{each.name}/level", "K2") for each in more),
        ),
        travels=(KnobTravel("K1", Travel(0, 60)),),
    )


def _level(priority: int) -> Destination:
    return Destination("level", priority=priority)


ORGAN = Voice("Organ", (), 2)


def test_the_edit_is_told_with_what_it_costs_and_does_what_is_told() -> None:
    # K2 breaks: three sends outweigh one level as important, which comes to 60 of 127, 47 %.
    broken = edit(a_pad(ORGAN), OutOfUse("K2"))
    assert broken.headlines[:3] == (
        "Organ/level reaches only 47 % on K1: 0 to 60 (47 %), before 0 to 127 (full).",
        TOLD,
        "Organ/level goes from K2 to K1, because K2 is broken.",
    )
    done = edit(broken.setup, KnobTravel("K1", Travel(0, 127)))
    assert list(missed_told(missed_between(None, done.setup))) == [TOLD.partition("then ")[2][:-1]]
    # What was set on purpose is told as what it is, without the way back.
    back = edit(done.setup, KnobTravel("K1", Travel(0, 60)))
    assert "reaches only 47 %" in str(back)
    assert "gives" not in str(back)


def test_it_is_told_of_levels_that_rank_high_alone() -> None:
    for priority in range(1, 6):
        told = edit(a_pad(ORGAN, priority=priority), OutOfUse("K2")).sentences
        assert (TOLD in told) == (priority <= 2)


def test_two_levels_that_miss_the_same_are_told_of_together() -> None:
    broken = edit(a_pad(ORGAN, Voice("Flute", (), 3), priority=2), OutOfUse("K2"))
    both = TOLD.replace("Organ/level its", "Organ/level and Flute/level their")
    assert both in broken.headlines


def test_a_combination_tells_it_of_what_shares_a_knob_of_the_base() -> None:
    base = attrs.evolve(a_pad(), surface=Surface.row(1), snapshots=(Snapshot("All", ("Pad",)),))
    routes = (Route("Organ/level", "K1"),)
    voice = attrs.evolve(ORGAN, destinations=(_level(1),))
    found = combine(base, Setup("Organ set", Surface.row(2), (voice,), routes=routes))
    assert found.allocation.knob_of("Organ/level") == "K1"
    # Of the base nothing says what it wants: it is told as what it goes over.
    came = next(each for each in found.headlines if " came" in each)
    assert found.headlines.index(TOLD) > found.headlines.index(came)


def test_advice_with_more_than_one_harm_is_none() -> None:
    # A fourth send over 0 to 127 reversed would be turned round by it, while three go too high.
    pad = a_pad(ORGAN)
    echo = Voice("Echo", (Destination("back", "send", priority=1, travel=Travel(60, 0)),), 3)
    routes = (*pad.routes, Route("Echo/back", "K1"))
    more = attrs.evolve(pad, voices=(*pad.voices, echo), routes=routes)
    told = " ".join(edit(more, OutOfUse("K2")).headlines)
    assert "Organ/level reaches only 47 % on K1" in told
    assert "The edit 'travel K1" not in told
