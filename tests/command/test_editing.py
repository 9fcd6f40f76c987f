"""Setups edited and taken to another panel from the command line."""

from __future__ import annotations

import json
import sys
from io import BytesIO, TextIOWrapper
from pathlib import Path

import attrs
import pytest

from knobpack import OnKnob, OutOfUse, OwnKnob, Swap, edit, move_to_panel, patch_sheet
from knobpack.command.main import main
from knobpack.edits import take_back
from knobpack.files import load_setup, loads, save
from knobpack.words import Setup, Surface
from tests.edits.rehearsal import SETUP
from tests.present.read_answers import DEMO, solved
from tests.present.samples_of_setups import BASE, ORGAN, combined


@pytest.fixture
def path(tmp_path: Path) -> str:
    """The file of a setup in use."""
    target = tmp_path / "evening.json"
    save(target, SETUP)
    return str(target)


def edited(path: str, options: list[str], tmp_path: Path) -> Setup:
    target = tmp_path / "edited.json"
    options = [*options, "--setup", str(target), "--quiet", "--force"]
    assert main(["edit", path, *options]) == 0
    return load_setup(target)


def test_edits_are_done_in_their_order(path: str, tmp_path: Path) -> None:
    options = ["out-of-use", "K1", "then", "own", "Bass/level", "then", "swap", "K2", "K3"]
    expected = SETUP
    for what in (OutOfUse("K1"), OwnKnob(("Bass/level",)), Swap("K2", "K3")):
        expected = edit(expected, what).setup
    assert edited(path, options, tmp_path) == expected


def test_what_is_asked_twice_is_done_twice(path: str, tmp_path: Path) -> None:
    once = edited(path, ["swap", "K1", "K3"], tmp_path)
    twice = edited(path, ["swap", "K1", "K3", "then", "swap", "K1", "K3"], tmp_path)
    assert once.routes != SETUP.routes
    assert set(twice.routes) == set(SETUP.routes)


@pytest.mark.parametrize(
    "options",
    [
        ["on", "K5", "Organ/level", "Organ/drive"],
        ["part", "K2"],
        ["join", "K3", "K4"],
        ["travel", "K1", "0", "90"],
        ["away", "Late set"],
        ["out-of-use", "K1", "then", "back-in-use", "K1"],
    ],
)
def test_every_edit_can_be_asked(path: str, tmp_path: Path, options: list[str]) -> None:
    found = edited(path, options, tmp_path)
    assert (found == SETUP) == ("back-in-use" in options) or found.broken == ()


