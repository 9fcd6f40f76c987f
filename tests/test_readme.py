"""README and the guides say what is so: examples run, and files that are shown can be read."""

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

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text("utf-8")
FOR_PLAYERS = "\n\n".join(
    "".join(cell["source"])
    for cell in json.loads((TOP / "notebooks" / "for_players.ipynb").read_text("utf-8"))["cells"]
    if cell["cell_type"] == "markdown"
)


def blocks(language: str, text: str = README) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```$", text, re.DOTALL | re.MULTILINE)


SAVED = {"all.mid", "answers.json", "friday.html", "own.json", "panel.svg", "why.html"}
"""What its Python leaves in a folder."""


def test_its_examples_run_one_after_the_other(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("MPLBACKEND", "agg")
    printed = io.StringIO()
    names: dict[str, object] = {}
    with contextlib.redirect_stdout(printed):
        for block in blocks("python"):
            exec(block, names)  # noqa: S102 - the README is ours
    for each in (
        "unplaced 0, proven",
        "Bass/drive cannot go to K1 as it is: K1 carries Strings/cutoff",
        "the travel of K5 starts where it ends (30 to 30)",
        "Snapshot 'All' takes in Cathedral set.",
        "2 of 2 came.",
        "Voice 'Strings' from 'Cathedral set': add it on layer 2.",
        "K2 out of use",
        "Check at low volume",
    ):
        assert each in printed.getvalue()
    assert {path.name for path in tmp_path.iterdir()} == SAVED


def test_the_file_for_players_is_a_request_that_can_be_answered() -> None:
    body, _ = blocks("json", FOR_PLAYERS)
    request = loads(body)
    assert isinstance(request, Request)
    found = allocate_request(request)
    assert found.proven
    assert found.unplaced == ()
    assert "`mine.json`" in FOR_PLAYERS


def test_the_other_file_for_players_is_a_setup_without_a_fault() -> None:
    _, body = blocks("json", FOR_PLAYERS)
    setup = loads(body)
    assert isinstance(setup, Setup)
    assert audit(setup).findings == ()


def to_write(place: int) -> list[str]:
    """The pieces of JSON in one of the tables of what to write."""
    table = FOR_PLAYERS.split("| for | write |")[place + 1].split("\n\n")[0]
    found = re.findall(r"`([^`]+)`", table)
    return [piece for piece in found if piece.startswith(("{", '"')) and '"' in piece]


def test_what_more_it_tells_of_setups_can_be_read() -> None:
    """Each piece of JSON in its second table, put where it belongs in the setup beside it."""
    (block,) = (each for each in blocks("json", FOR_PLAYERS) if '"knobpack": "setup"' in each)
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
        plain = json.loads(blocks("json", FOR_PLAYERS)[0])
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
    """In the order in which they stand, in the folder in which its Python ran."""
    monkeypatch.chdir(tmp_path)
    for name in SAVED:
        (tmp_path / name).touch()
    chain = next(block for block in blocks("text") if block.startswith("knobpack demo demo\n"))
    for line in chain.splitlines():
        assert main(shlex.split(line)[1:]) == 0, line
    printed = capsys.readouterr().out
    assert "10 of 11 came" in printed


def test_every_guide_is_named_and_every_link_leads_somewhere() -> None:
    links = re.findall(r"\]\(([^)]+)\)", README)
    assert {f"notebooks/{path.name}" for path in (TOP / "notebooks").glob("*.ipynb")} <= set(links)
    assert all((TOP / link).exists() for link in links)


def test_it_can_be_read_at_one_sitting() -> None:
    assert len(README.splitlines()) <= 250
