"""A knob whose name is but a number is called "knob 6" wherever it is told of, and never "6"."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from knobpack.command.main import main
from knobpack.files import to_plain
from knobpack.present.demo import demo_request, demo_setups
from knobpack.words import Request, Setup
from knobpack.words.names import knob_cells, knob_told, knobs_told

COMMANDS = """
combine base.json organ.json bass.json --setup tonight.json --details
combine tonight.json late.json --details
allocate mine.json --details
allocate mine.json
ask mine.json explain
ask tonight.json explain
ask mine.json without 933 then more-knobs 1 then every-clash then why-not Strings/level 934
edit tonight.json out-of-use 932 then swap 931 933 then own Bass/drive --details --setup e.json
edit e.json on 935 Organ/send then back-in-use 932 then take-back 2
show e.json
audit base.json tonight.json organ.json bass.json late.json
sweep tonight.json
jumps tonight.json
sheet base.json tonight.json
sheet tonight.json e.json
midi tonight.json
move tonight.json organ.json
"""


def numbered(word: Request | Setup) -> str:
    """A word whose knobs are called 931 and so on: numbers that stand for nothing else."""
    return json.dumps(to_plain(word)).replace('"K', '"93')


def bare(text: str) -> list[str]:
    """The knobs that a text names by their number alone, with what stands around them."""
    text = " ".join(text.split())
    # A rule is told as it is written: fixed(Organ/level; 933).
    text = re.sub(r"(fixed|barred)\([^)]*\)", "a rule", text)
    text = re.sub(r"[Kk]nobs?( 93\d(,| and)?)+( and \d+ more)?", "a knob", text)
    return [text[max(0, m.start() - 40) : m.end() + 20] for m in re.finditer(r"\b93\d\b", text)]


def test_it_is_called_so_in_every_answer(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    for name, setup in demo_setups().items():
        Path(name).write_text(numbered(setup))
    Path("mine.json").write_text(numbered(demo_request()))
    for line in COMMANDS.strip().splitlines():
        assert main(line.split()) in {0, 5}, line
        out = capsys.readouterr().out
        assert re.search(r"\b93\d\b", out), line
        assert bare(out) == [], line


def test_other_names_stand_as_they_are() -> None:
    assert (knob_told("6"), knob_told("K6"), knob_told("lower left")) == (
        "knob 6",
        "K6",
        "lower left",
    )
    assert knobs_told(["1", "2", "3"]) == "knobs 1, 2 and 3"
    assert knobs_told(["6"]) == "knob 6"
    assert knobs_told(["K1", "6"]) == "K1 and knob 6"
    assert knobs_told(["1", "2", "3"], 2) == "knobs 1, 2 and 1 more"
    assert knob_cells(["1", "2"]) == "knobs 1, 2"
    assert knob_cells(["K1", "K2"]) == "K1, K2"
    assert knob_cells([]) == ""
