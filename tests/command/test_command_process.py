"""The command in a process of its own: streams that fail, encodings, Ctrl-C."""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
import struct
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from benchmarks.requests import sized
from knobpack.allocator import allocate_request
from knobpack.command.streams import width
from knobpack.command.verbs import VERBS
from knobpack.files import save, to_plain
from knobpack.present.text import layout_text
from tests.command.samples_of_command import SMALL, screen

ROOT = Path(__file__).parents[2]


def run(
    arguments: Sequence[str | Path],
    stdout: int = subprocess.PIPE,
    variables: Mapping[str, str] | None = None,
) -> subprocess.CompletedProcess[bytes]:
    """``python -m knobpack`` in a process of its own."""
    return subprocess.run(  # noqa: S603
        [sys.executable, "-m", "knobpack", *map(str, arguments)],
        cwd=ROOT,
        env=os.environ | dict(variables or {}),
        stdin=subprocess.DEVNULL,
        stdout=stdout,
        stderr=subprocess.PIPE,
        check=False,
        timeout=120,
    )


def test_a_terminal_that_knows_only_ascii_gets_question_marks_and_right_json(file: str) -> None:
    ascii_only = {"PYTHONIOENCODING": "ascii", "LC_ALL": "C", "PYTHONUTF8": "0"}
    ended = run(["allocate", file], variables=ascii_only)
    assert ended.returncode == 0
    assert ended.stderr == b""
    assert ended.stdout == layout_text(allocate_request(SMALL), details=False).encode(
        "ascii", "replace"
    )
    ended = run(["allocate", file, "--json", "-"], variables=ascii_only)
    # RFC 8259 section 7: any character may be escaped.
    assert json.loads(ended.stdout.decode("ascii")) == to_plain(allocate_request(SMALL))
    ended = run(["allocate", "Drône.json"], variables=ascii_only)
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"knobpack: ")
    assert ended.stderr.count(b"\n") == 1


@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("arguments", [["demo"], ["schema"], ["--help"], ["ask", "--help"], []])
def test_it_ends_quietly_when_the_reader_is_gone(unbuffered: str, arguments: list[str]) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    try:
        ended = run(arguments, stdout=writer, variables={"PYTHONUNBUFFERED": unbuffered})
    finally:
        os.close(writer)
    assert ended.returncode == 141
    assert b"Error" not in ended.stderr
    assert ended.stderr.count(b"\n") <= 1


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("arguments", [["demo"], ["schema"], ["--help"], ["ask", "--help"], []])
def test_output_that_cannot_be_written_is_one_line(unbuffered: str, arguments: list[str]) -> None:
    with Path("/dev/full").open("wb") as full:
        ended = run(arguments, stdout=full.fileno(), variables={"PYTHONUNBUFFERED": unbuffered})
    assert ended.returncode == 2
    assert ended.stderr.startswith(b"knobpack: the output cannot be written: ")
    assert ended.stderr.count(b"\n") == 1


@pytest.mark.skipif(os.name != "posix", reason="needs a shell that can close a stream")
def test_closed_streams_are_survived() -> None:
    command_line = f'"{sys.executable}" -m knobpack demo'
    closed = subprocess.run(  # noqa: S603
        ["/bin/sh", "-c", f"{command_line} >&-"], cwd=ROOT, capture_output=True, check=False
    )
    assert closed.returncode == 2
    assert b"knobpack: the output cannot be written" in closed.stderr
    assert b"Traceback" not in closed.stderr
    closed = subprocess.run(  # noqa: S603
        ["/bin/sh", "-c", f"{command_line} 2>&-"], cwd=ROOT, capture_output=True, check=False
    )
    assert closed.returncode == 0
    assert closed.stdout.startswith(b"1  Two sources come to the base\n")
    read = f'"{sys.executable}" -m knobpack audit - <&-'
    closed = subprocess.run(["/bin/sh", "-c", read], cwd=ROOT, capture_output=True, check=False)  # noqa: S603
    assert closed.returncode == 2
    assert closed.stderr.startswith(b"knobpack: -: standard input is closed; give a file")


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
def test_a_long_search_shows_progress_and_ends_at_ctrl_c(tmp_path: Path) -> None:
    pty = pytest.importorskip("pty")
    path = tmp_path / "long.json"
    save(path, sized(2, 128, 1000))
    ours, theirs = pty.openpty()
    with subprocess.Popen(  # noqa: S603
        [sys.executable, "-m", "knobpack", "allocate", path],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=theirs,
    ) as process:
        os.close(theirs)
        written = b""
        while b" s)" not in written:  # a progress line ends in seconds
            written += os.read(ours, 1000)
        process.send_signal(signal.SIGINT)
        assert process.stdout is not None
        assert process.stdout.read() == b""
        assert process.wait(60) == 130
    written += os.read(ours, 1000)
    os.close(ours)
    *_, last, empty = written.decode().split("\r\n")
    assert empty == ""
    assert screen(last) == "knobpack: interrupted"
    assert "Traceback" not in written.decode()


