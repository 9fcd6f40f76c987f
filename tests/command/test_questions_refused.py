"""Questions about other requests than the demo, and questions that cannot be answered."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest

from knobpack import OutOfUse, edit, questions
from knobpack.command import inputs
from knobpack.command.main import main
from knobpack.errors import NoLayoutFound
from knobpack.explanation.unplaced import why_unplaced
from knobpack.explanation.what_if import what_if
from knobpack.files import save
from knobpack.present.text import layout_text
from knobpack.words import Destination, Request, Route, Setup, Surface, Voice
from knobpack.words.edits import with_knobs
from tests.command.samples_of_command import Terminal, screen
from tests.present.read_answers import CROWDED, DEMO, fits, joined, solved, told


@pytest.fixture
def crowded(tmp_path: Path) -> Path:
    """A file that holds a request of which one voice is left out."""
    path = tmp_path / "crowded.json"
    save(path, CROWDED)
    return path


def test_why_says_too_why_something_is_left_out(
    crowded: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = solved(CROWDED)
    (left_out,) = made.unplaced
    for solve in ([], ["--solve"]):
        assert main(["ask", str(crowded), "why", left_out, *solve]) == 0
        out = capsys.readouterr().out
        answer = why_unplaced(made, left_out, solve=bool(solve))
        assert told(out) == {f"WHY {left_out}": joined(answer.sentences)}
    assert main(["ask", str(crowded), "explain"]) == 0
    assert next(iter(told(capsys.readouterr().out))) == f"WHY {left_out}"


def test_another_request_is_compared(
    crowded: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)  # so that the name is short enough for one line
    other = with_knobs(CROWDED)
    path = Path("two\nlines \x1b[31m.json")
    save(path, other)
    assert main(["ask", str(crowded), "what-if", str(path)]) == 0
    out = capsys.readouterr().out
    ((heading, sentences),) = told(out).items()
    assert heading.endswith("two\\nlines \\x1b[31m.json")
    assert sentences == joined(what_if(solved(CROWDED), other).sentences)


def test_long_and_wide_names_fit_on_the_page(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    names = ["明" * 120, "W" * 120]
    request = Request(Surface.row(1), tuple(Voice(name, (Destination(name),)) for name in names))
    path = tmp_path / "long.json"
    save(path, request)
    (placed,) = (route.destination for route in solved(request).routes)
    (left_out,) = solved(request).unplaced
    asked = [
        ["why", placed],
        ["why", left_out],
        ["knob-budget"],
        ["least-knobs"],
        ["best-layouts"],
        ["price-of-demands"],
    ]
    asked += [["without", names[0]], ["more-knobs", "1"]]
    words = [word for each in asked for word in ("then", *each)]
    assert main(["ask", str(path), *words[1:]]) == 0
    out = capsys.readouterr().out
    assert len(out.split("\n")) > 30
    assert fits(out)
    # A name that is broken is there in full.
    assert all(f"{name}/{name}" in "".join(out.split()) for name in names)


@pytest.mark.usefixtures("once")
def test_a_graph_is_written_beside_the_layout_and_the_answers(
    demo: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "graph.json"
    assert main(["allocate", demo, "--details", "--graph", str(target)]) == 0
    assert capsys.readouterr().out == layout_text(solved(DEMO))
    graph = solved(DEMO).graph
    assert [each["id"] for each in json.loads(target.read_text("utf-8"))["nodes"]] == list(graph)
    target = tmp_path / "graph.graphml"
    assert main(["ask", demo, "least-knobs", "--graph", str(target), "--quiet"]) == 0
    assert target.read_bytes().count(b"<edge ") == graph.number_of_edges()
    assert capsys.readouterr() == ("", "")


WRONG: list[tuple[list[str], str]] = [
    (["why", "Strings/levl"], "close to it: Strings/level\n"),
    (["why", "xyzzy"], "why: 'xyzzy' will not do; name a voice/destination"),
    (["why", "two\nlines"], "'two\\nlines' will not do"),
    (["why"], "why: takes a name, and has 0"),
    (["why-not", "Strings/level"], "why-not: takes a name and a knob, and has 1"),
    (["why-not", "Strings/level", "K9"], "why-not: 'K9' will not do; name a knob"),
    (["why-not", "K1", "K2"], "why-not: 'K1' will not do; name a voice/destination"),
    (["why-shared", "k5"], "close to it: K5"),
    (["without", "Obeo"], "close to it: Oboe"),
    (["without", "4"], "without: '4' will not do; name a knob, voice"),
    (["more-knobs", "0"], "more-knobs: '0' will not do; give a whole number, 1 or more"),
    (["more-knobs", "²"], "more-knobs: '²' will not do"),
    (["more-knobs", "some"], "'some' will not do"),
    (["more-knobs", "9" * 5000], "will not do"),
    (["more-knobs", "999999999"], "a surface has at most 10000 knobs"),
    (["what-if", "no such file.json"], "no such file.json"),
    (["best-layouts", "more"], "best-layouts: takes nothing, and has 1"),
    (
        ["wy", "Strings/level"],
        "'wy': will not do; give one of why, why-not, why-shared, knob",
    ),
]


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize(("arguments", "named"), WRONG, ids=lambda each: str(each)[:40])
def test_what_is_wrong_is_refused_in_one_line(
    arguments: list[str], named: str, demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", demo, *arguments, "--quiet"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert named in err


def test_a_wrong_name_is_refused_before_any_search(
    demo: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(inputs, "laid_out", lambda *_: pytest.fail("searched"))
    assert main(["ask", demo, "without", "Nobody"]) == 2
    assert main(["ask", demo, "best-layouts", "--graph", "graph.png"]) == 2
    assert "graph.png" in capsys.readouterr().err


def test_one_wrong_name_of_several_keeps_no_answer_back(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    wrong = ["without", "Nobody", "then", "why", "Strings/nothing"]
    assert main(["ask", demo, *wrong, "then", "why", "Strings/level"]) == 2
    out, err = capsys.readouterr()
    assert list(told(out)) == ["WHY Strings/level"]
    assert err.startswith("knobpack: without: 'Nobody' will not do")


def test_what_a_setup_leaves_out_is_asked_about_as_what_it_drives(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The sole knob drives the level; the cutoff came on another knob and found none, and the
    # drive was on no knob.
    inner = (
        Destination("level", source_knob="1"),
        Destination("cutoff", priority=2, source_knob="2"),
        Destination("drive", priority=2),
    )
    organ = Voice("Organ", inner, layer=1)
    full = Setup("Full", Surface.row(1), (organ,), routes=(Route("Organ/level", "K1"),))
    save(tmp_path / "full.json", full)
    asked = ["why", "Organ/cutoff", "then", "knob-budget", "then", "why", "Organ/level"]
    assert main(["ask", str(tmp_path / "full.json"), *asked]) == 0
    parts = told(capsys.readouterr().out)
    left_out = "Organ/cutoff is left out: that costs 64 points in 'destinations left out'."
    assert parts["WHY Organ/cutoff"].startswith(left_out)
    better = "It could be better, all else as it is: 64 points less in 'destinations left out'"
    assert parts["AS IT STANDS"].startswith(f"{better}, proven. ")
    assert "reckons from there" in parts["AS IT STANDS"]
    assert parts["KNOB BUDGET"].startswith("One more knob would save 2,400 points")
    assert parts["WHY Organ/level"].startswith("Organ/level is on K1, alone.")
    # What another question names too changes no answer.
    assert main(["ask", str(tmp_path / "full.json"), "why", "Organ/drive", "then", *asked]) == 0
    among_more = told(capsys.readouterr().out)
    assert among_more.pop("WHY Organ/drive").startswith("Organ/drive is left out: that costs 64")
    assert among_more == parts


def test_what_is_better_only_as_an_edit_reckons_otherwise_is_told_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two go whole from the broken knob to one of two that are free, rather than one to each."""
    organ = Voice("Organ", (Destination("level"), Destination("drive")), layer=1)
    routes = (Route("Organ/level", "K1"), Route("Organ/drive", "K1"))
    plain = Setup("Quay set", Surface.row(3), (organ,), routes=routes)
    broken = edit(plain, OutOfUse("K1"))
    assert broken.proven
    assert len({route.knob for route in broken.setup.routes}) == 1
    for setup in (plain, broken.setup):
        save(tmp_path / "quay.json", setup)
        assert main(["ask", str(tmp_path / "quay.json"), "why", "Organ/level"]) == 0
        stands = told(capsys.readouterr().out)["AS IT STANDS"]
        assert "It could be better, all else as it is: " in stands
        footing = "An edit puts first that little moves and that what one knob drives stays"
        assert (footing in stands) == bool(setup.edits)


