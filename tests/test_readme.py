"""The README says what is so: its examples run, and what it shows is what the demo prints."""

from __future__ import annotations

import contextlib
import io
import json
import re
import shlex
from pathlib import Path

import pytest

from knobpack import Request, Setup
from knobpack.allocator import allocate_request
from knobpack.auditing.audit import audit
from knobpack.command.main import main
from knobpack.files import dumps, loads
from knobpack.present.demo import demo_request
from knobpack.present.text import layout_text

README = Path(__file__).parents[1] / "README.md"


CHAIN = "demo demo|demo --list|combine|audit|sweep|jumps|sheet|edit|move|listen|table|lists"
"""What its chain of commands begins with, one after the other in an empty folder."""


def blocks(language: str) -> list[str]:
    return re.findall(
        rf"^```{language}\n(.*?)^```$", README.read_text("utf-8"), re.DOTALL | re.MULTILINE
    )


def test_its_examples_run_one_after_the_other() -> None:
    printed = io.StringIO()
    names: dict[str, object] = {}
    with contextlib.redirect_stdout(printed):
        for block in blocks("python"):
            exec(block, names)  # noqa: S102 - the README is ours
    for each in (
        "unplaced 0 proven",
        "\nTrue (",
        "Strings/cutoff is on K",
        "sentences tell it all",
        "the travel of K5 starts where it ends (30 to 30)",
        "Strings/cutoff is now on layer 2, K2, 0 to 512 (half), shared with Strings/level.",
        "Snapshot 'All' takes in Cathedral set.",
        "2 of 2 came.",
        "K2 follows over 0 to 512 (half)",
        "Check at low volume",
        "K2 sends controllers 15 and 47 (14 bits)",
        "01 All.mid",
        "K2, 0 to 512 (half): drives Pulse/Cutoff.",
        "K2 goes from 0 to 512 (half); as before.",
        "0 steps to program",
        "unplaced: 0, at least 0",
        '"knobpack": "allocation"',
        "Voice 'Strings' from 'Cathedral set': add it on layer 2.",
    ):
        assert each in printed.getvalue()
    assert str(names["html"]).startswith("<!DOCTYPE html>")


def test_its_file_is_a_request_that_can_be_answered() -> None:
    body, _ = blocks("json")
    request = loads(body)
    assert isinstance(request, Request)
    found = allocate_request(request)
    assert found.proven
    assert found.unplaced == ()
    assert "`mine.json`" in README.read_text("utf-8")


def test_its_other_file_is_a_setup_without_a_fault() -> None:
    _, body = blocks("json")
    setup = loads(body)
    assert isinstance(setup, Setup)
    assert audit(setup).findings == ()
    assert "`quay.json`" in README.read_text("utf-8")


def to_write(place: int) -> list[str]:
    """The pieces of JSON in one of its tables of what to write."""
    table = README.read_text("utf-8").split("| for | write |")[place + 1].split("\n\n")[0]
    found = re.findall(r"`([^`]+)`", table)
    return [piece for piece in found if piece.startswith(("{", '"')) and '"' in piece]


def test_what_more_it_tells_of_setups_can_be_read() -> None:
    """Each piece of JSON in its second table, put where it belongs in the setup beside it."""
    (block,) = (each for each in blocks("json") if '"knobpack": "setup"' in each)
    told = to_write(1)
    assert len(told) == 9
    for piece in told:
        plain = json.loads(block)
        snapshot = plain["snapshots"][0]
        places = {"label_length": plain["surface"], "channel": plain["voices"][0]}
        added = json.loads(f"{{{piece}}}")
        first = next(iter(added))
        places |= {"silent": snapshot, "idle": snapshot, "positions": snapshot}
        places |= {"travel_on": plain["surface"], "travel": plain["routes"][0]}
        places.get(first, plain).update(added)
        found = loads(json.dumps(plain))
        assert isinstance(found, Setup)
        assert first in dumps(found)


def test_what_more_it_tells_to_write_can_be_read() -> None:
    """Each piece of JSON in its table of more to say, put into the request beside it."""
    told = to_write(0)
    assert len(told) == 8
    for piece in told:
        plain = json.loads(blocks("json")[0])
        if piece.startswith("{"):
            whole = piece.replace('"names": […]', '"names": ["Bells/echo"]')
            whole = whole.replace('"knobs": […]', '"knobs": ["lower left"]')
            plain["rules"].append(json.loads(whole.replace('"…"', '"upper left"')))
        else:
            places = {
                "weight": plain["rules"][0],
                "break_weight": plain["snapshots"][0],
            }
            added = json.loads(f"{{{piece}}}")
            place = places.get(next(iter(added)), plain["voices"][1]["destinations"][1])
            place.update(added)
        assert isinstance(loads(json.dumps(plain)), Request)


def test_each_line_of_the_chain_runs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In the order in which they stand, in an empty folder, as a shell would expand them."""
    monkeypatch.chdir(tmp_path)
    lines = [
        line.split("  ")[0]
        for block in blocks("text")
        for line in block.splitlines()
        if re.match(rf"knobpack ({CHAIN})", line)
    ]
    assert len(lines) == 18
    for line in lines:
        words = [
            found
            for word in shlex.split(line)[1:]
            for found in (sorted(map(str, Path().glob(word))) if "*" in word else [word])
        ]
        assert main(words) == 0, line
    printed = capsys.readouterr().out
    assert "10 of 11 came" in printed
    assert "dead: empty travel" in printed
    assert (tmp_path / "sheet.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert (tmp_path / "sheet.md").stat().st_size > 1000
    assert isinstance(loads((tmp_path / "result.json").read_text("utf-8")), Setup)
    # To another panel and back home: the same setup, byte by byte.
    mended, home = ((tmp_path / f"{name}.json").read_bytes() for name in ("mended", "home"))
    assert mended == home
    assert len(list((tmp_path / "midi").glob("*.mid"))) == 7


def test_each_answer_it_shows_is_what_the_command_prints(
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    shown = [block.splitlines() for block in blocks("text") if block.startswith("$ ")]
    assert len(shown) == 5
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    assert main(["demo", "--request", "demo.json", "--quiet"]) == 0
    for command, *lines in shown:
        assert main(shlex.split(command)[2:]) == 0
        assert capsys.readouterr().out.splitlines() == lines


def test_what_it_shows_of_the_demo_is_what_is_printed() -> None:
    printed = layout_text(allocate_request(demo_request())).splitlines()
    shown = [line for line in blocks("text")[-1].splitlines() if line]
    assert len(shown) > 10
    assert [line for line in shown if line not in printed] == []
