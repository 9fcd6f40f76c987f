"""Facts and obstacles by hand: how each is told, and that what does not hold is found out."""

from __future__ import annotations

import pytest

from knobpack.reasons.facts import Fact, Obstacle
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from tests.oracles.reasons import wrong_in_fact

REQUEST = Request(
    Surface.row(3, reserved=("K3",), destinations_per_knob=2, routes=5),
    (
        Voice("Pad", (Destination("cutoff"), Destination("level"), Destination("pan"))),
        Voice("Bass", (Destination("cutoff"), Destination("drive", movable=False))),
    ),
    snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("pad", ("Pad",), break_weight=3)),
    rules=(
        Apart(("Pad/cutoff",), ("Bass/cutoff", "Pad/pan")),
        Apart(("Pad/level",), ("Bass",), 10),
        Alone(("Pad/pan",)),
        Together(("Pad/cutoff", "Pad/level")),
        Fixed(("Bass/cutoff",), "K2"),
        Barred(("Pad/pan",), ("K1", "K2")),
    ),
    keep=Layout((Route("Bass/drive", "K3"),)),
)
PLACES = {"Pad/cutoff": "K1", "Pad/level": "K1", "Bass/cutoff": "K2", "Bass/drive": "K3"}
TRUE = (
    (
        Fact("moved", ("Pad/pan", "Bass/drive"), by="all"),
        "snapshot 'all' moves Pad/pan and holds Bass/drive",
    ),
    (
        Fact("held", ("Bass/drive", "Pad/pan", "Bass/cutoff"), by="all"),
        "snapshot 'all' holds Bass/drive and moves Pad/pan and Bass/cutoff",
    ),
    (
        Fact("apart", ("Pad/pan", "Pad/cutoff"), by="apart(Pad/cutoff; Bass/cutoff, Pad/pan)"),
        "the rule apart(Pad/cutoff; Bass/cutoff, Pad/pan) keeps Pad/pan apart from Pad/cutoff",
    ),
    (
        Fact("alone", ("Pad/level", "Pad/pan"), by="alone(Pad/pan)"),
        "the rule alone(Pad/pan) lets Pad/level share no knob with Pad/pan",
    ),
    (
        Fact("together", ("Pad/level", "Pad/cutoff"), by="together(Pad/cutoff, Pad/level)"),
        "the rule together(Pad/cutoff, Pad/level) binds Pad/level and Pad/cutoff together",
    ),
    (
        Fact("fixed", ("Bass/cutoff",), "K2", "fixed(Bass/cutoff; K2)"),
        "the rule fixed(Bass/cutoff; K2) puts Bass/cutoff on K2",
    ),
    (
        Fact("barred", ("Pad/pan",), "K2", "barred(Pad/pan; K1, K2)"),
        "the rule barred(Pad/pan; K1, K2) bars Pad/pan from K2",
    ),
    (Fact("kept", ("Bass/drive",), "K3"), "Bass/drive is kept on K3"),
    (Fact("reserved", (), "K3"), "K3 takes no new route"),
    (Fact("destinations per knob", count=2), "a knob may carry 2 at most"),
    (Fact("routes", count=5), "there may be 5 routes at most"),
    (Fact("on", ("Pad/cutoff",), "K1"), "Pad/cutoff is on K1"),
    (Fact("on", ("Pad/cutoff", "Pad/level"), "K1"), "Pad/cutoff and Pad/level are on K1"),
    (Fact("used", count=4), "all 4 are in use"),
)


@pytest.mark.parametrize(("fact", "text"), TRUE)
def test_a_fact_is_told_in_plain_words(fact: Fact, text: str) -> None:
    assert wrong_in_fact(REQUEST, PLACES, fact) == []
    assert str(fact) == text


def test_an_obstacle_is_told_in_one_sentence() -> None:
    there, limit = Fact("on", ("Pad/cutoff", "Pad/level"), "K1"), TRUE[9][0]
    full, kept = Obstacle((there, limit)), Obstacle((TRUE[7][0], TRUE[0][0]))
    assert str(full) == "K1 carries 2 already and a knob may carry 2 at most"
    assert not full.lasting
    assert str(kept) == f"{TRUE[7][1]} and {TRUE[0][1]}"
    assert kept.lasting
    told = {
        Fact("moved", ("Bass/cutoff", *there.destinations), by="x"): (
            "snapshot 'x' holds while it moves Bass/cutoff"
        ),
        Fact("held", ("Bass/cutoff", *there.destinations), by="x"): (
            "snapshot 'x' moves while it holds Bass/cutoff"
        ),
        Fact("alone", ("Bass/cutoff", *there.destinations), by="alone(Bass)"): (
            "the rule alone(Bass) keeps apart from Bass/cutoff"
        ),
    }
    for fact, text in told.items():
        assert str(Obstacle((there, fact))) == f"K1 carries Pad/cutoff and Pad/level, which {text}"
