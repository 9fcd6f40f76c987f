"""The graph of reasons: every answer can be read back from its graph, and from no less of it."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from typing import Any

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.present.demo import demo_request
from knobpack.reasons.answer_graph import Answer
from knobpack.reasons.graph import NODES
from knobpack.words import Destination, Request, Snapshot, Surface, Together, Voice
from knobpack.words.edits import with_knobs, without_knob
from tests.files.answers import of_the_whole
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.reasons_cases import allocation_of, possible
from tests.oracles.reasons_read import read_back, wrong_in_reasons
from tests.oracles.strategies import busy_request


def every_answer(allocation: Allocation, draw: random.Random) -> Iterator[Any]:
    """An answer of each sort to questions about an allocation."""
    request, knobs = allocation.request, allocation.request.surface.knob_names
    placed = [route.destination for route in allocation.routes]
    for name in draw.sample(placed, min(2, len(placed))):
        yield allocation.why(name)
        others = [knob for knob in knobs if knob != allocation.knob_of(name)]
        for knob in draw.sample(others, min(1, len(others))):
            yield allocation.why_not(name, knob, solve=True)
    shared = [knob for knob in allocation.used if len(allocation.on(knob)) > 1]
    yield from (allocation.why_shared(knob, solve=True) for knob in shared[:1])
    yield from (allocation.why_unplaced(name) for name in allocation.unplaced[:1])
    yield from of_the_whole(allocation, most=5, places=True)
    yield from allocation.knob_budget().offers
    if knobs:
        yield allocation.what_if(without_knob(request, draw.choice(knobs)))
    yield allocation.what_if(with_knobs(request))
    try:
        yield request.least_knobs()
    except ImpossibleDemands as error:
        yield error.clash
    yield request.every_clash(most=3)


def allocations() -> Iterator[Allocation]:
    yield from possible(range(EXAMPLES // 20))
    yield from filter(None, map(allocation_of, map(busy_request, range(3))))
    inner = (Destination("level", source_knob="K1"), Destination("cutoff", source_knob="K1"))
    strings = Voice("Strings", inner)
    yield allocate_request(Request(Surface.row(2), (strings,)))
    # What must be together and a snapshot parts, at a price: on no number of knobs is it whole.
    parting = Snapshot("half", ("Strings/level",), break_weight=5)
    whole = (Together(("Strings",)),)
    yield allocate_request(Request(Surface.row(2), (strings,), snapshots=(parting,), rules=whole))


def test_every_answer_can_be_read_from_its_graph_and_says_the_same_there() -> None:
    seen: Counter[str] = Counter()
    draw = random.Random(4)  # noqa: S311 (no secret)
    for allocation in allocations():
        for answer in every_answer(allocation, draw):
            graph = answer.graph
            assert wrong_in_reasons(allocation, graph, answer) == []
            told = read_back(allocation.request, graph)
            if hasattr(answer, "sentences"):
                assert told.sentences == answer.sentences
            if isinstance(answer, Answer):
                assert graph.graph["answer"] == answer.question
            seen.update({of["word"] for _, of in graph.nodes(data=True)})
            seen[type(answer).__name__] += 1
    wanted = {
        *("Here", "NotThere", "Shared", "Unplaced", "Budget", "BestLayouts", "DemandPrices"),
        *(
            "Difference",
            "Explanation",
            "KnobOffer",
            "instead",
            "fact",
            "obstacle",
            "clash",
            "term change",
        ),
        *("snapshot", "rule", "limit", "bundle", "knob", "destination", "witness", "instead"),
    }
    assert [sort for sort in wanted if not seen[sort]] == []


def test_without_any_node_it_is_found_out() -> None:
    draw = random.Random(5)  # noqa: S311 (no secret)
    tried: Counter[str] = Counter()
    for allocation in allocations():
        for answer in every_answer(allocation, draw):
            whole = answer.graph
            for name in draw.sample(list(whole), min(12, len(whole))):
                graph = whole.copy()
                graph.remove_node(name)
                assert wrong_in_reasons(allocation, graph, answer), name
                tried[whole.nodes[name]["word"]] += 1
    assert len(tried) > often(20)


def test_it_is_plain_data_over_the_network_of_the_allocation() -> None:
    import networkx as nx

    allocation = allocate_request(demo_request())
    answer = allocation.why(allocation.routes[0].destination)
    graph = answer.graph
    held: list[dict[str, Any]] = [of for _, of in graph.nodes(data=True)]
    held += [told for *_, told in graph.edges(data=True)]
    assert {type(value) for of in held for value in of.values()} == {str, int, bool}
    words = [name for name, of in graph.nodes(data=True) if of["word"] in NODES]
    assert set(words) <= set(allocation.graph)
    # Laid over the network, each word is one node.
    assert len(nx.compose(allocation.graph, graph)) == len(allocation.graph) + len(graph) - len(
        words
    )
