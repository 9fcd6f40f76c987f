"""What is wrong about setups on the command line: one clear line, and nothing is written."""

from __future__ import annotations

import sys
from io import StringIO
from pathlib import Path

import attrs
import pytest

from knobpack.combination import combine as module
from knobpack.files import dumps, save
from knobpack.present.command import main
from knobpack.present.demo import demo_request
from tests.present.samples_of_command import screen
from tests.present.samples_of_setups import BASE, written

BASE_FILE, ORGAN_FILE = "demo/base.json", "demo/organ.json"
PAIR = ["--combine", BASE_FILE, ORGAN_FILE]

WRONG: list[tuple[list[str], str]] = [
    (["--combine"], "--combine: expected at least one argument"),
    (["--combine", BASE_FILE], "--combine: there is no source; give the file of a base"),
    (["--combine", BASE_FILE, f"./{BASE_FILE}"], "there is no source"),
    (["--combine", BASE_FILE, "demo/none.json"], "demo/none.json: No such file"),
    (["--combine", "request.json", BASE_FILE], "knobpack: 'request' will not do; give a"),
    ([BASE_FILE], "for a setup there are --audit, --sweep, --changes and --combine"),
    (["--combine", BASE_FILE, "broken.json"], "in the file 'broken.json'"),
    (["--combine", BASE_FILE, "broken.json"], "surface.bits: 99 will not do; give a whole"),
    ([*PAIR, *PAIR[:2], "demo/bass.json"], "there is one patch sheet at a time"),
    (
        [*PAIR, "--difference", BASE_FILE, BASE_FILE],
        "give one --combine, --difference or --edit, once",
    ),
    ([*PAIR, "--sheet", "sheet.pdf"], "'sheet.pdf' will not do; a patch sheet is written to a"),
    ([*PAIR, "--sheet", "sheet"], "ends in .html, .md or .txt"),
    ([*PAIR, "--sheet", "two\0parts.md"], "null byte"),
    ([*PAIR, "--sheet", "no such folder/sheet.md"], "no such folder/sheet.md: No such file"),
    ([*PAIR, "--setup", ORGAN_FILE], "--setup: 'demo/organ.json' will not do; this file is"),
    ([*PAIR, "--json", "./demo/base.json"], "--json: './demo/base.json' will not do; this file"),
    ([*PAIR, "--json", "a.json", "--setup", "./a.json"], "--setup: './a.json' will not do"),
    ([*PAIR, "--graph", "graph.txt"], "ends in .graphml or .json"),
    ([*PAIR, "--setup", "no such folder/a.json"], "no such folder"),
    ([*PAIR, "--name", ""], "--name: '' will not do; a name is text of 1 to 120"),
    ([*PAIR, "--free", "Piono"], "--free: 'Piono' will not do; name a voice, group or"),
    ([*PAIR, "--free", "Piono"], "close to it: Piano"),
    ([*PAIR, "--free", "Organ"], "--free: 'Organ' will not do"),
    ([*PAIR, "--only", "Glas pad"], "--only: 'Glas pad' will not do; name a voice of a source"),
    ([*PAIR, "--only", "Piano"], "--only: 'Piano' will not do"),
    ([*PAIR, "--solve"], "--solve: nothing is asked"),
    ([*PAIR, "--why", "Nobody"], "--why: 'Nobody' will not do; name a destination"),
    (["request.json", *PAIR], "REQUEST.json: 'request.json' will not do; --combine takes all its"),
    (["--audit", "no such.json"], "no such.json: No such file"),
    (["--audit", "request.json"], "in the file 'request.json'"),
    (["--audit", BASE_FILE, "--why", "x"], "--why: nothing is laid out; use it with a request"),
    (["--audit", BASE_FILE, "--graph", "g.json"], "--graph: nothing is laid out"),
    (["--audit", BASE_FILE, "--sheet"], "--sheet: there is nothing to make one of"),
    (["--audit", BASE_FILE, "--setup", "x.json"], "--setup: no setup is made"),
    (
        ["--audit", BASE_FILE, "--time-limit", "5"],
        "--time-limit: nothing is searched for",
    ),
    (["--audit", BASE_FILE, "--json", "no such folder/a.json"], "no such folder"),
    (["--sweep", BASE_FILE, "al"], "--sweep: 'al' will not do; name a snapshot of the setup"),
    (["--sweep", BASE_FILE, "al"], "close to it: all"),
    (["--changes", BASE_FILE, ORGAN_FILE], "demo/organ.json"),
    (["--difference", BASE_FILE], "--difference: expected 2 arguments"),
    (["--difference", BASE_FILE, ORGAN_FILE], "--difference: 'demo/organ.json' will not do"),
    (["--difference", BASE_FILE, ORGAN_FILE], "the knobs of the two differ"),
    (["--difference", BASE_FILE, "coarse.json"], "the bits of the two differ"),
    (["--difference", BASE_FILE, "coarse.json", "--sheet", "coarse.json"], "ends in .html"),
    (["--controllers", "no such.json"], "no such.json: No such file"),
    (["--controllers", BASE_FILE, "--channel", "17"], "--channel: 17 will not do; give a whole"),
    (["--controllers", BASE_FILE, "--channel", "one"], "--channel"),
    (["--controllers", BASE_FILE, "--midi", BASE_FILE], "--midi: 'demo/base.json' will not do"),
    (["--controllers", BASE_FILE, "--midi", "no/such"], "no/such: No such file"),
    (["--controllers", BASE_FILE, "--midi", "broken.json"], "broken.json"),
    ([*PAIR, "--controllers", BASE_FILE, "--midi", "m"], "--midi: it is one setup at a time"),
    (["--controllers", BASE_FILE, "--notes"], "--notes: no file is written; use it with --midi"),
    ([*PAIR, "--channel", "2"], "--channel: nothing is sent; use it with --controllers or --midi"),
    (["--audit", BASE_FILE, "--midi", "m"], "--midi: there is no setup to sweep"),
    (["--midi", "m"], "--midi: there is no setup to sweep; use it with one --combine or"),
    (["--sheet"], "--sheet: there is nothing to make one of; use it with --combine, --diff"),
    (["--setup", "x.json"], "--setup: no setup is made; use it with --combine or --edit"),
    (["--only", "Organ"], "--only: nothing is combined"),
    (["--free", "Organ"], "--free: nothing is combined"),
    (["--unreached"], "--unreached: nothing is combined"),
    (["--name", "x"], "--name: nothing is combined"),
    (["--demo-setups", "new", "--audit", BASE_FILE], "no question and no setup"),
    (["--demo-setups", "new", "--schema"], "--schema"),
    (["--demo-setups", "new", "--sheet"], "--sheet: there is nothing to make one of"),
    (["--schema", "--free", "x"], "--free: nothing is combined"),
    (["--demo-setups", "demo"], "demo/base.json: is there already"),
    (["--demo-setups", "broken.json"], "broken.json"),
    (["--demo-setups", "no/such"], "no/such: No such file"),
    (["--demo-setups", "two\0parts"], "null byte"),
    (["--demo-setups", "x" * 5000], "too long"),
]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with the demo's setups and files that are wrong."""
    monkeypatch.chdir(tmp_path)
    written(tmp_path / "demo")
    save(demo_request(), "request.json")
    save(attrs.evolve(BASE, surface=attrs.evolve(BASE.surface, bits=7), travels=()), "coarse.json")
    broken = dumps(BASE).replace('"bits": 10', '"bits": 99')
    Path("broken.json").write_text(broken, "utf-8")
    return tmp_path


