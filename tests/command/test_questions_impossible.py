"""Questions about requests that no layout meets."""

from __future__ import annotations

import json
from pathlib import Path

import attrs
import networkx as nx
import pytest

from knobpack import questions
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.clash.every import EveryClash, every_clash
from knobpack.command.main import main
from knobpack.explanation.least import least_knobs
from knobpack.files import save, to_plain
from knobpack.present.text import clash_text
from knobpack.words import Alone, Fixed, Snapshot, Together
from knobpack.words.edits import placed, with_rule
from tests.present.read_answers import CROWDED, DEMO, fits, joined, told

CRAMPED = with_rule(with_rule(placed(CROWDED), Fixed(("Drône №1",), "K1")), Alone(("Drône №1",)))
"""Two voices that must be placed on one knob, and may not share it for more reasons than one."""


@pytest.fixture
def impossible(tmp_path: Path) -> Path:
    """A file that holds a request that asks for more than there is."""
    path = tmp_path / "impossible.json"
    save(path, CRAMPED)
    return path


def test_there_is_no_answer_about_an_impossible_layout(
    impossible: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    assert (
        main(
            [
                "ask",
                str(impossible),
                "why",
                "明るい/level",
                "then",
                "best-layouts",
                "--json",
                str(target),
            ]
        )
        == 3
    )
    out, err = capsys.readouterr()
    assert out == ""
    with pytest.raises(ImpossibleDemands) as caught:
        allocate_request(CRAMPED)
    assert err == f"knobpack: {clash_text(caught.value.clash)}"
    assert not target.exists()


def test_the_least_knobs_are_told_of_an_impossible_request_too(
    impossible: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = {"LEAST KNOBS": joined(least_knobs(CRAMPED).sentences)}
    assert main(["ask", str(impossible), "least-knobs"]) == 0
    assert told(capsys.readouterr().out) == answer
    assert main(["ask", str(impossible), "best-layouts", "then", "least-knobs"]) == 3
    out, err = capsys.readouterr()
    assert told(out) == answer
    assert err.startswith("knobpack: no layout meets every demand. These clash:\n")


def test_that_no_number_of_knobs_is_enough_is_an_answer_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # There is a layout, which breaks the snapshot: no number of knobs would mend that.
    request = attrs.evolve(
        CROWDED,
        snapshots=(Snapshot("one", ("Drône №1",), break_weight=5),),
        rules=(Together(("明るい", "Drône №1")),),
    )
    path, target = tmp_path / "broken.json", tmp_path / "out.json"
    save(path, request)
    assert main(["ask", str(path), "least-knobs", "--json", str(target)]) == 0
    text = told(capsys.readouterr().out)
    with pytest.raises(ImpossibleDemands) as caught:
        least_knobs(request)
    no_number = f"All of it can be had on no number of knobs: {caught.value}"
    assert text == {"LEAST KNOBS": no_number}
    answers = json.loads(target.read_text("utf-8"))["answers"]
    assert answers == {"least-knobs": to_plain(caught.value.clash)}
    assert main(["ask", str(path), "explain"]) == 0
    assert told(capsys.readouterr().out)["LEAST KNOBS"] == no_number


def test_every_clash_is_told(
    impossible: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = every_clash(CRAMPED)
    assert len(answer.sets) > 1
    assert len(answer.ways_out) > 1
    target = tmp_path / "out.json"
    assert main(["ask", str(impossible), "every-clash", "--json", str(target)]) == 3
    out, err = capsys.readouterr()
    assert told(out) == {"EVERY CLASH": joined(answer.sentences)}
    assert fits(out)
    assert err == f"All that is told is in {target}.\n"
    answers = json.loads(target.read_text("utf-8"))["answers"]
    assert answers == {"every-clash": to_plain(answer)}


def test_other_questions_are_not_answered_then_and_that_is_said(
    impossible: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert (
        main(
            [
                "ask",
                str(impossible),
                *["best-layouts", "then", "every-clash", "then", "least-knobs"],
            ]
        )
        == 3
    )
    out, err = capsys.readouterr()
    assert list(told(out)) == ["EVERY CLASH", "LEAST KNOBS"]
    assert err == ("knobpack: no layout meets every demand, so nothing else can be answered\n")


def test_where_nothing_clashes_that_is_the_answer(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", demo, "every-clash"]) == 0
    assert told(capsys.readouterr().out) == {"EVERY CLASH": joined(every_clash(DEMO).sentences)}


def test_a_search_for_clashes_that_was_stopped_ends_with_4(
    impossible: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    stopped = EveryClash(None, stopped="effort")
    monkeypatch.setattr(questions, "every_clash", lambda *_, **__: stopped)
    assert main(["ask", str(impossible), "every-clash"]) == 4
    out, err = capsys.readouterr()
    assert told(out) == {"EVERY CLASH": joined(stopped.sentences)}
    assert err.startswith("knobpack: stopped by the limit of effort before any layout")


@pytest.mark.parametrize("name", ["graph.json", "graph.graphml"])
def test_the_graph_of_a_clash_is_written(
    name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, target = tmp_path / "request.json", tmp_path / name
    request = placed(CROWDED)
    save(path, request)
    assert main(["allocate", str(path), "--graph", str(target)]) == 3
    assert "These clash" in capsys.readouterr().err
    if name == "graph.json":
        data = json.loads(target.read_text("utf-8"))
        graph = nx.node_link_graph(data, edges="edges")
    else:
        graph = nx.read_graphml(target, force_multigraph=True)
    with pytest.raises(ImpossibleDemands) as error:
        allocate_request(request)
    assert set(graph) == set(error.value.clash.graph)
    assert {f"destination {name}" for name in request.by_full_name} <= set(graph)
