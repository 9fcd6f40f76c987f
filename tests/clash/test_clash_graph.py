"""The graph of a clash: it can be read back, names what was asked, and is drawn."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from knobpack.clash import Clash
from knobpack.clash.every import EveryClash, every_clash
from knobpack.explanation.reason_boxes import reason_boxes
from knobpack.reasons.graph import NODES
from knobpack.words import Apart, Request, Surface
from knobpack.words.edits import placed
from tests.clash.clash_requests import clash_of, pads
from tests.clash.test_every import impossible
from tests.oracles.reasons_read import alike, read_back, wrong_facts

Case = tuple[Request, Clash | EveryClash]


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    return [
        (request, answer)
        for request in impossible(12, 9)
        for answer in (clash_of(request), every_clash(request))
    ]


def words_of(request: Request) -> Iterator[str]:
    """The nodes that a graph about a request may have, besides parts of the answer."""
    yield from (f"destination {name}" for name in request.by_full_name)
    yield from (f"knob {name}" for name in request.surface.knob_names)
    yield from (f"rule {rule}" for rule in request.rules)
    yield from (f"snapshot {each.name}" for each in request.played)
    yield from (f"voice {each.name}" for each in request.voices)
    yield from ("limit destinations per knob", "limit routes")


def test_a_clash_can_be_read_from_its_graph_and_names_what_was_asked(cases: list[Case]) -> None:
    for request, answer in cases:
        graph = answer.graph
        assert alike(read_back(request, graph), answer)
        assert list(wrong_facts(graph)) == []
        words = {name for name, of in graph.nodes(data=True) if of["word"] in NODES}
        assert words <= set(words_of(request))
        demands = [demand for way in answer.ways_out for demand in way.demands]
        demands += answer.demands if isinstance(answer, Clash) else sum(answer.sets, ())
        subjects = {demand.subject for demand in demands if demand.kind == "rule"}
        assert {f"rule {rule}" for rule in subjects} <= words


def test_ways_out_are_drawn_with_what_they_give_up() -> None:
    apart = [Apart((f"Pad/{name}",), ("Bass",)) for name in ("cutoff", "level")]
    request = pads(*apart, surface=Surface.row(1), snapshots=())
    clash = clash_of(placed(request))
    boxes = reason_boxes(clash.graph)
    root, *others = boxes.boxes
    assert root.text == "no layout meets every demand"
    assert {box.text for box in others if box.column == 1} == {"", *map(str, clash.ways_out)}
    led = {(boxes.boxes[one].text, boxes.boxes[to].text) for one, to in boxes.lines}
    for way in clash.ways_out:
        assert all((str(way), str(demand)) in led for demand in way.demands)
    for demand in clash.demands:
        assert {(root.text, ""), ("", str(demand))} <= led
