"""Graphs as files: read back by networkx and by a plain XML parser, whole or not at all."""

from __future__ import annotations

import json
import os
from pathlib import Path
from xml.etree import ElementTree as ET

import networkx as nx
import pytest

from knobpack.allocator import allocate_request
from knobpack.errors import InputError
from knobpack.files import save
from knobpack.words import Destination, Request, Surface, Voice
from tests.files.answers import allocation

GRAPHML = "{http://graphml.graphdrawing.org/xmlns}"
"""The namespace of GraphML (U. Brandes and others, *GraphML Primer*; from memory)."""

ODD = Request(
    Surface.row(2),
    (Voice("<&\"'> ]]>", (Destination("höhe №1"), Destination("明るさ"), Destination("𝄞"))),),
)


@pytest.mark.parametrize("request_", [None, ODD])
def test_both_forms_hold_all_of_the_graph(request_: Request | None, tmp_path: Path) -> None:
    graph = (allocate_request(request_) if request_ else allocation()).graph
    assert len(graph) >= 9
    save(tmp_path / "graph.json", graph)
    data = json.loads((tmp_path / "graph.json").read_text("utf-8"))
    again = nx.node_link_graph(data, edges="edges")
    assert nx.utils.graphs_equal(graph, again)
    save(tmp_path / "graph.GraphML", graph)
    read = nx.read_graphml(tmp_path / "graph.GraphML", edge_key_type=int, force_multigraph=True)
    # GraphML has defaults, of which networkx keeps an account on the graph itself.
    read.graph.clear()
    assert nx.utils.graphs_equal(graph, read)
    root = ET.parse(tmp_path / "graph.GraphML").getroot()  # noqa: S314 - our own file
    assert root.tag == f"{GRAPHML}graphml"
    assert [each.get("edgedefault") for each in root.iter(f"{GRAPHML}graph")] == ["directed"]
    assert [each.get("id") for each in root.iter(f"{GRAPHML}node")] == list(graph)
    assert len(list(root.iter(f"{GRAPHML}edge"))) == graph.number_of_edges()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["graph.GraphML", "graph.json"]


@pytest.mark.parametrize("name", ["graph.txt", "graph.csv", "graph.svg"])
def test_other_endings_are_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(
        InputError, match=r"a graph is written to a file that ends in \.json or \.graphml"
    ) as caught:
        save(tmp_path / name, allocation().graph)
    assert caught.value.field == "save.path"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ending", [".graphml", ".json"])
def test_a_graph_is_written_whole_or_not_at_all(
    ending: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(InputError, match="No such file") as caught:
        save(tmp_path / "none" / f"graph{ending}", allocation().graph)
    assert caught.value.field == str(tmp_path / "none" / f"graph{ending}")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    path = tmp_path / f"graph{ending}"
    path.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(InputError, match="No space left"):
        save(path, allocation().graph)
    assert path.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [path]
