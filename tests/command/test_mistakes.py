"""Mistakes that people make: each gets one clear answer, and nothing is left half written."""

from __future__ import annotations

import os
import sys
from importlib import import_module
from io import BytesIO, TextIOWrapper
from pathlib import Path
from shlex import split

import attrs
import pytest

from knobpack.command.main import main
from knobpack.files import dumps, save
from knobpack.present.demo import demo_request
from tests.command.samples_of_command import Terminal, screen
from tests.present.read_answers import solved
from tests.present.samples_of_setups import BASE, written

BOM = b"\xef\xbb\xbf"
PAIR = "combine demo/base.json demo/organ.json"

MISTAKES: list[tuple[str, str]] = [
    # The verb.
    ("audt demo/base.json", "audt: is no verb; close to it: audit; knobpack --help tells them all"),
    ("why Strings/level", "why: is no verb of its own; knobpack ask FILE why NAME"),
    ("swap K1 K2", "swap: is no verb of its own; knobpack edit FILE swap KNOB KNOB"),
    ("request.json", "a verb comes first, such as knobpack allocate request.json"),
    ("--json out.json", "--json: a verb comes first"),
    ("insert demo/base.json", "insert: is no verb; close to it: songs; knobpack --help"),
    ("help audt", "audt: is no verb; close to it: audit"),
    ("'two\nlines'", "two\\nlines: is no verb"),
    ("Audit demo/base.json", "Audit: is no verb; close to it: audit; knobpack --help"),
    # What follows it.
    ("allocate", "FILE: is missing; knobpack allocate --help"),
    ("allocate request.json demo/base.json", "demo/base.json: this is one word too many"),
    ("combine demo/base.json", "combine: there is no source; give the file of a base"),
    ("combine demo/base.json ./demo/base.json", "there is no source"),
    ("edit demo/base.json undo", "back-in-use, travel, away, take-back; close to it: take-back"),
    ("edit demo/base.json broken K1", "close to it: out-of-use"),
    ("edit swap K1 K2", "the file comes first: knobpack edit FILE swap KNOB KNOB"),
    ("ask request.json", "QUESTION: is missing; give one of why, why-not, why-shared, knob-budget"),
    ("ask request.json Strings/level", "say first what about it: knobpack ask FILE why Strings"),
    ("ask request.json why not Strings/level K1", "why not: is one word: why-not"),
    ("lists demo/base.json", "top level: this is a setup; give a list of controllers"),
    ("sweep demo/base.json al", "sweep: 'al' will not do; name a snapshot of the setup"),
    ("sweep demo/base.json al", "close to it: all"),
    ("sheet demo/base.json demo/organ.json", "the knobs of the two differ; to bring the voices"),
    ("sheet demo/base.json coarse.json", "the bits of the two differ"),
    ("move demo/base.json", "give the file of the panel to go to, or --home"),
    ("move demo/base.json --home", "move: the setup is at home"),
    ("move demo/base.json home", "move: the setup is at home"),
    (
        "move demo/base.json demo/base.json",
        "move: the setup is on that panel already; give another",
    ),
    ("move demo/base.json demo/base.json --home", "one of the two"),
    ("draw demo/base.json", "PICTURE: is missing; knobpack draw --help"),
    (
        "draw demo/base.json --picture=panel",
        "--picture: 'panel' will not do; give a file that",
    ),
    ("draw demo/base.json panel", "--picture: 'panel' will not do; give a file that ends in"),
    ("draw demo/base.json a.svg --view faces", "'faces' will not do; give panel, routes, snap"),
    ("completion fish-and-chips", "completion: "),
    # Options.
    ("audit demo/base.json --jsn x", "--jsn: there is no such option; close to it: --json"),
    (f"{PAIR} -o out.json", "-o: there is no such option; close to it: --setup"),
    ("audit demo/base.json --json", "--json: what it takes is missing"),
    ("allocate request.json --time-limit soon", "'soon' will not do; give seconds, 0 or more"),
    ("allocate request.json --time-limit -1", "--time-limit"),
    ("allocate request.json --effort 0", "'0' will not do; give a number above 0"),
    ("allocate request.json --qui", "--qui: there is no such option; close to it: --quiet"),
    (f"{PAIR} --name ''", "--name: '' will not do; a name is text of 1 to 120"),
    (
        f"{PAIR} --free Piono",
        "--free: 'Piono' will not do; name a voice, a group, or voice/destination",
    ),
    (f"{PAIR} --free Piono", "close to it: Piano"),
    (f"{PAIR} --only 'Glas pad'", "--only: 'Glas pad' will not do; name a voice of a source"),
    (f"{PAIR} --clear K1", "--clear: 'K1' will not do; name a knob of the base that does nothing"),
    (f"{PAIR} --take 1", "--take: 1 will not do; all has a knob, so there is no offer"),
    (f"{PAIR} --take one", "'one' will not do; give a whole number"),
    (f"{PAIR} --channel 2", "--channel: nothing is sent; use it with --midi FOLDER"),
    (f"{PAIR} --midi new --channel 17", "'17' will not do; give a whole number from 1 to 16"),
    ("midi demo/base.json --channel one", "'one' will not do; give a whole number"),
    ("audit demo/base.json --notes", "--notes: nothing is sent"),
    ("audit demo/base.json --in-place", "--in-place: nothing is changed here; use it with edit"),
    (f"{PAIR} --in-place --setup new.json", "--in-place: --setup says another place"),
    ("audit demo/base.json --graph graph.json", "--graph: nothing is laid out"),
    ("audit demo/base.json coarse.json --sheet s.md", "--sheet: there is no one setup to write"),
    # Files that are read.
    ("allocate no-such.json", "no-such.json: No such file or directory; give a file that can be"),
    ("allocate request", "request: No such file or directory; give a file that can be read; close"),
    ("allocate requst.json", "close to it: request.json"),
    ("audit demo/bas.json", "close to it: demo/bass.json and demo/base.json"),
    ("audit demo", "demo: Is a directory; give a file that can be read"),
    ("audit ''", "'': No such file or directory"),
    ("allocate layout.json", "'layout' will not do; give a file that holds a request or a setup"),
    ("allocate sheet.html", "line 1, column 1"),
    ("audit table.xlsx", "is a spreadsheet, or compressed; save the table in it as 'CSV UTF-8'"),
    ("allocate empty.json", "line 1, column 1"),
    ("allocate latin.json", "UTF-8"),
    ("allocate comma.json", "in the file 'comma.json'"),
    ("allocate key.json", "surfase"),
    ("combine demo/base.json broken.json", "surface.bits: 99 will not do; give a whole"),
    ("allocate text.json", "give a whole number of bits from 2 to 32 and no text; in the file"),
    ("allocate many.json", "surface.knobs: 100000 will not do; give a list of knobs, or how many"),
    ("allocate twice.json", "voices[1].name: 'Piano' will not do; this name is given twice"),
    (
        "allocate space.json",
        "'Piano ' will not do; a name is text of 1 to 120 printable characters",
    ),
    ("allocate wide.json", "write UTF-8, or give a file of JSON; in the file 'wide.json'"),
    ("allocate other.json", 'the key "knobpack": is missing; say what this is: one of "setup"'),
    ("allocate curly.json", "names and texts stand between straight double quotes"),
    ("allocate remark.json", "line 1, column 1: '// ours"),
    ("ask laid.json why Strings/levl", "close to it: Strings/level"),
    ("edit laid.json swap K1 K99", "swap: 'K99' will not do; name a knob of the setup's surface"),
    ("edit demo/base.json on Piano/level K1", "name the knob first, then what goes on it"),
    (
        "edit demo/base.json own piano",
        "own: 'piano' will not do; name a voice/destination, a voice",
    ),
    ("edit demo/base.json away Pianos", "name a voice, a source, a voice/destination or a knob"),
    ("songs demo/base.json --free Piano", "--free: 'Piano' will not do; name a song, such as Eve"),
    ("songs demo", "demo: Is a directory; give a file that can be read"),
    (
        "table demo/base.json empty.csv",
        "row 1: is missing; give the headings, at least knob, voice",
    ),
    ("table demo/base.json bare.csv", "row 1, 'knob': is missing; give a column of this heading"),
    ("table demo/base.json half.csv", "row 2, column D (start): '12.5' will not do; give a whole"),
    ("table demo/base.json latin.csv", "save the table as UTF-8"),
    ("audit slip.csv", "row 1, column C: 'destnation' will not do; no column is called so"),
    ("table demo/base.json slip.csv", "close to it: destination; in the file 'slip.csv'"),
    ("table demo/base.json --table base.xlsx", "'base.xlsx' will not do; give a file that"),
    ("listen demo/base.json no.mid", "no.mid: No such file or directory"),
    ("listen demo/base.json sheet.html", "in the file 'sheet.html'"),
    ("ask request.json what-if no-such.json", "no-such.json: No such file"),
    ("combine - -", "-: standard input can be read once; give a file for the other"),
    ("audit -", "line 1, column 1"),
    ("edit demo/base.json swap K1 K2 --setup demo/base.json", "it give --in-place instead"),
    ("edit - swap K1 K2 --in-place", "--in-place: standard input cannot be replaced"),
    # Files that are written.
    (f"{PAIR} --sheet sheet.pdf", "--sheet: 'sheet.pdf' will not do; give a file that ends in .h"),
    (f"{PAIR} --sheet sheet", "ends in .html, .md or .txt"),
    (f"{PAIR} --graph graph.txt", "ends in .graphml or .json"),
    (f"{PAIR} --sheet sheet.html", "--sheet: sheet.html: is there already; give another name, or"),
    (f"{PAIR} --sheet no/such/s.md", "no/such/s.md: No such file or directory; give a place in a"),
    (f"{PAIR} --setup demo", "--setup: demo: is a folder; give a file"),
    (f"{PAIR} --setup sheet.html/new.json", "--setup: sheet.html/new.json: Not a directory"),
    (f"{PAIR} --setup demo/organ.json", "--setup: 'demo/organ.json' will not do; this file is"),
    (f"{PAIR} --json ./demo/base.json --force", "--json: './demo/base.json' will not do; this"),
    (f"{PAIR} --json a.json --setup ./a.json", "--setup: './a.json' will not do; this file is"),
    (f"{PAIR} --json - --setup -", "-: one thing at a time goes to standard output; give --setup"),
    (f"{PAIR} --picture -", "--picture: '-' will not do; give a file"),
    (f"{PAIR} --midi sheet.html", "--midi: sheet.html: is no folder; give a folder"),
    (f"{PAIR} --midi no/such", "--midi: no/such: No such file"),
    (f"{PAIR} --setup {'x' * 300}.json", "File name too long"),
    ("demo demo", "demo/base.json: is there already; give another name, or --force"),
    ("demo no/such", "no/such: No such file"),
    ("demo sheet.html", "sheet.html"),
    ("demo --request request.json", "request.json: is there already"),
]
"""What was typed, and what the answer says."""


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with the demo's setups and files that are wrong."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO()))
    written(tmp_path / "demo")
    save("request.json", demo_request())
    save("coarse.json", attrs.evolve(BASE, surface=attrs.evolve(BASE.surface, bits=7), travels=()))
    base = dumps(BASE)
    for name, content in {
        "broken.json": base.replace('"bits": 10', '"bits": 99').encode(),
        "comma.json": base.replace('"version": 1,', '"version": 1,,').encode(),
        "key.json": base.replace('"surface"', '"surfase"').encode(),
        "latin.json": base.replace("Piano", "Flügel").encode("latin-1"),
        "layout.json": b'{"knobpack": "layout", "version": 1}',
        "empty.json": b"",
        "text.json": base.replace('"bits": 10', '"bits": "10"').encode(),
        "many.json": b'{"knobpack": "request", "version": 1, "surface": {"knobs": 100000}}',
        "twice.json": base.replace('"voices": [', '"voices": [{"name": "Piano"},').encode(),
        "space.json": base.replace('"Piano"', '"Piano "', 1).encode(),
        "wide.json": base.encode("utf-16"),
        "other.json": base.replace('"knobpack": "setup",', "").encode(),
        "curly.json": base.replace('"', "“").encode(),
        "remark.json": f"// ours\n{base}".encode(),
        "empty.csv": b"",
        "bare.csv": b"voice;destination\nPiano;level\n",
        "half.csv": b"knob;voice;destination;start\nK1;Piano;level;12.5\n",
        "latin.csv": "knob;voice;destination\nK1;Flügel;level\n".encode("latin-1"),
        "table.xlsx": b"PK\x03\x04",
        "slip.csv": b"knob;voice;destnation\nK1;Piano;level\n",
        "sheet.html": b"<!DOCTYPE html>",
    }.items():
        Path(name).write_bytes(content)
    save("laid.json", solved(demo_request()))
    return tmp_path


