"""Setups edited and taken to another panel from the command line."""

from __future__ import annotations

import json
from pathlib import Path

import attrs
import pytest

from knobpack import OnKnob, OutOfUse, OwnKnob, Swap, edit, move_to_panel, patch_sheet
from knobpack.files import load_setup, save
from knobpack.present.command import main
from knobpack.words import Setup, Surface
from tests.edits.test_by_hand import SETUP


@pytest.fixture
def path(tmp_path: Path) -> str:
    """The file of a setup in use."""
    target = tmp_path / "evening.json"
    save(SETUP, target)
    return str(target)


def edited(path: str, options: list[str], tmp_path: Path) -> Setup:
    target = tmp_path / "edited.json"
    assert main(["--edit", path, *options, "--setup", str(target), "--quiet"]) == 0
    return load_setup(target)


def test_edits_are_done_in_their_order(path: str, tmp_path: Path) -> None:
    options = ["--out-of-use", "K1", "--own", "Bass/level", "--swap", "K2", "K3"]
    expected = SETUP
    for what in (OutOfUse("K1"), OwnKnob(("Bass/level",)), Swap("K2", "K3")):
        expected = edit(expected, what).setup
    assert edited(path, options, tmp_path) == expected


def test_what_is_asked_twice_is_done_twice(path: str, tmp_path: Path) -> None:
    once = edited(path, ["--swap", "K1", "K3"], tmp_path)
    twice = edited(path, ["--swap", "K1", "K3", "--swap", "K1", "K3"], tmp_path)
    assert once.routes != SETUP.routes
    assert set(twice.routes) == set(SETUP.routes)


@pytest.mark.parametrize(
    "options",
    [
        ["--on", "K5", "Organ/level", "Organ/drive"],
        ["--part", "K2"],
        ["--join", "K3", "K4"],
        ["--away", "Late set"],
        ["--out-of-use", "K1", "--back-in-use", "K1"],
    ],
)
def test_every_edit_can_be_asked(path: str, tmp_path: Path, options: list[str]) -> None:
    found = edited(path, options, tmp_path)
    assert (found == SETUP) == ("--back-in-use" in options) or found.broken == ()


def test_the_text_says_what_moved_and_why_and_that_it_is_proven(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "sheet.html"
    assert main(["--edit", path, "--out-of-use", "K1", "--sheet", str(sheet)]) == 0
    told = capsys.readouterr()
    assert "K1 out of use: 2 routes change, of K1, proven the least.\n" in told.out
    assert "Organ/level goes from K1 to K5, because K1 is broken.\n" in told.out
    assert "AUDIT  Evening set\n" in told.out
    assert max(map(len, told.out.splitlines())) <= 79
    expected = patch_sheet(SETUP, edit(SETUP, OutOfUse("K1")).setup)
    assert sheet.read_text("utf-8") == expected.page()
    assert "The patch sheet is in" in told.err


def test_the_last_edit_shows_what_is_on_which_knob(
    path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--edit", path, "--out-of-use", "K3", "--swap", "K1", "K4"]) == 0
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


def test_to_another_panel_and_back_home(path: str, tmp_path: Path) -> None:
    other = tmp_path / "other.json"
    save(attrs.evolve(SETUP, surface=Surface.row(3, bits=10)), other)
    away = edited(path, ["--to-panel", str(other)], tmp_path)
    assert away == move_to_panel(SETUP, Surface.row(3, bits=10)).setup
    there = tmp_path / "there.json"
    save(away, there)
    assert edited(str(there), ["--to-panel", path], tmp_path) == SETUP


def test_answers_are_written_as_json(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--edit", path, "--swap", "K1", "K5", "--json", "-"]) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert [each["question"] for each in answers] == ["edit", "audit", "patch sheet"]
    assert answers[0]["asked"] == "--swap K1 K5"
    assert answers[0]["sentences"] == list(edit(SETUP, Swap("K1", "K5")).sentences)


def test_what_is_essential_and_left_out_is_the_first_line_and_the_exit_status(
    path: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    small = tmp_path / "small.json"
    save(attrs.evolve(SETUP, surface=Surface.row(1)), small)
    assert main(["--edit", path, "--to-panel", str(small)]) == 5
    lines = capsys.readouterr().out.splitlines()
    assert lines[1].startswith("  Essential, and left out: ")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        ([], "there is no edit; say what is to be edited, such as --own NAME"),
        (["--own", "Orgam/level"], "--own: 'Orgam/level' will not do"),
        (["--own", "Nobody"], "of the setup, such as Organ, Bass and Strings;"),
        (["--on", "K1"], "--on: 'K1' will not do; give a knob and what goes on it"),
        (["--on", "Organ/drive", "K1"], "name the knob first, then what goes on it"),
        (["--join", "K1"], "--join: 'K1' will not do; give two knobs or more"),
        (["--join", "Organ/drive", "K2"], "--join: 'Organ/drive' will not do; give knobs"),
        (["--swap", "K1", "Bass/level"], "--swap: 'Bass/level' will not do; give two knobs"),
        (["--swap", "K1", "K1"], "--swap: 'K1' will not do; name two different knobs"),
        (["--part", "Bass/level"], "--part: 'Bass/level' will not do; name two destinations"),
        (["--out-of-use", "9"], "; the knobs: K1, K2, K3, K4 and K5;"),
        (["--out-of-use", "5"], "; close to it: K5;"),
        (["--back-in-use", "K1"], "--back-in-use: 'K1' will not do; name a knob that is out"),
        (["--to-panel", "none.json"], "none.json: No such file"),
        (["--swap", "K1", "K2", "--why", "Organ/level"], "--why: nothing is laid out"),
        (["--swap", "K1", "K2", "--free", "Organ"], "--free: nothing is combined"),
    ],
)
def test_what_cannot_be_asked_is_refused(
    path: str, options: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--edit", path, *options]) == 2
    assert told in capsys.readouterr().err


def test_to_the_panel_it_is_on_it_is_not_taken(
    path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--edit", path, "--to-panel", path]) == 2
    told = capsys.readouterr().err
    assert told.startswith("knobpack: --to-panel: the setup is on that panel already; give another")


def test_edits_need_a_setup(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--swap", "K1", "K2"]) == 2
    assert "--swap: no setup is edited; use it with --edit SETUP.json" in capsys.readouterr().err


def test_what_cannot_be_met_says_why(path: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--edit", path, "--join", "K1", "K2"]) == 3
    assert "snapshot" in capsys.readouterr().err
    with pytest.raises(Exception, match="Bass"):
        edit(SETUP, OnKnob(("Organ", "Bass"), "K1"))
