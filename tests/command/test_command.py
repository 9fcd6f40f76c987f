"""The command: what it prints, what it writes, and the status it ends with."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import jsonschema
import pytest

from knobpack import Destination, Surface, Voice, allocate, allocator
from knobpack.allocator import allocate_request
from knobpack.command import inputs, written_files
from knobpack.command.main import main
from knobpack.errors import InputError, KnobpackError, NoLayoutFound, Reason
from knobpack.files import load_request, load_setup, loads, save, schema, to_plain
from knobpack.present.demo import demo_request
from knobpack.present.text import layout_text
from knobpack.setups.as_read import read
from knobpack.words import Fixed, Request, Snapshot
from knobpack.words.snapshot import EVERYTHING
from tests.command.samples_of_command import SMALL
from tests.present.samples_of_setups import BASE, BASS, ORGAN, combined


def test_a_request_file_is_laid_out(file: str, capsys: pytest.CaptureFixture[str]) -> None:
    for details in ([], ["--details"]):
        assert main(["allocate", file, *details]) == 0
        out, err = capsys.readouterr()
        assert out == layout_text(allocate_request(SMALL), details=bool(details))
        assert err == ""


def test_what_is_essential_and_left_out_is_told_with_a_way_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Three levels that play alone, on two knobs: one of the snapshots costs the third its knob."""
    voices = [Voice(name, [Destination("level", priority=1)]) for name in ("Reed", "Glow", "Tide")]
    alone = [Snapshot(each.name, [each.name]) for each in voices]
    every = Snapshot("all", [each.name for each in voices])
    path = tmp_path / "three.json"
    save(path, Request(Surface.row(2), voices, snapshots=[every, *alone]))
    assert main(["allocate", str(path)]) == 5
    said = " ".join(capsys.readouterr().out.partition("A WAY OUT")[2].split())
    without = r"\w+/level would have a knob without the snapshots '(\w+)' and '(\w+)'"
    found = re.fullmatch(rf"{without}: take them out of the request\.", said)
    assert found is not None
    left = [each for each in (every, *alone) if each.name not in found.groups()]
    assert allocate(voices, Surface.row(2), snapshots=left).essential_out == ()


