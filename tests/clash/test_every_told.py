"""All clashing sets and ways out: wrong answers are caught; what is said is what is there."""

from __future__ import annotations

import os
import pickle
import re
import subprocess
import sys
from collections.abc import Callable

import attrs
import pytest

from knobpack.clash import WayOut, mcs
from knobpack.clash.every import MORE_SETS, MORE_WAYS, EveryClash, every_clash
from knobpack.clash.mus import Found
from knobpack.errors import KnobpackError
from knobpack.solver.watch import EFFORT
from knobpack.words import Apart, Fixed, Request, Surface
from knobpack.words.demand import Demand, demands_of
from tests.clash.clash_requests import pads, seeded, strict
from tests.clash.test_every import impossible, per_knob, pins, web
from tests.oracles.amount import EXAMPLES
from tests.oracles.every_clash import (
    wrong_in,
)

# The judge is judged ----------------------------------------------------------------------------

SPOILT: dict[str, Callable[[EveryClash, tuple[Demand, ...]], EveryClash]] = {
    "a set can be met": lambda answer, _: attrs.evolve(
        answer, sets=(answer.sets[0][1:], *answer.sets[1:])
    ),
    "a set clashes without one": lambda answer, every: attrs.evolve(
        answer, sets=(*answer.sets[:-1], _with_one_more(answer.sets[-1], every))
    ),
    "a set is not of this request": lambda answer, _: attrs.evolve(
        answer, sets=(answer.sets[0][::-1], *answer.sets[1:])
    ),
    "the sets are not in order": lambda answer, _: attrs.evolve(answer, sets=answer.sets[::-1]),
    "a set is told twice": lambda answer, _: attrs.evolve(
        answer, sets=(answer.sets[0], *answer.sets)
    ),
    "a way leads nowhere": lambda answer, _: _with_first(answer, answer.ways_out[0].demands[1:]),
    "less than a way out": lambda answer, every: _with_first(
        answer, _with_one_more(answer.ways_out[0].demands, every)
    ),
    "the price of a way out is wrong": lambda answer, _: attrs.evolve(
        answer,
        ways_out=(attrs.evolve(answer.ways_out[0], price=1), *answer.ways_out[1:]),
    ),
    "the ways out are not in order": lambda answer, _: attrs.evolve(
        answer, ways_out=answer.ways_out[::-1]
    ),
    "a way out is told twice": lambda answer, _: attrs.evolve(
        answer, ways_out=(answer.ways_out[0], *answer.ways_out)
    ),
    "a way out is not of this request": lambda answer, _: _with_first(
        answer, answer.ways_out[0].demands[::-1]
    ),
    "all is proven, and a way out is not": lambda answer, _: attrs.evolve(
        answer, ways_out=(*answer.ways_out[:-1], attrs.evolve(answer.ways_out[-1], proven=False))
    ),
    "it is not complete": lambda answer, _: attrs.evolve(answer, ways_out=answer.ways_out[:-1]),
    "the sets hit the ways out and not": lambda answer, every: attrs.evolve(
        answer, sets=(*answer.sets, every)
    ),
    "a way out leaves a clash": lambda answer, every: attrs.evolve(
        answer, sets=(*answer.sets, (every[0],))
    ),
    "it is complete, and said to go on": lambda answer, _: attrs.evolve(
        answer, complete=False, stopped=MORE_SETS
    ),
    "it is stopped, or it is complete": lambda answer, _: attrs.evolve(answer, stopped=EFFORT),
    "possible is True": lambda _, __: EveryClash(possible=True, complete=True),
    "something is told though": lambda answer, _: attrs.evolve(answer, possible=None),
}


def _with_one_more(some: tuple[Demand, ...], every: tuple[Demand, ...]) -> tuple[Demand, ...]:
    more = next(demand for demand in every if demand not in some)
    return tuple(demand for demand in every if demand in (*some, more))


def _with_first(answer: EveryClash, demands: tuple[Demand, ...]) -> EveryClash:
    way = WayOut(demands, sum(demand.price for demand in demands))
    return attrs.evolve(answer, ways_out=(way, *answer.ways_out[1:]))


@pytest.mark.parametrize("fault", SPOILT)
def test_a_wrong_answer_is_caught(fault: str) -> None:
    request = attrs.evolve(per_knob(4, 2), rules=(Fixed(("V1/d1",), "K1"), Fixed(("V1/d1",), "K2")))
    answer, every = every_clash(request), demands_of(request)
    assert wrong_in(request, answer) == []
    spoilt = SPOILT[fault](answer, every)
    assert [each for each in wrong_in(request, spoilt) if fault in each]


def test_any_demand_dropped_from_a_set_or_added_to_it_is_caught() -> None:
    for request in impossible(max(3, EXAMPLES // 200), 6, first=300):
        answer, every = every_clash(request), demands_of(request)
        for number, demands in enumerate(answer.sets):
            for demand in every:
                changed = tuple(d for d in every if (d in demands) != (d == demand))
                sets = (*answer.sets[:number], changed, *answer.sets[number + 1 :])
                assert wrong_in(request, attrs.evolve(answer, sets=sets))
        for number, way in enumerate(answer.ways_out):
            for demand in every:
                changed = tuple(d for d in every if (d in way.demands) != (d == demand))
                other = WayOut(changed, sum(each.price for each in changed))
                ways = (*answer.ways_out[:number], other, *answer.ways_out[number + 1 :])
                assert wrong_in(request, attrs.evolve(answer, ways_out=ways))


def test_a_request_that_is_possible_has_no_clash() -> None:
    request = per_knob(2, 2)
    answer = every_clash(request)
    assert answer == EveryClash(possible=True, complete=True)
    assert wrong_in(request, answer) == []
    assert wrong_in(request, attrs.evolve(answer, complete=False))
    assert str(answer) == "Every demand can be met."
    assert every_clash(Request(Surface(()), ())).possible


def test_models_that_disagree_are_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    """If the search for cheap ways out passed the cheapest over, the map would find it."""
    request = per_knob(3, 2)
    limit = tuple(each for each in demands_of(request) if each.kind == "destinations per knob")
    monkeypatch.setattr(mcs, "ways_out", lambda *_: [Found(limit, proven=True)])
    with pytest.raises(KnobpackError, match="two models disagree"):
        every_clash(request)


def test_a_way_out_that_is_not_proven_minimal_is_made_so(monkeypatch: pytest.MonkeyPatch) -> None:
    request = per_knob(3, 2)
    whole = every_clash(request)
    loose = Found(demands_of(request), proven=False)
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
    spent = attrs.evolve(answer, sets=answer.sets[:1], stopped=EFFORT)
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

_PRINT = """
from tests.clash.clash_requests import seeded, strict
from knobpack.clash.every import every_clash
for seed in range(8):
    print(every_clash(strict(seeded(seed)), most=12))
"""


def test_the_same_request_gives_the_same_answer_in_another_process() -> None:
    here = "".join(f"{every_clash(strict(seeded(seed)), most=12)}\n" for seed in range(8))
    for hash_seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": "."}
        ran = subprocess.run(  # noqa: S603 (our own text)
            [sys.executable, "-c", _PRINT],
            env=environment,
            capture_output=True,
            check=True,
            text=True,
        )
        assert ran.stdout == here


def test_an_answer_can_be_sent() -> None:
    answer = every_clash(pins(2))
    sent = pickle.loads(pickle.dumps(answer))  # noqa: S301 (our own)
    assert sent == answer
    assert hash(sent) == hash(answer)


def test_to_import_it_does_not_import_the_solver() -> None:
    code = "import sys, knobpack.clash.every; sys.exit('ortools' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603