def test_what_can_be_answered_is_shown_though_a_search_was_stopped(
    crowded: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def stop(*_: object, **__: object) -> None:
        raise NoLayoutFound("effort")

    monkeypatch.setattr(questions, "what_if", stop)
    asked = ["best-layouts", "then", "more-knobs", "1", "then", "least-knobs"]
    assert main(["ask", str(crowded), *asked]) == 4
    out, err = capsys.readouterr()
    assert list(told(out)) == ["BEST LAYOUTS", "LEAST KNOBS"]
    assert err.startswith("knobpack: stopped by the limit of effort before any layout")
    assert err.count("\n") == 1
    assert main(["ask", str(crowded), *asked, "--json", "-"]) == 4
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert list(answers) == ["best-layouts", "least-knobs"]


def test_answers_about_a_layout_that_is_not_proven_best_say_so(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = [
        "ask",
        demo,
        "--time-limit",
        "0",
        *["why-not", "Piano/level", "K1", "then", "best-layouts"],
    ]
    assert main(asked) == 0
    out, err = capsys.readouterr()
    assert "not proven best" in told(out)["BEST LAYOUTS"]
    assert err.endswith("This layout is not proven best: stopped by the time limit.\n")
    assert main([*asked, "--quiet"]) == 0
    assert capsys.readouterr() == ("", "")


def test_a_terminal_sees_which_question_is_being_answered(
    crowded: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for quiet in ([], ["--quiet"]):
        errors = Terminal()
        monkeypatch.setattr(sys, "stderr", errors)
        assert (
            main(["ask", str(crowded), "best-layouts", "then", "why", "明るい/level", *quiet]) == 0
        )
        written = errors.getvalue()
        assert ("answering 2 of 2: WHY  明るい/level" in written) == (not quiet)
        assert screen(written) == ""
        assert "\n" not in written