def state(folder: Path) -> dict[str, bytes]:
    """All files, with what they hold."""
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("typed", "named"), MISTAKES, ids=lambda each: str(each)[:40])
def test_a_mistake_gets_one_line_and_leaves_nothing(
    typed: str, named: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = state(folder)
    assert main(split(typed)) == 2
    out, err = capsys.readouterr()
    assert err.startswith("knobpack: ")
    assert err.count("knobpack: ") == 1
    assert err.count("\n") == 1
    assert named in err
    assert "Traceback" not in err
    assert state(folder) == before
    # What was worked out before is shown, nothing else.
    assert out == "" or "nothing is laid out" in err or "no one setup" in err


def test_line_ends_and_marks_of_other_systems_are_no_mistake(folder: Path) -> None:
    request, setup = Path("request.json").read_bytes(), Path("demo/base.json")
    assert main(["table", str(setup), "--table", "base.csv", "--quiet"]) == 0
    table = Path("base.csv").read_bytes().removeprefix(BOM).replace(b"\r\n", b"\n")
    for name, content in {"request": request, "base": table}.items():
        for at, mark in enumerate((b"", BOM)):
            for ends in (b"\n", b"\r\n"):
                path = folder / f"{name}{at}{len(ends)}.{'json' if name == 'request' else 'csv'}"
                path.write_bytes(mark + content.replace(b"\n", ends))
                given = ["allocate"] if name == "request" else ["table", str(setup)]
                assert main([*given, str(path), "--quiet"]) == 0


@pytest.mark.usefixtures("folder")
def test_what_is_wrong_is_refused_before_anything_is_searched(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(
        import_module("knobpack.combination.giving_way"),
        "allocate_during",
        lambda *_, **__: pytest.fail("searched"),
    )
    for wrong in (
        "--sheet sheet.pdf",
        "--free Nobody",
        "--clear K1",
        "--only Nobody",
        "--midi x/y",
    ):
        assert main(split(f"{PAIR} {wrong}")) == 2
        assert capsys.readouterr().out == ""


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root may read and write all")
def test_what_may_not_be_read_or_written_is_refused(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    Path("request.json").chmod(0)
    folder.chmod(0o500)
    try:
        assert main(["allocate", "request.json"]) == 2
        assert (
            "request.json: Permission denied; give a file that can be read"
            in capsys.readouterr().err
        )
        assert main(split(f"{PAIR} --setup new.json")) == 2
        assert (
            "new.json: Permission denied; give a place that can be written"
            in capsys.readouterr().err
        )
    finally:
        folder.chmod(0o700)


@pytest.mark.usefixtures("folder")
def test_files_are_replaced_where_that_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(split(f"{PAIR} --sheet sheet.html --force")) == 0
    assert len(Path("sheet.html").read_bytes()) > 1000
    assert "is in sheet.html" in capsys.readouterr().err
    assert main(split("demo demo --force")) == 0


@pytest.mark.usefixtures("folder")
def test_a_terminal_sees_what_is_going_on(monkeypatch: pytest.MonkeyPatch) -> None:
    for quiet in ([], ["--quiet"]):
        errors = Terminal()
        monkeypatch.setattr(sys, "stderr", errors)
        assert main([*split(PAIR), *quiet]) == 0
        assert ("combining 2 setups" in errors.getvalue()) == (not quiet)
        # What went on is wiped off; what may come next stays.
        line, *hints = errors.getvalue().split("\n")
        kept = ["Nothing is kept of this: --setup FILE writes it.", "--details tells more.", ""]
        assert [screen(line), *hints] == ([""] if quiet else kept)
