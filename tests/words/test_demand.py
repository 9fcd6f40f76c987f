"""Demand: everything that a layout must do, in words."""

from typing import Any

import attrs
import pytest

from knobpack.checker import check
from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Voice,
    VoiceLayer,
)
from knobpack.words.demand import Demand, DemandKind, demands_of

PAD = Voice("Pad", (Destination("cutoff", priority=1, must_place=True), Destination("level")))
BASS = Voice("Bass", (Destination("cutoff", priority=5, must_place=True),))
REQUEST = Request(
    Surface.row(3, reserved=("K3",), destinations_per_knob=2, routes=5, layers=1, snapshots=1),
    (PAD, BASS),
    snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("low", ("Bass",), 7)),
    rules=(Apart(("Pad",), ("Bass",)), Alone(("Bass",), weight=3), Apart(("Pad",), ("Bass",))),
    keep=Layout((Route("Pad/level", "K3"),)),
)

IN_WORDS = [
    ("Pad/cutoff must be placed", "leave Pad/cutoff out"),
    ("Bass/cutoff must be placed", "leave Bass/cutoff out"),
    (
        "the rule apart(Pad; Bass) holds",
        "drop the rule apart(Pad; Bass), or prefer it with a weight",
    ),
    (
        "snapshot 'all' has what it moves and what it holds on different knobs",
        "let snapshot 'all' be broken, with a break weight",
    ),
    ("K3 takes no new route", "let K3 take new routes"),
    ("Pad/level is kept on K3", "free the base's Pad/level from K3"),
    ("a knob carries at most 2", "let a knob carry more than 2"),
    ("there are at most 5 routes in all", "allow more than 5 routes in all"),
    ("voice 'Pad' needs a layer", "leave voice 'Pad' out"),
    ("voice 'Bass' needs a layer", "leave voice 'Bass' out"),
    ("the surface has 1 layer", "use a surface of more than 1 layer"),
    ("snapshot 'all' is stored", "drop snapshot 'all'"),
    ("snapshot 'low' is stored", "drop snapshot 'low'"),
    ("the surface stores 1 snapshot", "use a surface that stores more than 1 snapshot"),
]


def test_every_demand_in_words_with_its_way_out() -> None:
    # A rule said twice is one demand; what is preferred with a weight is none.
    assert [(str(each), each.way_out) for each in demands_of(REQUEST)] == IN_WORDS


def test_a_request_that_demands_nothing() -> None:
    voice = Voice("Pad", (Destination("cutoff"),))
    snapshots = (Snapshot("all", ("Pad",), 0),)
    assert demands_of(Request(Surface.row(1), (voice,), snapshots=snapshots)) == ()


def test_leaving_one_out_is_reckoned_by_priority_and_all_else_dearer() -> None:
    prices: dict[str, set[int]] = {}
    for each in demands_of(REQUEST):
        prices.setdefault(each.kind, set()).add(each.price)
    weights = REQUEST.weights.unplaced
    assert prices.pop("place") == {weights[0], 0}
    assert all(price > max(weights) for found in prices.values() for price in found)


def test_the_price_is_no_part_of_the_demand() -> None:
    assert Demand("place", "Pad/cutoff", 3) == Demand("place", "Pad/cutoff", 4)
    assert len({Demand("place", "Pad/cutoff", 3), Demand("place", "Pad/cutoff")}) == 1


@pytest.mark.parametrize("kind", ["place", "keep", "rule", "separate", "reserved", "layer"])
def test_braces_in_a_name_are_only_braces(kind: DemandKind) -> None:
    subject: Any = Route("{0}/{}", "{x}") if kind == "keep" else "{0}"
    demand = Demand(kind, subject)
    assert "{0}" in str(demand)
    assert "{0}" in demand.way_out


def test_what_the_checker_finds_broken_is_among_the_demands() -> None:
    layout = Layout(
        (Route("Pad/level", "K1"), Route("Bass/cutoff", "K1"), Route("Pad/cutoff", "K3")),
        layers=(VoiceLayer("Pad", 1), VoiceLayer("Bass", 2)),
    )
    snapshots = (Snapshot("all", ("Bass",)), Snapshot("low", ("Bass",)))
    request = attrs.evolve(REQUEST, snapshots=snapshots)
    broken = {breach.demand for breach in check(request, layout).breaches}
    assert {each.kind for each in broken} == {
        *("separate", "reserved", "keep", "rule", "layers", "snapshots"),
    }
    assert broken <= set(demands_of(request))