def test_a_setup_is_laid_out_anew(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    base, target = tmp_path / "base.json", tmp_path / "anew.json"
    # What one knob drives stays together; what no knob drives stays so, and that is said.
    save(base, combined(ORGAN, BASS).setup)
    assert main(["allocate", str(base), "--setup", str(target)]) == 0
    told = "LEFT OUT No knob drove Organ/level and Piano (Bass set)/tone: knobpack edit"
    assert told in " ".join(capsys.readouterr().out.split())
    found = load_setup(target)
    assert found.name == BASE.name
    assert found.surface == BASE.surface
    bundles = {frozenset(names) for names in read(combined(ORGAN, BASS).setup).carries.values()}
    now = [set(names) for names in read(found).carries.values()]
    assert all(any(bundle <= names for names in now) for bundle in bundles)
    driven = {route.destination for route in found.routes}
    assert driven == {route.destination for route in combined(ORGAN, BASS).setup.routes}


def test_snapshots_laid_out_anew_keep_their_names(tmp_path: Path) -> None:
    base, target = tmp_path / "base.json", tmp_path / "anew.json"
    first, last = (read(BASE).carries[knob][0] for knob in ("K1", "K2"))
    parts = (Snapshot(EVERYTHING, (first,)), Snapshot(BASE.name, (last,)))
    # Where none moves all that its others move, one is added, under a name that is free.
    of_parts = attrs.evolve(BASE, snapshots=parts)
    for setup, added in ((combined(ORGAN, BASS).setup, 0), (of_parts, 1)):
        save(base, setup)
        written = ("--setup", str(target), "--force", "--quiet")
        assert main(["allocate", str(base), *written]) == 0
        names = [each.name for each in load_setup(target).snapshots]
        assert names[added:] == [each.name for each in setup.snapshots]


def test_without_a_word_it_says_what_it_is_in_ten_lines(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert len(out.splitlines()) <= 10
    assert "knobpack demo" in out
    assert "knobpack VERB --help" in out


def test_the_demo_tells_of_an_evening(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["demo"]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    chapters = [line for line in out.splitlines() if line[:1].isdigit()]
    assert [line[0] for line in chapters] == ["1", "2", "3"]
    for told in (
        "10 of 11 came; there is no Strings/drve",
        "Snapshot 'all' takes in Organ set and Bass set.",
        "2 of 2 came.",
        "K7 out of use: 2 routes move, from K7; proven: less will not do,",
        # The level of the flute is essential: it keeps its travel from what was there.
        "Organ/send and Strings/drive are turned round and go higher than before on",
        "Strings/brightness is turned round on K6: 1023 to 0 (reversed), before 0 to",
        "Check at low volume",
        "knobpack demo demo",
    ):
        assert told in out


def test_json_goes_to_a_file_besides_the_text(
    file: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    assert main(["allocate", file, "--json", str(target)]) == 0
    found = allocate_request(SMALL)
    assert json.loads(target.read_text("utf-8")) == to_plain(found)
    assert capsys.readouterr().out == layout_text(found, details=False)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.json", "small.json"]


def test_json_goes_to_standard_output_instead_of_the_text(
    file: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["allocate", file, "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == to_plain(allocate_request(SMALL))
    assert "Drône" in out
    assert err == ""


def test_the_request_of_the_demo_is_written_once_and_can_be_laid_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "start.json"
    assert main(["demo", "--request", str(target)]) == 0
    assert f"knobpack allocate {target}\n" in capsys.readouterr().err
    assert load_request(target) == demo_request()
    target.write_text("what a player made of it")
    assert main(["demo", "--request", str(target)]) == 2
    assert target.read_text() == "what a player made of it"
    assert "is there already" in capsys.readouterr().err
    assert main(["demo", "--request", "-"]) == 0
    assert loads(capsys.readouterr().out) == demo_request()


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == schema()
    jsonschema.validate(to_plain(demo_request()), printed)


def test_a_layout_is_shown_though_its_file_cannot_be_written(
    file: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(
        written_files, "write_together", raiser(InputError("out.json", Reason("full"), "wait"))
    )
    before = sorted(tmp_path.iterdir())
    assert main(["allocate", file, "--json", str(tmp_path / "out.json")]) == 2
    out, err = capsys.readouterr()
    assert out == layout_text(allocate_request(SMALL), details=False)
    assert err == "knobpack: out.json: full; wait\n"
    assert sorted(tmp_path.iterdir()) == before


def test_impossible_demands_end_with_3_and_say_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rules = (Fixed(("Drône №1/höhe",), "K1"), Fixed(("Drône №1/höhe",), "K2"))
    path, target = tmp_path / "impossible.json", tmp_path / "out.json"
    save(path, attrs.evolve(SMALL, rules=rules))
    assert main(["allocate", str(path), "--json", str(target)]) == 3
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: no layout meets every demand. These clash:\n")
    assert "  - the rule fixed(Drône №1/höhe; K2) holds\n" in err
    assert "To get out" in err
    assert not target.exists()


def raiser(error: BaseException) -> Callable[..., Any]:
    def fail(*_: object, **__: object) -> None:
        raise error

    return fail


@pytest.mark.parametrize(
    ("error", "status", "named"),
    [
        (NoLayoutFound("time limit"), 4, "stopped by the time limit before any layout"),
        (KnobpackError("a fault\nof two lines"), 1, "a fault\\nof two lines"),
        (KeyboardInterrupt(), 130, "interrupted"),
    ],
)
def test_other_ends_have_a_status_and_a_line(
    error: BaseException,
    status: int,
    named: str,
    file: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(inputs, "laid_out", raiser(error))
    assert main(["allocate", file, "--quiet"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert named in err


def test_what_is_not_proven_best_ends_with_0_and_says_so(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    # A search that may not take any time at all gives a first layout at best.
    assert main(["allocate", demo, "--time-limit", "0"]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith("LAYOUT  best found, not proven best: stopped by the time limit")
    assert main(["allocate", demo, "--time-limit", "0", "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["stopped"] == "time limit"
    assert "not proven best: stopped by the time limit" in err


def test_options_reach_the_search(monkeypatch: pytest.MonkeyPatch, file: str) -> None:
    seen: dict[str, object] = {}

    def fake(request: Request, **options: object) -> Any:
        seen.update(options, request=request)
        return allocate_request(request)

    monkeypatch.setattr(allocator, "allocate_request", fake)
    assert main(["allocate", file, "--time-limit", "2.5", "--effort", "7", "--quiet"]) == 0
    assert (seen["request"], seen["time_limit"], seen["effort"]) == (SMALL, 2.5, 7.0)
