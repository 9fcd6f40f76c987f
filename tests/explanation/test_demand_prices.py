"""Demand prices: what each thing asked costs, by brute force over the request without it."""

from __future__ import annotations

from collections import Counter

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.definition.prices import TIERS
from knobpack.explanation.demand_prices import DemandPrices, price_of_demands
from knobpack.words import Apart, Fixed, Layout, Request, Route, Snapshot, Surface
from knobpack.words.edits import given_up
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.example import FREE, PAD, a_request
from tests.oracles.reasons_cases import possible
from tests.oracles.reasons_solved import wrong_in_demand_prices
from tests.oracles.reasons_told import wrong_in_sentences

NOTHING = (0,) * len(TIERS)


def told_right(allocation: Allocation) -> DemandPrices:
    """The answer, once nothing wrong has been found in it."""
    answer = price_of_demands(allocation)
    assert wrong_in_demand_prices(allocation, answer) == []
    assert wrong_in_sentences(allocation.request, answer) == []
    for each in answer.prices:
        assert wrong_in_sentences(allocation.request, each) == []
        assert given_up(allocation.request, each.demand) != allocation.request
        assert each.required == (each.demand.price > 0)
    return answer


def test_every_kind_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    for allocation in possible(range(EXAMPLES // 5)):
        for each in told_right(allocation).prices:
            seen[each.kind] += 1
            seen["required" if each.required else "preferred"] += 1
            comparison = each.difference.comparison
            seen["free"] += comparison is not None and comparison.tier is None
            seen["dear"] += comparison is not None and comparison.amount < 0
            assert each.free == (comparison is not None and comparison.rank >= NOTHING)
    kinds = ("rule", "snapshot", "keep", "reserved", "destinations per knob", "routes")
    wanted = (*kinds, "required", "preferred", "free", "dear")
    assert [kind for kind in wanted if seen[kind] < often(3)] == []


def test_prices_are_told_the_dearest_first() -> None:
    rules = (Apart(("Pad/cutoff",), ("Pad/level",)), Fixed(("Pad/pan",), "K1", 7))
    request = a_request(voices=(PAD,), knobs=1, snapshots=(Snapshot("all", ("Pad",)),), rules=rules)
    answer = told_right(allocate_request(request))
    assert answer.sentences == (
        (
            f"Without the rule {rules[0]}: 64 points less in 'destinations left out', proven; "
            "then Pad/level gets K1."
        ),
        "Without any one of these, all else as it is, no layout would be better, proven:",
        "  the rule fixed(Pad/pan; K1), weight 7",
        "  the snapshot 'all'",
    )


def test_limits_and_what_is_kept_are_priced_by_name() -> None:
    surface = Surface.row(2, reserved=("K2",), destinations_per_knob=2, routes=2)
    keep = Layout((Route("Pad/pan", "K2"),))
    answer = told_right(allocate_request(a_request(surface=surface, keep=keep)))
    told = {each.what: each.kind for each in answer.prices}
    assert told == {
        "K2 being closed to what is new": "reserved",
        "Pad/pan being kept on K2": "keep",
        "the limit of 2 on a knob": "destinations per knob",
        "the limit of 2 routes": "routes",
        "the snapshot 'all'": "snapshot",
    }


def test_kept_routes_that_cost_nothing_are_told_in_one_sentence() -> None:
    names = [inner.name for inner in PAD.destinations]
    keep = Layout(tuple(Route(f"Pad/{name}", "K1") for name in names))
    request = Request(Surface.row(1), (PAD,), snapshots=(), keep=keep)
    answer = told_right(allocate_request(request))
    # What is kept on one knob is together for nothing, and so by itself would seem to cost points.
    assert [each.price for each in answer if each.kind == "keep"] == [0] * len(names)
    told = f"Without any one of the {len(names)} routes that are kept no layout would be better"
    assert answer.sentences[0] == f"{told}, proven."
    assert "more in" not in str(answer)


def test_where_nothing_was_asked_nothing_is_priced() -> None:
    allocation = allocate_request(Request(Surface.row(2), (PAD,), snapshots=()))
    answer = told_right(allocation)
    assert answer.prices == ()
    assert str(answer) == "Nothing was asked that could cost anything."


def test_what_something_else_rests_on_cannot_be_dropped() -> None:
    keep = Layout((Route("Pad/pan", "K1"),))
    request = a_request(
        knobs=2,
        surface=Surface.row(2, reserved=("K1",)),
        snapshots=FREE,
        keep=keep,
        rules=(Fixed(("Pad/pan",), "K1"),),
    )
    answer = told_right(allocate_request(request))
    kept = next(each for each in answer.prices if each.kind == "keep")
    assert kept.difference.clash is not None
    told = "these clash: the rule fixed(Pad/pan; K1) holds; K1 takes no new route. "
    told += "No knob is left for Pad/pan, whatever else is left out"
    assert kept.sentences == (f"Without Pad/pan being kept on K1: {told}.",)
