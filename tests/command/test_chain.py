"""The whole chain: source setups in, patch sheet out, in one line."""

from __future__ import annotations

import json
import shlex
from pathlib import Path
from typing import Any

import pytest

from knobpack import OutOfUse, edit
from knobpack.auditing.audit import audit
from knobpack.command.main import main
from knobpack.files import load_setup, loads, to_plain
from knobpack.present.combination_text import combination_text
from knobpack.present.demo import SETUPS
from knobpack.present.setup_text import audit_text, jumps_text
from knobpack.present.text import layout_text
from knobpack.sheets import patch_sheet
from knobpack.simulation import worst_changes
from tests.oracles.replay import in_order, replay
from tests.present.read_answers import fits, told
from tests.present.samples_of_setups import BASE, BASS, ORGAN, combined, holds, written


def report(*, details: bool) -> str:
    """What is to be printed of the demo's setups combined."""
    found = combined(ORGAN, BASS)
    parts = [
        combination_text(found, details=details),
        layout_text(found.allocation, setup=found.setup, details=details),
    ]
    if details:
        parts += [
            audit_text(audit(found.setup), found.setup, by_knob=False),
            jumps_text(found.setup, worst_changes(found.setup)),
        ]
    return "\n".join(parts)


def test_the_demo_says_the_command_that_runs_the_chain(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["demo", "demo setups"]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    first, late = (shlex.split(line) for line in err.splitlines()[-2:])
    assert first[:2] == late[:2] == ["knobpack", "combine"]
    assert main(first[1:]) == 0
    out, err = capsys.readouterr()
    assert out == report(details=False)
    steps = len(patch_sheet(BASE, combined(ORGAN, BASS).setup).steps)
    assert f"The patch sheet, {steps} steps, is in sheet.html.\n" in err
    assert main(late[1:]) == 0
    out, err = capsys.readouterr()
    assert out.startswith("COMBINED  Evening set with Brass set\n  2 of 2 came.\n")
    assert (
        Path("sheet.html").read_text("utf-8")
        == patch_sheet(BASE, combined(ORGAN, BASS).setup).page()
    )
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        *("demo setups", "late.html", "sheet.html", "tonight.json")
    ]


def test_the_sheet_done_on_the_base_gives_the_setup_that_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    paths = written(tmp_path / "demo")
    target, log = tmp_path / "result.json", tmp_path / "answers.json"
    options = ["--setup", str(target), "--json", str(log), "--quiet"]
    assert main(["combine", *paths, *options]) == 0
    assert capsys.readouterr() == ("", "")
    result = load_setup(target)
    found = combined(ORGAN, BASS)
    assert result == found.setup
    sheet = patch_sheet(load_setup(paths[0]), result)
    assert in_order(replay(BASE, sheet.steps)) == in_order(result)
    answers = json.loads(log.read_text("utf-8"))["answers"]
    expected: dict[str, Any] = {
        "combination": found,
        "audit of the result": audit(result),
        "jumps in the result": worst_changes(result),
    }
    assert answers == to_plain(expected)["answers"]


def test_the_base_is_passed_over_among_the_sources(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    written(tmp_path / "demo")
    # What a shell makes of demo/*.json.
    every = [f"demo/{name}" for name in SETUPS[:3]]
    assert main(["combine", "./demo/base.json", *every, "--details"]) == 0
    out, err = capsys.readouterr()
    assert out == report(details=True)
    assert err == "./demo/base.json is the base: it is not brought as a source too.\n"


def test_the_report_tells_all() -> None:
    found = combined(ORGAN, BASS)
    text = report(details=True)
    assert fits(text)
    parts = [f"{each.voice}/{each.destination}" for each in found.carried]
    parts += [str(each) for each in found.left]
    parts += [f"{each.kind} {each.old}" for each in found.brought]
    parts += [*audit(found.setup).sentences]
    assert holds(text, parts) == []
    assert holds(text, found.headlines) == []
    assert text.split("\n")[1].startswith("  10 of 11 came; there is no Strings/drve")


@pytest.mark.parametrize(
    ("ending", "starts"), [("html", "<!DOCTYPE html>"), ("md", "# Patch sheet"), ("TXT", "PATCH")]
)
def test_the_name_of_the_file_decides_the_form_of_the_sheet(
    ending: str, starts: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, organ, _ = written(tmp_path / "demo")
    target = tmp_path / f"sheet.{ending}"
    assert main(["combine", base, organ, "--sheet", str(target)]) == 0
    assert target.read_text("utf-8").startswith(starts)
    assert "PATCH SHEET" not in capsys.readouterr().out


def test_a_sheet_is_called_by_what_was_done(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, organ, _ = written(tmp_path / "demo")
    edits = ("out-of-use", "K2", "then", "own", "Piano/level")
    assert main(["edit", base, *edits, "--sheet", "-"]) == 0
    assert capsys.readouterr().out.startswith("PATCH SHEET  Evening set: K2 out of use; ")
    assert main(["move", base, organ, "--sheet", "-"]) == 0
    moved = "Evening set on 7 of 8 knobs (Spare is reserved) at 7 bits"
    assert capsys.readouterr().out.startswith(f"PATCH SHEET  {moved}\n")
    setup = load_setup(base)
    edited = edit(setup, OutOfUse("K2"))
    assert edited.sheet.title == "Evening set: K2 out of use"
    assert f"<title>Patch sheet: {edited.sheet.title}</title>" in edited.sheet.page()
    assert patch_sheet(None, setup).title == setup.name


def test_one_thing_goes_to_standard_output_instead_of_the_text(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, organ, _ = written(tmp_path / "demo")
    assert main(["combine", base, organ, "--sheet", "-"]) == 0
    found = combined(ORGAN).setup
    assert capsys.readouterr().out == patch_sheet(BASE, found).text()
    assert main(["combine", base, organ, "--setup", "-"]) == 0
    assert loads(capsys.readouterr().out) == found
    assert main(["combine", base, organ, "--json", "-"]) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert [each["question"] for each in answers.values()] == ["combination", "audit", "jumps"]


def test_questions_are_answered_about_the_result(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, organ, _ = written(tmp_path / "demo")
    graph, result = tmp_path / "graph.json", tmp_path / "result.json"
    assert main(["combine", base, organ, "--setup", str(result), "--graph", str(graph)]) == 0
    nodes = [each["id"] for each in json.loads(graph.read_text("utf-8"))["nodes"]]
    assert nodes == list(combined(ORGAN).allocation.graph)
    capsys.readouterr()
    assert main(["ask", str(result), "why", "Organ/brightness", "then", "least-knobs"]) == 0
    out = told(capsys.readouterr().out)
    assert list(out) == ["WHY Organ/brightness", "LEAST KNOBS"]
    assert "Organ/brightness is on K" in out["WHY Organ/brightness"]
    assert main(["ask", str(result), "why", "Orgn/brightness"]) == 2
    assert "close to it: Organ/brightness" in capsys.readouterr().err
