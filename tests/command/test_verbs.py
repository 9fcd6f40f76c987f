"""Every verb: its help, its examples, and that a word means the same after each."""

from __future__ import annotations

import importlib
import shlex
from importlib.util import find_spec
from pathlib import Path

import pytest

from knobpack import files
from knobpack.command import paths, streams
from knobpack.command.main import GROUPS, main
from knobpack.command.parser import every_parser, parser
from knobpack.command.takes import Takes
from knobpack.command.verbs import EDITS, QUESTIONS, SHARED, VERBS
from knobpack.files import contents
from knobpack.limits import DEFAULT_EFFORT
from knobpack.text.columns import cells
from knobpack.words import Setup

WIDTHS = (40, 59, 60, 80, 100)


@pytest.mark.parametrize("wide", WIDTHS)
@pytest.mark.parametrize("verb", [*VERBS, ""])
def test_help_tells_all_it_takes_with_examples_and_fits(
    verb: str, wide: int, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("COLUMNS", str(wide))
    ways = (
        [[verb, "--help"], ["help", verb], [verb, "-h"]] if verb else [["--help"], ["help"], ["-h"]]
    )
    told = set()
    for way in ways:
        assert main(way) == 0
        told.add(capsys.readouterr().out)
    (text,) = told
    assert all(cells(line) <= wide for line in text.split("\n"))
    words = " ".join(text.split())
    if not verb:
        assert all(f"{name} {each.told}" in words for name, each in VERBS.items())
        assert all(f"{status} {meaning}" in words for status, meaning in streams.EXIT_STATUSES)
        return
    made = VERBS[verb]
    for example in made.examples:
        assert " ".join(example.split()) in words
    for each in made.words:
        assert all(word in words for word in f"{each.usage} {each.told}".split())
    options = [row for rows in SHARED.values() if made.shared for row in rows]
    assert all(row.name not in words for row in options if row.name in made.silent)
    for row in (*(row for row in options if row.name not in made.silent), *made.takes):
        assert row.told in words
        assert row.name in words


def test_the_first_words_fit_on_any_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for wide in WIDTHS:
        monkeypatch.setenv("COLUMNS", str(wide))
        assert main([]) == 0
        text = capsys.readouterr().out
        assert all(cells(line) <= wide for line in text.split("\n"))
        assert len(text.splitlines()) <= (10 if wide > 79 else 20)


def test_every_example_runs_as_it_stands_and_its_answer_fits(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "40")
    for verb, made in VERBS.items():
        assert made.examples
        for example in made.examples:
            command, *words = shlex.split(example)
            assert (command, words[0]) == ("knobpack", verb)
            if verb == "completion" and find_spec("shtab") is None:
                continue
            assert main(words) == 0, example
            out = capsys.readouterr().out
            if verb not in {"schema", "completion"}:
                assert all(cells(line) <= 40 for line in out.split("\n")), example
    made_files = {path.name for path in tmp_path.iterdir()}
    assert {"tonight.json", "edited.html", "panel.svg", "routes.png", "midi"} <= made_files
    assert Path("panel.svg").read_bytes().startswith(b"<?xml")
    assert Path("routes.png").read_bytes().startswith(b"\x89PNG")
    assert Path("home.json").read_bytes() == Path("tonight.json").read_bytes()


def test_what_a_verb_does_is_there_and_its_group_is_told() -> None:
    for made in VERBS.values():
        module, _, function = made.run.partition(":")
        assert callable(getattr(importlib.import_module(f"knobpack.command.{module}"), function))
        assert made.group in GROUPS


def test_an_option_means_the_same_after_every_verb() -> None:
    shared = {row.name: row for rows in SHARED.values() for row in rows}
    for made in VERBS.values():
        for row in made.takes:
            if row.name in shared:
                assert not made.shared
                assert row.values == shared[row.name].values
    parsers = {name: parser(name) for name, made in VERBS.items() if made.shared}
    for made_parser in parsers.values():
        assert set(shared) <= set(made_parser._option_string_actions)


def test_what_takes_values_says_so_in_words() -> None:
    rows: dict[str, Takes] = {row.name: row for row in (*QUESTIONS, *EDITS)}
    assert rows["why-not"].wants == "a name and a knob"
    assert rows["swap"].wants == "two knobs"
    assert rows["join"].wants == "two knobs or more"
    assert rows["knob-budget"].wants == "nothing"
    assert (rows["without"].least, rows["without"].most) == (1, 2)
    assert (rows["own"].least, rows["own"].most) == (1, None)


def test_what_stands_in_help_is_so_elsewhere() -> None:
    assert paths.ENDINGS["picture"] == contents.PICTURES
    effort = next(row for rows in SHARED.values() for row in rows if row.name == "--effort")
    assert f"({DEFAULT_EFFORT:g})" in effort.told


def test_all_verbs_can_be_completed() -> None:
    made = every_parser({"FILE": "a file", "FOLDER": "a folder"})
    (verbs,) = (each for each in made._actions if each.dest == "verb")
    assert isinstance(verbs.choices, dict)
    assert list(verbs.choices) == list(VERBS)
    actions = {each.dest: each for each in verbs.choices["sheet"]._actions}
    completed = {
        name for name, each in actions.items() if getattr(each, "complete", "") == "a file"
    }
    assert completed == {
        *("files", "after", "json", "setup", "sheet", "table", "picture", "graph", "page"),
    }
    assert actions["midi"].complete == "a folder"


def test_completion_is_made_or_says_what_is_missing(capsys: pytest.CaptureFixture[str]) -> None:
    if find_spec("shtab") is None:
        assert main(["completion", "bash"]) == 2
        assert "shtab is not installed; install it: pip" in capsys.readouterr().err
    else:
        assert main(["completion", "bash"]) == 0
        assert "out-of-use" not in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("allocate {request}", "request"),
        ("audit {request}", "request"),
        ("jumps {request}", "request"),
        ("sweep {request} All", "request"),
        ("sheet {request}", "request"),
        ("midi {request}", "request"),
        ("edit {request} own Oboe/level", "request"),
        ("move {request} {setup}", "request"),
        ("combine {setup} {request}", "both"),
        ("ask {request} why Oboe/level", "request"),
        ("ask {setup} why Piano/level", "setup"),
        ("allocate {setup}", "setup"),
        ("ask {layout} why Oboe/level", "layout"),
        ("edit {layout} swap K1 K2", "layout"),
        ("allocate {layout}", "layout"),
        ("move {setup} {layout}", "both"),
    ],
)
def test_setups_requests_and_layouts_do_alike_and_every_output_can_be_had(
    words: str, kind: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["demo", "demo", "--request", "mine.json", "--quiet"]) == 0
    assert main(["allocate", "mine.json", "--json", "layout.json", "--quiet"]) == 0
    typed = words.format(request="mine.json", setup="demo/base.json", layout="layout.json").split()
    outputs = "--json a.json --setup b.json --sheet c.md --picture d.svg --midi e --quiet"
    assert main([*typed, *outputs.split()]) == 0, kind
    assert {"a.json", "b.json", "c.md", "d.svg", "e"} <= {each.name for each in tmp_path.iterdir()}
    assert isinstance(files.load("b.json"), Setup)
