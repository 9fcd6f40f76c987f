"""Graphs, patch sheets and set lists as files: whole or not at all, and what is wrong is named."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import networkx as nx
import pytest
from jsonschema import Draft202012Validator

from knobpack import FileError, InputError, Layout, allocate_request, files
from knobpack.files import save
from knobpack.files.shows import show_files
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.show import Show, Song
from knobpack.words import Destination, Request, Setup, Surface, Voice
from tests.files.answers import allocation
from tests.show.evening import BASS, ORGAN, PANEL, PROGRAMMED, SHOW

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
    assert nx.utils.graphs_equal(graph, files.load(tmp_path / "graph.json"))
    wrongs: list[dict[str, Any]] = [
        {"nodes": [{}]},
        {"edges": [{"source": "a"}]},
        {"nodes": 3},
        {"graph": []},
    ]
    for wrong in wrongs:
        with pytest.raises(InputError):
            files.from_plain(data | wrong)
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
        InputError, match=r"graph: give a file that ends in \.json or \.graphml"
    ) as caught:
        save(tmp_path / name, allocation().graph)
    assert caught.value.field == "save.path"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("ending", [".graphml", ".json"])
@pytest.mark.parametrize(("name", "value"), [("\udce9", 1), ("a", object()), ("a", [object()])])
def test_what_no_file_of_a_graph_holds_is_refused(
    ending: str, name: str, value: object, tmp_path: Path
) -> None:
    graph: nx.MultiDiGraph[str] = nx.MultiDiGraph()
    graph.add_node(name, price=value)
    with pytest.raises(InputError, match="give a graph of names and values that") as caught:
        save(tmp_path / f"graph{ending}", graph)
    assert caught.value.field == "save.value"
    assert list(tmp_path.iterdir()) == []


def test_a_name_of_half_a_character_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="text of whole characters") as caught:
        save(tmp_path / "many.json", {"caf\udce9": allocation()})
    assert caught.value.value == "caf\udce9"
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


SHEET = patch_sheet(
    Setup("Vorher", Surface.row(2)), Setup("Nachher №1", Surface.row(2), (Voice("明", (), 1),))
)


@pytest.mark.parametrize(
    ("name", "form"),
    [
        ("sheet.html", PatchSheet.page),
        ("sheet.md", PatchSheet.markdown),
        ("sheet.txt", PatchSheet.text),
        ("my sheet.v2.HTML", PatchSheet.page),
    ],
)
def test_the_name_says_in_which_form(name: str, form: object, tmp_path: Path) -> None:
    assert callable(form)
    path = tmp_path / name
    path.write_text("what was there before")
    save(path, SHEET)
    assert path.read_bytes() == form(SHEET).encode("utf-8")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("name", ["sheet.pdf", "sheet.csv", "sheet.mid"])
def test_another_ending_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ends in \.json, \.html, \.md or \.txt"):
        save(tmp_path / name, SHEET)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="give a file that can be written") as caught:
        save(tmp_path / "none" / "sheet.md", SHEET)
    assert caught.value.field == str(tmp_path / "none" / "sheet.md")
    (tmp_path / "folder.md").mkdir()
    with pytest.raises(InputError, match="give a file that can be written"):
        save(tmp_path / "folder.md", SHEET)
    assert [path.name for path in tmp_path.iterdir()] == ["folder.md"]


def test_a_show_is_read_back(tmp_path: Path) -> None:
    allocation = allocate_request(Request(PANEL, [BASS, ORGAN]))
    songs = [
        *SHOW.songs,
        Song("A-B: 100 %", SHOW.songs[0].played, {"Organ": "Keys"}),
        Song("Bis", allocation, free=True),
        Song("Coda", PROGRAMMED, brings=["Bass"]),
    ]
    show = Show("Samstag", songs, ["Bis"])
    path = tmp_path / "show.json"
    files.save(path, show)
    assert [each.name for each in tmp_path.iterdir()] == ["show.json"]
    assert files.load_show(path) == files.load(path) == show
    assert files.loads(files.dumps(show)) == show
    Draft202012Validator(files.schema()).validate(json.loads(path.read_text("utf-8")))
    again = path.read_bytes()
    files.save(path, files.load_show(path))
    assert path.read_bytes() == again


def test_two_shows_in_one_folder_are_both_whole(tmp_path: Path) -> None:
    other = Show("Sonntag", [Song("Opener", Request(Surface.row(3), [BASS]))])
    for name, show in (("one", SHOW), ("two", other), ("one", SHOW)):
        files.save(tmp_path / f"{name}.json", show)
    assert files.load(tmp_path / "one.json") == SHOW
    assert files.load(tmp_path / "two.json") == other


def test_a_show_of_several_files_is_read_from_its_folder_alone(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    with pytest.raises(FileError, match=r"show\.json"):
        files.load_show(path)
    files.save(path, PROGRAMMED)
    with pytest.raises(InputError, match="give a file that holds a show"):
        files.load_show(path)
    for each, content in show_files(path, SHOW).items():
        each.write_bytes(content)
    assert (tmp_path / "01 Opener.json").exists()
    assert files.load(path) == files.load_show(path) == SHOW
    with pytest.raises(InputError, match=r"songs\[0\].file: '01 Opener.json'.*only files.load"):
        files.loads(path.read_bytes())
    files.save(tmp_path / "01 Opener.json", SHOW)
    path.write_bytes(path.read_bytes().replace(b"02 Ballad", b"show"))
    for name in ("01 Opener.json", "show.json"):
        with pytest.raises(InputError, match=r"a request, an allocation or a setup|only files"):
            files.load_show(path)
        files.save(tmp_path / name, SHOW.songs[0].played)


def test_what_is_wrong_in_a_song_is_named_from_the_show() -> None:
    plain = files.to_plain(Show("F", [Song("A", PROGRAMMED), Song("B", allocation())]))
    for change, field in (
        ({"surface": 1}, "songs[0].played.surface"),
        ({"knobpack": "layout"}, "songs[0].played.knobpack"),
    ):
        wrong = json.loads(json.dumps(plain))
        wrong["songs"][0]["played"] |= change
        with pytest.raises(InputError) as refused:
            files.from_plain(wrong)
        assert refused.value.field == field
    plain["songs"][1]["played"]["tiers"][0]["value"] += 1
    with pytest.raises(InputError, match=r"^songs\[1\]\.played\.tiers\[0\]\.value: "):
        files.from_plain(plain)


@pytest.mark.parametrize("ending", [".html", ".txt", ".md"])
def test_a_text_is_written_as_it_is(ending: str, tmp_path: Path) -> None:
    path = tmp_path / f"page{ending}"
    files.save(path, "<p>é</p>")
    assert path.read_bytes() == "<p>é</p>".encode()
    for name, text, field in (("x.json", "a", "save.path"), (path.name, "\ud800", "save.value")):
        with pytest.raises(InputError) as refused:
            files.save(tmp_path / name, text)
        assert refused.value.field == field
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


@pytest.mark.parametrize(
    ("changed", "field", "right"),
    [
        ({"nam": "x"}, "nam", "close to it: name"),
        ({"songs": "x"}, "songs", "a list"),
        ({"songs": ["x"]}, "songs[0]", '"file"'),
        ({"songs": [{"name": "A"}]}, "songs[0].played", "name the file"),
        ({"songs": [{"name": "A", "file": "a", "played": {}}]}, "songs[0].played.knobpack", "one"),
        ({"songs": [{"name": "A", "fil": "a"}]}, "songs[0].fil", "close to it: file"),
        ({"songs": [{"name": "A", "file": 3}]}, "songs[0].file", "a name"),
        ({"songs": [{"name": "A", "file": ".."}]}, "songs[0].file", "no path"),
        ({"songs": [{"name": "A", "file": "a\\b"}]}, "songs[0].file", "no path"),
        ({"songs": [{"name": "A", "file": "../a"}]}, "songs[0].file", "a name"),
        ({"songs": [{"name": "A", "file": "a", "free": 1}]}, "songs[0].free", "true"),
        ({"songs": [{"name": "A", "file": "a", "brings": [1]}]}, "songs[0].brings[0]", "give text"),
        ({"songs": [{"name": "A", "file": "a", "roles": [1]}]}, "songs[0].roles[0]", '"role"'),
        ({"name": ""}, "name", "a name"),
    ],
)
def test_what_is_wrong_is_named(
    changed: dict[str, Any], field: str, right: str, tmp_path: Path
) -> None:
    path = tmp_path / "show.json"
    whole = {"knobpack": "show", "version": 1, "name": "Friday", "songs": []}
    path.write_text(json.dumps(whole | changed))
    with pytest.raises(InputError) as refused:
        files.load_show(path)
    assert refused.value.field == field
    assert right in str(refused.value)


def test_songs_that_are_not_there_or_no_songs_are_named(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    listed = {"name": "A", "file": "a.json"}
    path.write_text(json.dumps({"knobpack": "show", "version": 1, "name": "F", "songs": [listed]}))
    with pytest.raises(FileError, match=r"a\.json"):
        files.load_show(path)
    files.save(tmp_path / "a.json", Layout())
    with pytest.raises(InputError, match="a request, an allocation or a setup"):
        files.load_show(path)