HEAVY = {"attrs", "networkx", "numpy", "ortools", "pathlib"}


def test_help_and_refusals_wait_for_nothing(demo: str, tmp_path: Path) -> None:
    files = [tmp_path / f"{name}.csv" for name in ("heading", "cell", "letters", "empty")]
    texts = ["knob;voise;destination", "knob;voice;destination;bits\nK1;Organ;level;99", "\xff", ""]
    for path, text in zip(files, texts, strict=True):
        path.write_text(text, "latin-1")
    for wrong in ({"supernatural": 1}, {"voices": 3}, {"surface": {"knobs": 8, "bits": 1}}):
        files.append(tmp_path / f"{len(files)}.json")
        files[-1].write_text(json.dumps(json.loads(Path(demo).read_text("utf-8")) | wrong), "utf-8")
    calls = [
        [],
        ["--help"],
        *([verb, "--help"] for verb in VERBS),
        ["allocate", "no such file"],
        ["ask", "no such file", "why", "Nobody"],
        ["combine", "pyproject.toml", "pyproject.toml", "--sheet", "sheet.pdf"],
        ["edit", "pyproject.toml", "own", "x", "--setup", "README.md"],
        ["audit", "pyproject.toml"],
        ["listen", demo, "pyproject.toml"],
        *(["allocate", str(path)] for path in files),
        ["alocate", "mine.json"],
        ["schema"],
    ]
    code = f"""if True:
        import sys
        from knobpack.command.main import main
        for call in {calls}:
            main(call)
            print("loaded", sorted({HEAVY} & set(sys.modules)), "by", call, file=sys.stderr)
    """
    ended = subprocess.run(  # noqa: S603
        [sys.executable, "-S", "-c", code], cwd=ROOT, capture_output=True, check=True
    )
    told = [line for line in ended.stderr.decode().splitlines() if line.startswith("loaded")]
    assert told == [f"loaded [] by {call}" for call in calls]


def test_names_are_refused_without_the_solver(demo: str) -> None:
    code = "import sys; from knobpack.command.main import main; main(sys.argv[1:])"
    code += "; assert 'ortools' not in sys.modules"
    for arguments in (["schema"], ["ask", demo, "without", "Nobody"], ["demo", "--request", "-"]):
        ended = subprocess.run(  # noqa: S603
            [sys.executable, "-c", code, *arguments], cwd=ROOT, capture_output=True, check=False
        )
        assert ended.returncode == 0, ended.stderr


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
@pytest.mark.parametrize(
    ("wide", "lines"), [(0, 80), (20, 40), (40, 40), (60, 60), (90, 90), (200, 100)]
)
def test_lines_are_no_wider_than_the_terminal(
    wide: int, lines: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    fcntl, termios = pytest.importorskip("fcntl"), pytest.importorskip("termios")
    ours, theirs = os.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, wide, 0, 0))
    with os.fdopen(theirs, "w") as terminal:
        assert width(terminal) == 100  # as COLUMNS says
        for said in ("", "0", "wide", "9" * 5000):
            monkeypatch.setenv("COLUMNS", said)
            assert width(terminal) == lines
    os.close(ours)


def test_what_is_no_terminal_is_80_columns_wide(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("COLUMNS")
    with (tmp_path / "text").open("w") as file:
        assert width(file) == 80
    assert width(io.StringIO()) == 80
    assert width(None) == 80


@pytest.mark.skipif(os.name != "posix", reason="needs a pseudo-terminal")
@pytest.mark.parametrize("wide", [40, 80])
@pytest.mark.parametrize(
    ("name", "status", "first"),
    [("Strings/level", 0, "WHY  Strings/level"), ("Strings/levle", 2, "knobpack: why: ")],
)
def test_an_answer_and_a_refusal_fit_the_terminal(
    name: str, status: int, first: str, wide: int, demo: str
) -> None:
    fcntl, termios = pytest.importorskip("fcntl"), pytest.importorskip("termios")
    ours, theirs = os.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, wide, 0, 0))
    with subprocess.Popen(  # noqa: S603
        [sys.executable, "-m", "knobpack", "ask", demo, "why", name],
        cwd=ROOT,
        env={name: value for name, value in os.environ.items() if name != "COLUMNS"},
        stdout=subprocess.DEVNULL if status else theirs,
        stderr=theirs if status else subprocess.DEVNULL,
    ) as process:
        os.close(theirs)
        written = b""
        with contextlib.suppress(OSError):  # the end of a terminal
            while more := os.read(ours, 1000):
                written += more
        assert process.wait(120) == status
    os.close(ours)
    lines = written.decode().split("\r\n")
    assert lines[0].startswith(first)
    assert wide - 12 < max(map(len, lines)) <= wide