def test_the_text_says_what_moved_and_why_and_that_it_is_proven(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "sheet.html"
    assert main(["edit", path, "out-of-use", "K1", "--sheet", str(sheet)]) == 0
    told = capsys.readouterr()
    assert "K1 out of use: 2 routes move, from K1; proven: less will not do, " in told.out
    assert "Organ/level and Organ/drive go from K1 to K5, because K1 is broken.\n" in told.out
    assert "AUDIT" not in told.out
    expected = edit(SETUP, OutOfUse("K1")).sheet
    assert expected.steps == patch_sheet(SETUP, edit(SETUP, OutOfUse("K1")).setup).steps
    assert sheet.read_text("utf-8") == expected.page()
    steps = sum(step.sets for step in expected.steps)
    assert 0 < steps < len(expected.steps)
    assert told.err == f"The patch sheet, {steps} steps, is in {sheet}.\n"
    assert main(["edit", path, "out-of-use", "K1", "--details"]) == 0
    assert "AUDIT  Evening set\n" in capsys.readouterr().out


def test_the_last_edit_shows_what_is_on_which_knob(
    path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["edit", path, "out-of-use", "K3", "then", "swap", "K1", "K4"]) == 0
    told = capsys.readouterr().out
    last, panel = told.split("THE KNOBS NOW\n")
    assert last.count("EDIT  Evening set\n") == 2
    rows = [line.split() for line in panel.split("\n\n")[0].splitlines()]
    now = edit(edit(SETUP, OutOfUse("K3")).setup, Swap("K1", "K4")).setup
    shown = {row[0]: {word.rstrip(",") for word in row if "/" in word} for row in rows}
    assert shown == {
        knob: {route.destination for route in now.routes if route.knob == knob}
        for knob in ("K1", "K2", "K3", "K4", "K5")
    }
    assert "20 to 101" in " ".join(rows[3])


@pytest.mark.parametrize("way", [["--home"], ["evening.json"]])
def test_to_another_panel_and_back_home(
    path: str, way: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    save(Path("other.json"), attrs.evolve(SETUP, surface=Surface.row(3, bits=10)))
    assert main(["move", path, "other.json", "--setup", "away.json", "--quiet"]) == 0
    assert load_setup("away.json") == move_to_panel(SETUP, Surface.row(3, bits=10)).setup
    assert main(["move", "away.json", *way, "--setup", "home.json", "--sheet", "back.md"]) == 0
    assert load_setup("home.json") == SETUP


def test_edits_are_taken_back(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    twice = edited(path, ["swap", "K1", "K3", "then", "own", "Bass/level"], tmp_path)
    there = tmp_path / "twice.json"
    save(there, twice)
    assert main(["show", str(there)]) == 0
    assert "Edit 1: K1 and K3 change places." in capsys.readouterr().out
    first = take_back(twice, 1).setup
    for which in (
        ["1"],
        ["K1", "and", "K3", "change", "places"],
        ["K1 and K3 change places"],
    ):
        assert edited(str(there), ["take-back", *which], tmp_path) == first
    assert edited(str(there), ["take-back", "then", "take-back"], tmp_path) == SETUP
    assert main(["edit", path, "take-back"]) == 2
    assert "take-back: nothing was edited; give a setup that was" in capsys.readouterr().err
    assert main(["edit", str(there), "take-back", "3"]) == 2
    assert "take-back: 3 will not do; give the number of an edit, 1 to 2" in capsys.readouterr().err


def test_the_file_itself_is_replaced_where_that_is_said(path: str) -> None:
    assert main(["edit", path, "swap", "K1", "K5", "--in-place", "--quiet"]) == 0
    assert load_setup(path) == edit(SETUP, Swap("K1", "K5")).setup


def test_a_request_is_laid_out_before_it_is_edited(demo: str, tmp_path: Path) -> None:
    target = tmp_path / "own.json"
    assert main(["edit", demo, "own", "Oboe/level", "--setup", str(target), "--quiet"]) == 0
    before = solved(DEMO).setup("demo")
    assert load_setup(target) == edit(before, OwnKnob(("Oboe/level",))).setup


def test_one_command_goes_on_with_what_another_gave(
    path: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["edit", path, "swap", "K1", "K5", "--setup", "-"]) == 0
    given = capsys.readouterr().out
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(given.encode())))
    assert main(["edit", "-", "swap", "K1", "K5", "--json", "-"]) == 0
    (told, _) = json.loads(capsys.readouterr().out)["answers"].values()
    twice = edit(edit(SETUP, Swap("K1", "K5")).setup, Swap("K1", "K5")).setup
    assert loads(json.dumps(told["setup"])) == twice


def test_where_what_stays_is_in_the_way_it_is_told_what_an_edit_would_move(
    path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    setup = combined(ORGAN).setup
    save(path, setup)
    name, knob = BASE.routes[0].destination, BASE.routes[1].knob
    assert main(["ask", path, "why-not", name, knob]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"on {knob} {name} would do it: " in said
    assert said.endswith(" ".join(edit(setup, OnKnob((name,), knob)).headlines))


def test_answers_are_written_as_json(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["edit", path, "swap", "K1", "K5", "--json", "-"]) == 0
    answers = loads(capsys.readouterr().out)
    assert isinstance(answers, dict)
    assert [type(each).__name__ for each in answers.values()] == ["Edited", "Audit"]
    assert answers["swap K1 K5"] == edit(SETUP, Swap("K1", "K5"))


def test_what_is_essential_and_left_out_is_the_first_line_and_the_exit_status(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small = tmp_path / "small.json"
    save(small, attrs.evolve(SETUP, surface=Surface.row(1)))
    assert main(["move", path, str(small)]) == 5
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].startswith("  Essential, and left out: ")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([], "EDIT: is missing; give one of own"),
        (["own", "Orgam/level"], "own: 'Orgam/level' will not do"),
        (["own", "Nobody"], "of the setup, such as Organ, Bass and Strings\n"),
        (["on", "K1"], "on: takes a knob and a name or more, and has 1; knobpack edit FILE on"),
        (["on", "Organ/drive", "K1"], "name the knob first, then what goes on it"),
        (["join", "K1"], "join: takes two knobs or more, and has 1"),
        (["join", "Organ/drive", "K2"], "join: 'Organ/drive' will not do; give two knobs or more"),
        (["swap", "K1", "Bass/level"], "swap: 'Bass/level' will not do; give two knobs"),
        (["swap", "K1", "K1"], "swap: 'K1' will not do; name two different knobs"),
        (
            ["travel", "K1", "0", "128"],
            "travel: '0 to 128' will not do; positions run from 0",
        ),
        (["travel", "K1", "0", "x"], "travel: 'x' will not do; give a whole number"),
        (["part", "Bass/level"], "part: 'Bass/level' will not do; name two destinations"),
        (["out-of-use", "9"], "surface, such as K1, K2 and K3\n"),
        (["out-of-use", "5"], "; close to it: K5\n"),
        (["back-in-use", "K1"], "back-in-use: 'K1' will not do; name a knob that is out"),
        (
            ["swop", "K1", "K2"],
            "'swop': will not do; give one of own, on, swap, part, join",
        ),
        (["swap", "K1", "K2", "then"], "then: nothing stands on one side of it"),
        (["swap", "K1", "K2", "--free", "Organ"], "--free: there is no such option"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    path: str, options: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["edit", path, *options]) == 2
    assert told in capsys.readouterr().err


def test_what_cannot_be_met_says_why(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["edit", path, "join", "K1", "K2"]) == 3
    assert "snapshot" in capsys.readouterr().err
    with pytest.raises(Exception, match="Bass"):
        edit(SETUP, OnKnob(("Organ", "Bass"), "K1"))


def test_the_caution_of_several_edits_is_that_of_all_of_them(
    path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """The second turns nothing round and sets no level otherwise: its own has nothing to say."""
    turned = ["travel", "K1", "101", "20"]
    assert main(["edit", path, *turned, "then", "swap", "K4", "K5"]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert "Turned round: Organ/level and Organ/drive (K1)." in text.split("CAUTION")[1]
    assert "are set otherwise on K1." in text.split("CAUTION")[1]
    assert "Not new: " in text.split("CAUTION")[1]
