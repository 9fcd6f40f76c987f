"""What rules and bundles cost, in the network of facts; and what is parted there by being bound.

The numbers are worked by hand from the definitions in DEVELOPERS.md; the names are invented.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import Any

import attrs
import networkx as nx
import pytest

from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.reasons.graph import layout_graph, node
from knobpack.reasons.ground import Ground
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Rule,
    Surface,
    Together,
    Voice,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.reasons_cases import possible

PAD = Voice("Pad", (Destination("cutoff"), Destination("level")))
BASS = Voice("Bass", (Destination("cutoff"),))
RULES: tuple[Rule, ...] = (
    Apart(("Pad",), ("Bass",), weight=7),
    Alone(("Pad/cutoff",), weight=5),
    Together(("Pad", "Bass"), weight=3),
    Fixed(("Pad",), "K2", weight=2),
    Barred(("Pad",), ("K1", "K3"), weight=11),
    Together(("Pad", "Bass"), weight=4),
    Barred(("Bass",), ("K2",)),
)
ALL, LEVEL = ["Pad/cutoff", "Pad/level", "Bass/cutoff"], ["Pad/level"]


def drawn(request: Request, knobs: dict[str, list[str]]) -> Any:
    """The network of a layout that is valid, as the plain checker prices it."""
    layout = Layout.of(knobs)
    report = check(request, layout)
    assert report.breaches == ()
    return layout_graph(request, attrs.evolve(layout, travels=report.travels), report.prices)


@pytest.mark.parametrize(
    ("knobs", "paid"),
    [
        # Two pairs on K1; Pad/cutoff with others there; both of Pad on K1, which is not K2.
        ({"K1": ALL}, (14, 5, 0, 4, 22, 0)),
        # Three knobs, two more than one; one of Pad is not on K2, one is on K1.
        ({"K1": ALL[:1], "K2": LEVEL, "K3": ALL[2:]}, (0, 0, 6, 2, 11, 8)),
        # One pair on K3, and Pad/cutoff is without others; two knobs.
        ({"K2": ALL[:1], "K3": ALL[1:]}, (7, 0, 3, 2, 11, 4)),
        # What is left out is on no wrong knob, and spreads over none.
        ({"K2": LEVEL}, (0, 0, 0, 0, 0, 0)),
        ({}, (0, 0, 0, 0, 0, 0)),
    ],
)
def test_a_preferred_rule_tells_what_is_paid_for_it(
    knobs: dict[str, list[str]], paid: tuple[int, ...]
) -> None:
    request = Request(Surface.row(3), (PAD, BASS), rules=RULES, snapshots=())
    graph = drawn(request, knobs)
    names = [str(rule) if at != 5 else f"{rule} (2)" for at, rule in enumerate(RULES)]
    told = [graph.nodes[node("rule", name)] for name in names]
    assert tuple(each["price"] for each in told[:-1]) == paid
    assert [each["weight"] for each in told[:-1]] == [7, 5, 3, 2, 11, 4]
    # A required rule is met, and has neither weight nor price.
    assert told[-1]["required"]
    assert {"price", "weight"}.isdisjoint(told[-1])


def test_all_that_is_paid_for_rules_is_in_the_prices_and_the_other_way_round() -> None:
    seen: Counter[str] = Counter()
    for allocation in possible(range(max(100, EXAMPLES // 3))):
        paid: Counter[str] = Counter()
        for _, told in allocation.graph.nodes(data=True):
            if told["word"] == "rule":
                assert ("price" in told) == (not told["required"])
                paid[told["sort"]] += told.get("price", 0)
            if told["word"] == "bundle":
                paid["parted"] += told["price"]
        prices = allocation.prices
        right: Counter[str] = Counter()
        for knob in prices.knobs:
            right.update({"apart": knob.apart, "alone": knob.alone})
        for spread in prices.spreads:
            right[spread.term] += spread.price
        for bundle in prices.bundles:
            right[bundle.term] += bundle.price * (bundle.term == "parted")
        for place in prices.places:
            right[place.term] += place.price * (place.term in ("fixed", "barred"))
        assert +paid == +right
        seen.update((+paid).keys())
    assert set(seen) == {"apart", "alone", "together", "fixed", "barred", "parted"}


def test_no_two_bundles_are_one_node_whatever_they_are_called() -> None:
    """A source may be called as a voice is, and names may hold any word."""
    sources = [(None, "S1"), ("Voice 0", "S1"), ("Old", "S1"), ("B in C", "A"), ("C", "A in B")]
    voices = tuple(
        Voice(
            f"Voice {at}",
            (Destination("a", source_knob=k), Destination("b", source_knob=k)),
            source=s,
        )
        for at, (s, k) in enumerate(sources)
    )
    request = Request(Surface.row(2), voices, snapshots=())
    for split in range(5):
        layout = {
            "K1": [f"Voice {at}/a" for at in range(5)],
            "K2": [f"Voice {split}/b"],
        }
        layout["K1"] += [f"Voice {at}/b" for at in range(5) if at != split]
        graph = drawn(request, layout)
        bundles = {n: told for n, told in graph.nodes(data=True) if told["word"] == "bundle"}
        assert list(bundles) == [
            "bundle /Voice 0/S1",
            "bundle Voice 0/S1",
            "bundle Old/S1",
            "bundle B in C/A",
            "bundle C/A in B",
        ]
        assert [told["price"] for told in bundles.values()] == [at == split for at in range(5)]
        assert [(told.get("source"), told["knob"]) for told in bundles.values()] == sources
        for at, name in enumerate(bundles):
            members = {one for one, _ in graph.in_edges(name)}
            assert members == {f"destination Voice {at}/{inner}" for inner in "ab"}


def parted(graph: Any) -> set[frozenset[str]]:
    """The pairs that may not share, found in the network alone: parted, or bound to what is."""
    together: nx.Graph[str] = nx.Graph()
    apart = set()
    for one, other, told in graph.edges(data=True):
        rule = graph.nodes[one]
        if told["fact"] == "binds" and rule["sort"] == "together" and rule["required"]:
            together.add_edge(one, other)
        if told["fact"] == "must differ":
            apart.add((one, other))

    def unit(name: str) -> list[str]:
        found = nx.node_connected_component(together, name) if name in together else {name}
        return [each for each in found if each.startswith("destination ")]

    return {frozenset(pair) for one, other in apart for pair in product(unit(one), unit(other))}


def test_what_is_bound_is_parted_along_its_rule() -> None:
    pad = Voice("Pad", tuple(Destination(name) for name in "abc"))
    rules = (Together(("Pad/a", "Pad/b")), Apart(("Pad/b",), ("Pad/c",)))
    request = Request(Surface.row(3), (pad,), rules=rules, snapshots=())
    graph = allocate_request(request).graph
    differ = {
        (one, other) for one, other, told in graph.edges(data=True) if told["fact"] == "must differ"
    }
    assert differ == {("destination Pad/b", "destination Pad/c")}
    assert parted(graph) == {
        frozenset((f"destination Pad/{one}", "destination Pad/c")) for one in "ab"
    }
    obstacle = Ground(request).parts("Pad/a", "Pad/c")
    assert obstacle is not None
    assert [fact.kind for fact in obstacle.facts] == ["together", "apart"]


def test_nothing_shares_that_is_parted_along_rules() -> None:
    bound = 0
    for allocation in possible(range(max(200, EXAMPLES // 3))):
        graph, ground = allocation.graph, Ground(allocation.request)
        away = parted(graph)
        pairs: dict[str, set[frozenset[str]]] = {"shares": set(), "must differ": set()}
        for one, other, told in graph.edges(data=True):
            pairs.get(told["fact"], set()).add(frozenset((one, other)))
        assert pairs["shares"].isdisjoint(away)
        for pair in away - pairs["must differ"]:
            # What is parted from what it is bound to itself is on no knob.
            names = [graph.nodes[name]["name"] for name in pair]
            assert ground.parts(names[0], names[-1]) is not None
            bound += len(names) > 1
    assert bound > 5