def state(folder: Path) -> dict[str, bytes]:
    """All files, with what they hold."""
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("arguments", "named"), WRONG, ids=lambda each: str(each)[:40])
def test_what_is_wrong_is_refused_in_one_line(
    arguments: list[str], named: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = state(folder)
    assert main([*arguments, "--quiet"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("knobpack: ") == 1
    assert err.count("\n") == 1
    assert named in err
    assert state(folder) == before


@pytest.mark.usefixtures("folder")
def test_what_is_wrong_is_refused_before_anything_is_combined(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(module, "combine", lambda *_, **__: pytest.fail("combined"))
    for wrong in (
        ["--sheet", "sheet.pdf"],
        ["--free", "Nobody"],
        ["--clear", "K1"],
        ["--only", "Nobody"],
        ["--graph", "graph.png"],
        ["--audit", "no such.json"],
        ["--sweep", BASE_FILE, "none"],
    ):
        assert main([*PAIR, *wrong]) == 2
        assert capsys.readouterr().out == ""


@pytest.mark.usefixtures("folder")
def test_what_was_found_is_shown_and_written_though_one_file_cannot_be(
    capsys: pytest.CaptureFixture[str],
) -> None:
    options = ["--sheet", "no such folder/s.md", "--setup", "result.json", "--json", "demo"]
    assert main([*PAIR, *options]) == 2
    out, err = capsys.readouterr()
    assert out.startswith("COMBINED  Evening set with Organ set\n")
    first, second = err.splitlines()
    assert first == "The result is in result.json, as a setup."
    assert second.startswith("knobpack: demo: ")
    assert Path("result.json").exists()
    assert [path.name for path in Path("demo").iterdir() if path.name.endswith(".tmp")] == []


@pytest.mark.usefixtures("folder")
def test_a_terminal_sees_what_is_going_on(monkeypatch: pytest.MonkeyPatch) -> None:
    class Terminal(StringIO):
        def isatty(self) -> bool:
            return True

    for quiet in ([], ["--quiet"]):
        errors = Terminal()
        monkeypatch.setattr(sys, "stderr", errors)
        assert main([*PAIR, *quiet]) == 0
        assert ("combining 2 setups" in errors.getvalue()) == (not quiet)
        assert screen(errors.getvalue()) == ""
