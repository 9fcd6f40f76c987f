"""The command: what it prints, what it writes, and the status it ends with."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import jsonschema
import pytest

from knobpack.allocator import allocate_request
from knobpack.errors import KnobpackError, NoLayoutFound
from knobpack.files import load_request, loads, save, schema, to_plain
from knobpack.present import command, streams
from knobpack.present.command import main
from knobpack.present.demo import demo_request
from knobpack.present.options import QUESTIONS
from knobpack.present.setup_options import JOBS
from knobpack.present.text import layout_text
from knobpack.words import Fixed, Request
from tests.present.samples_of_command import SMALL


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A file that holds a small request."""
    path = tmp_path / "small.json"
    save(SMALL, path)
    return path


def test_a_request_file_is_laid_out(file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(file)]) == 0
    out, err = capsys.readouterr()
    assert out == layout_text(allocate_request(SMALL))
    assert err == ""


def test_without_a_word_it_tells_of_an_evening(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert max(map(len, out.splitlines())) < 100
    chapters = [line for line in out.splitlines() if line[:1].isdigit()]
    assert [line[0] for line in chapters] == ["1", "2", "3"]
    for told in (
        "10 of 11 came; Strings/drve names nothing",
        "Snapshot 'all' takes in Organ set and Bass set.",
        "2 of 2 came.",
        "K7 out of use: 2 routes change, of K7, proven the least.",
        "want 1023 to 0 (reversed) and have 0 to 512",
        "Check at low volume",
        "--demo-setups demo",
    ):
        assert told in out


def test_without_a_file_it_is_the_demo_and_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--effort", "10"]) == 0
    out, err = capsys.readouterr()
    assert out == layout_text(allocate_request(demo_request()))
    assert err.count("\n") == 1
    assert "demo" in err
    assert "--write-demo FILE" in err


def test_json_goes_to_a_file_besides_the_text(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    target.write_text("what was there before")
    assert main([str(file), "--json", str(target)]) == 0
    found = allocate_request(SMALL)
    assert json.loads(target.read_text("utf-8")) == to_plain(found)
    assert capsys.readouterr().out == layout_text(found)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["out.json", "small.json"]


def test_json_goes_to_standard_output_instead_of_the_text(
    file: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([str(file), "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out) == to_plain(allocate_request(SMALL))
    assert "Drône" in out
    assert err == ""


def test_quiet_says_nothing_but_the_json(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.json"
    assert main(["--quiet", "--json", str(target)]) == 0
    assert capsys.readouterr() == ("", "")
    assert json.loads(target.read_text("utf-8")) == to_plain(allocate_request(demo_request()))


def test_the_demo_is_written_once_and_can_be_laid_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "start.json"
    assert main(["--write-demo", str(target)]) == 0
    assert load_request(target) == demo_request()
    target.write_text("what a player made of it")
    assert main(["--write-demo", str(target)]) == 2
    assert target.read_text() == "what a player made of it"
    assert "is there already" in capsys.readouterr().err
    assert main(["--write-demo", "-"]) == 0
    assert loads(capsys.readouterr().out) == demo_request()


def test_the_schema_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--schema"]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed == schema()
    jsonschema.validate(to_plain(demo_request()), printed)


def test_help_says_every_option_and_status(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--help"]) == 0
    told = capsys.readouterr().out
    for option in (
        "--json",
        "--time-limit",
        "--effort",
        "--quiet",
        "--graph",
        "--write-demo",
        "--schema",
        "--solve",
        "--stay-close",
        "--only",
        "--free",
        "--unreached",
        "--name",
        "--sheet",
        "--setup",
        "--demo-setups",
        "--midi",
        "--channel",
        "--notes",
        *(option for option, _, _ in QUESTIONS),
        *(option for option, _, _, _ in JOBS),
    ):
        assert f"\n  {option}" in told
    # Every question says what it takes, in words that a player knows.
    for option, values, _ in QUESTIONS:
        assert f"  {' '.join((option, *values))}" in told
    assert "--combine BASE.json [SOURCE.json ...]" in told
    assert "--sweep SETUP.json [SNAPSHOT ...]" in told
    assert "--difference FROM.json TO.json" in told
    for status in (
        streams.DONE,
        streams.FAULT,
        streams.REFUSED,
        streams.IMPOSSIBLE,
        streams.NOTHING_FOUND,
        streams.INTERRUPTED,
        streams.READER_GONE,
    ):
        assert f"\n  {status:<4} " in told


WRONG: list[tuple[list[str], str]] = [
    (["--bogus"], "--bogus"),
    (["--qui"], "--qui"),
    (["one.json", "two.json"], "two.json"),
    (["--time-limit", "-1"], "'-1' will not do; give seconds, 0 or more"),
    (["--time-limit", "nan"], "'nan' will not do"),
    (["--time-limit", "soon"], "'soon' will not do"),
    (["--effort", "0"], "'0' will not do; give a number above 0"),
    (["--effort", "inf"], "'inf' will not do"),
    (["--json"], "--json"),
    (["--schema", "--write-demo", "x"], "--write-demo"),
    (["x.json", "--schema"], "take no request"),
    (["no such file.json"], "no such file.json"),
    (["."], "."),
    (["two\nlines"], "two\\nlines"),
    (["--json", "no such folder/out.json"], "no such folder"),
    (["--write-demo", "no such folder/x.json"], "no such folder"),
    (["--write-demo", "x" * 5000], "too long"),
]


@pytest.mark.parametrize(("arguments", "named"), WRONG, ids=lambda each: str(each)[:30])
def test_what_is_wrong_is_refused_in_one_line(
    arguments: list[str], named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*arguments, "--quiet"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert named in err


@pytest.mark.parametrize(
    ("content", "named"),
    [
        (b"{", "line 1, column 2"),
        (b"\xff\xfe", "UTF-8"),
        (b'{"knobpack": "request", "version": 1}', "surface"),
        (b'{"knobpack": "layout", "version": 1}', '"request"'),
        (
            b'{"knobpack": "request", "version": 1, "surface": {"knobs": [{"name": ""}]}}',
            "knobs[0]",
        ),
        (b'{"knobpack": "request", "version": 1, "a\\nb": 1}', "a"),
    ],
)
def test_a_wrong_file_is_refused_in_one_line_that_names_it(
    content: bytes, named: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "wrong.json"
    path.write_bytes(content)
    assert main([str(path)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert named in err
    assert "wrong.json" in err


def test_a_layout_is_shown_though_its_file_cannot_be_written(
    file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = sorted(tmp_path.iterdir())
    assert main([str(file), "--json", str(tmp_path)]) == 2
    out, err = capsys.readouterr()
    assert out == layout_text(allocate_request(SMALL))
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert sorted(tmp_path.iterdir()) == before


def test_impossible_demands_end_with_3_and_say_why(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rules = (Fixed(("Drône №1/höhe",), "K1"), Fixed(("Drône №1/höhe",), "K2"))
    path, target = tmp_path / "impossible.json", tmp_path / "out.json"
    save(attrs.evolve(SMALL, rules=rules), path)
    assert main([str(path), "--json", str(target)]) == 3
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
        (NoLayoutFound("time limit"), 4, "stopped by time limit before any layout"),
        (KnobpackError("a fault\nof two lines"), 1, "a fault\\nof two lines"),
        (KeyboardInterrupt(), 130, "interrupted"),
    ],
)
def test_other_ends_have_a_status_and_a_line(
    error: BaseException,
    status: int,
    named: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(command, "allocate_request", raiser(error))
    assert main(["--quiet"]) == status
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("knobpack: ")
    assert err.count("\n") == 1
    assert named in err


def test_what_is_not_proven_best_ends_with_0_and_says_so(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # A search that may not take any time at all gives a first layout at best.
    assert main(["--time-limit", "0"]) == 0
    out, _ = capsys.readouterr()
    assert out.startswith("LAYOUT  best found, not proven best: the time limit stopped the search")
    assert "cannot be below" in out
    assert main(["--time-limit", "0", "--json", "-"]) == 0
    out, err = capsys.readouterr()
    assert json.loads(out)["stopped"] == "time limit"
    assert "not proven best: stopped by time limit" in err


def test_options_reach_the_search(monkeypatch: pytest.MonkeyPatch, file: Path) -> None:
    seen: dict[str, object] = {}

    def fake(request: Request, **options: object) -> Any:
        seen.update(options, request=request)
        return allocate_request(request)

    monkeypatch.setattr(command, "allocate_request", fake)
    assert main([str(file), "--time-limit", "2.5", "--effort", "7", "--quiet"]) == 0
    assert (seen["request"], seen["time_limit"], seen["effort"]) == (SMALL, 2.5, 7.0)
