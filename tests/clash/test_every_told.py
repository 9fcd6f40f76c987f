"""All clashing sets and ways out: wrong answers are caught; what is said is what is there."""

from __future__ import annotations

import re

import attrs
import pytest

from knobpack.clash import mcs
from knobpack.clash.every import MORE_WAYS, EveryClash, every_clash
from knobpack.clash.mus import Subset
from knobpack.errors import KnobpackError
from knobpack.words import Apart, Fixed, Request, Surface
from knobpack.words.demand import demands_of
from tests.clash.clash_requests import pads
from tests.clash.test_every import per_knob, web
from tests.oracles.every_clash import (
    wrong_in,
)


def test_a_request_that_is_possible_has_no_clash() -> None:
    request = per_knob(2, 2)
    answer = every_clash(request)
    assert answer == EveryClash(possible=True)
    assert wrong_in(request, answer) == []
    assert wrong_in(request, attrs.evolve(answer, stopped="effort"))
    assert str(answer) == "Every demand can be met."
    assert every_clash(Request(Surface(()), ())).possible


def test_models_that_disagree_are_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    """If the search for cheap ways out passed the cheapest over, the map would find it."""
    request = per_knob(3, 2)
    limit = tuple(each for each in demands_of(request) if each.kind == "destinations per knob")
    monkeypatch.setattr(mcs, "ways_out", lambda *_: [Subset(limit, proven=True)])
    with pytest.raises(KnobpackError, match="two models disagree"):
        every_clash(request)


def test_a_way_out_that_is_not_proven_minimal_is_made_so(monkeypatch: pytest.MonkeyPatch) -> None:
    request = per_knob(3, 2)
    whole = every_clash(request)
    loose = Subset(demands_of(request), proven=False)
    monkeypatch.setattr(mcs, "ways_out", lambda *_: [loose])
    assert every_clash(request) == whole


# What is said -----------------------------------------------------------------------------------


def test_all_that_is_said_of_a_small_clash() -> None:
    request = pads(
        Fixed(("Pad",), "K1"),
        Fixed(("Pad/level",), "K2"),
        Apart(("Pad/cutoff",), ("Pad/level",)),
        surface=Surface.row(2),
    )
    both, one, other = (
        f"drop the rule {rule}, or prefer it with a weight" for rule in request.rules
    )
    assert every_clash(request).sentences == (
        "No layout meets every demand.",
        "Proven to be all: 2 clashes and 2 ways out.",
        f"Way out 1, reckoned at 257 points: {both}.",
        f"Way out 2, reckoned at 514 points: {one} and {other}.",
        "Clash 1: the rule fixed(Pad; K1) holds; the rule fixed(Pad/level; K2) holds.",
        "Clash 2: the rule fixed(Pad; K1) holds; the rule apart(Pad/cutoff; Pad/level) holds.",
    )


def test_what_is_said_of_an_answer_that_is_not_complete() -> None:
    answer = every_clash(per_knob(5, 2), most=2)
    assert answer.sentences[1] == (
        "Found so far: 2 clashes and 2 ways out. Not proven to be all: there are more clashes."
    )
    more = attrs.evolve(answer, stopped=MORE_WAYS)
    assert more.sentences[1].endswith("there are more ways out.")
    spent = attrs.evolve(answer, sets=answer.sets[:1], stopped="effort")
    assert spent.sentences[1] == (
        "Found so far: 1 clash and 2 ways out. Not proven to be all: the search was stopped "
        "(effort)."
    )
    doubtful = attrs.evolve(answer.ways_out[0], proven=False)
    told = attrs.evolve(answer, ways_out=(doubtful,)).sentences
    assert told[2].endswith("(not proven: another may cost less).")
    assert str(every_clash(per_knob(5, 2), effort=0)) == (
        "It is not known whether every demand can be met: the search was stopped (effort)."
    )


def test_long_answers_are_cut_short_and_counted() -> None:
    answer = every_clash(web(5))
    told = answer.sentences
    assert f"And {len(answer.ways_out) - 10} more ways out." in told
    assert "And 12 more clashes." in told
    assert len(told) == 2 + 10 + 1 + 10 + 1
    for sentence, way in zip(told[2:12], answer.ways_out, strict=False):
        assert f"reckoned at {way.price:,} points" in sentence
    assert not re.search(r"infeasible|variable|minimal|clause|solver", str(answer))


# Repeated, carried away -------------------------------------------------------------------------
