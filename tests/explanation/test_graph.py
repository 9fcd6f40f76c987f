"""Graph: every edge holds and none is missing; and it is plain data to whatever reads graphs."""

from __future__ import annotations

import io
import json
import random
from collections import Counter
from collections.abc import Callable
from typing import Any

import networkx as nx
import pytest

from knobpack.allocator import allocate_request
from knobpack.present.demo import demo_request
from knobpack.reasons.graph import NODES, node
from tests.oracles import brute
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.reasons import asked
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_graph import follows, wrong_in_graph
from tests.oracles.reasons_solved import places_of
from tests.oracles.strategies import busy_request

FACTS = {
    "moves", "follows", "holds", "drives", "shares", "belongs to", "moved", "held", "must differ",
    "binds", "concerns", "kept", "wanted on", "broken",
}  # fmt: skip


def test_every_kind_of_edge_and_node_occurs_and_is_right() -> None:
    facts: Counter[str] = Counter()
    words: Counter[str] = Counter()
    allocations = [*possible(range(max(200, EXAMPLES // 3))), allocate_request(demo_request())]
    allocations += filter(None, map(allocation_of, map(busy_request, range(6))))
    for allocation in allocations:
        graph = allocation.graph
        assert wrong_in_graph(allocation, graph) == []
        # The travels in it are those that brute force finds cheapest.
        request = allocation.request
        if len(request.by_full_name) <= 6:
            price = brute.price(request, allocation.layout)
            assert (price.valid, price.totals) == (True, allocation.prices.totals)
        facts.update(told["fact"] for *_, told in graph.edges(data=True))
        words.update(told["word"] for _, told in graph.nodes(data=True))
    assert set(facts) == FACTS
    assert set(words) == set(NODES)
    assert [each for each in FACTS if facts[each] < 5] == []


def _drop_edge(fact: str) -> Callable[[Any, random.Random], bool]:
    def drop(graph: Any, draw: random.Random) -> bool:
        edges = [(a, b, k) for a, b, k, d in graph.edges(data=True, keys=True) if d["fact"] == fact]
        if edges:
            graph.remove_edge(*draw.choice(edges))
        return bool(edges)

    return drop


def _another_end(graph: Any, draw: random.Random) -> bool:
    names = [name for name, told in graph.nodes(data=True) if told["word"] == "destination"]
    edges = [(a, b, k) for a, b, k in graph.edges(keys=True) if b in names]
    if not edges or len(names) < 2:
        return False
    one, other, key = draw.choice(edges)
    told = dict(graph.edges[one, other, key])
    graph.remove_edge(one, other, key)
    graph.add_edge(one, draw.choice([name for name in names if name != other]), **told)
    return True


@pytest.mark.parametrize("change", [*map(_drop_edge, sorted(FACTS)), _another_end])
def test_each_falsehood_in_a_graph_is_caught(
    change: Callable[[Any, random.Random], bool],
) -> None:
    draw, made = random.Random(0), 0  # noqa: S311 (no secret)
    for allocation in possible(range(EXAMPLES // 2)):
        graph = allocation.graph
        if change(graph, draw):
            assert wrong_in_graph(allocation, graph)
            made += 1
        if made == 10:
            return
    assert made > 1


def _nodes(graph: Any) -> dict[str, dict[str, Any]]:
    return dict(graph.nodes(data=True))


def _edges(graph: Any) -> Counter[Any]:
    return Counter(
        (one, other, tuple(sorted(told.items(), key=str)))
        for one, other, told in graph.edges(data=True)
    )


@pytest.mark.parametrize("seed", range(8))
def test_a_graph_survives_graphml_and_json(seed: int) -> None:
    allocations = [*possible(range(10 * seed, 10 * seed + 10)), allocate_request(demo_request())]
    for allocation in allocations:
        graph = allocation.graph
        file = io.BytesIO()
        nx.write_graphml(graph, file)
        file.seek(0)
        read = nx.read_graphml(file, force_multigraph=True)
        text = json.dumps(nx.node_link_data(graph, edges="edges"))
        linked = nx.node_link_graph(json.loads(text), edges="edges")
        for other in (read, linked):
            assert _nodes(other) == _nodes(graph)
            assert _edges(other) == _edges(graph)


def test_every_attribute_is_plain() -> None:
    for allocation in possible(range(60)):
        graph = allocation.graph
        for told in [*_nodes(graph).values(), *(d for *_, d in graph.edges(data=True))]:
            assert {type(value) for value in told.values()} <= {str, int, bool}


def reached(graph: Any, name: str) -> bool:
    """Whether a path of routes leads from the master to a destination."""
    way = [(one, other) for one, other, told in graph.edges(data=True) if told["fact"] in _LEADING]
    network = nx.DiGraph(way)
    network.add_nodes_from(["master master", node("destination", name)])
    try:
        path = nx.shortest_path(network, "master master", node("destination", name))
    except nx.NetworkXNoPath:
        return False
    assert [each.split(" ")[0] for each in path] == ["master", "knob", "destination"]
    return True


_LEADING = ("moves", "drives")


def test_a_path_leads_from_the_master_to_what_it_moves() -> None:
    seen: Counter[bool] = Counter()
    for allocation in possible(range(EXAMPLES // 3)):
        graph, places = allocation.graph, places_of(allocation)
        following = {knob for (knob, _), moves in follows(allocation).items() if moves}
        broken = any(told["fact"] == "broken" for *_, told in graph.edges(data=True))
        for name in allocation.request.by_full_name:
            there = reached(graph, name)
            assert there == (places.get(name) in following)
            if not broken:
                # With every snapshot whole, that is where it moves in one.
                moves = any(
                    name in allocation.request.moved(each) for each in allocation.request.played
                )
                assert there == (moves and name in places)
            seen[there] += 1
    assert min(seen.values()) > often(50)


def test_a_node_is_called_by_its_word_and_name() -> None:
    graph = allocate_request(demo_request()).graph
    for name, told in graph.nodes(data=True):
        assert name == node(told["word"], told["name"])
    assert set(asked(demo_request()).bit) == {
        told["name"] for _, told in graph.nodes(data=True) if told["word"] == "destination"
    }
