"""What a run does: nothing unasked to the machine (PEP 578), and little after a call to stop."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from benchmarks.foreign_requests import FOREIGN
from benchmarks.generator import plain, tight, varied
from knobpack import Request, allocate_request
from knobpack.checker import check
from knobpack.solver.watch import Watch

ROOT = Path(__file__).parents[2]

WATCHED = """
import json, os, sys
FORBIDDEN = (
    "socket.", "ssl.", "urllib.", "http.", "ftplib.", "smtplib.", "webbrowser.", "subprocess.",
    "os.system", "os.exec", "os.fork", "os.posix_spawn", "os.spawn", "pty.", "pickle.", "os.remove",
    "os.rmdir", "shutil.", "os.chmod", "os.chown",
)
done, written = [], []

def watch(event, given):
    if event.startswith(FORBIDDEN):
        done.append(event)
    elif event == "open" and isinstance(given[2], int) and given[2] & (os.O_WRONLY | os.O_RDWR):
        written.append(str(given[0]))

sys.addaudithook(watch)
from knobpack.command.main import main

def run(line):
    assert main(line.split()) == 0, line

standing, sys.stdout = sys.stdout, open(os.devnull, "w")
run("demo demo")
run("combine demo/base.json demo/organ.json demo/bass.json "
    "--sheet out/sheet.html --setup out/result.json --midi out/midi")
run("audit out/result.json")
run("jumps out/result.json")
import socket  # noqa: E402  the watch itself is watched
socket.socket().close()
print(json.dumps([done, written]), file=standing)
"""


def test_nothing_is_fetched_started_or_unpickled_and_only_what_is_asked_is_written(
    tmp_path: Path,
) -> None:
    (tmp_path / "out").mkdir()
    told = subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", WATCHED],
        cwd=tmp_path,
        env={"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert told.returncode == 0, told.stderr[-3000:]
    done, written = json.loads(told.stdout)
    assert done == ["socket.__new__"]
    folders = {Path(each).parent for each in written} - {Path("/dev")}
    assert folders == {tmp_path / "demo", tmp_path / "out", tmp_path / "out/midi"}
    assert {path.suffix for path in tmp_path.rglob("*.*")} == {".json", ".html", ".mid"}


MOST_UNITS = 120
"""Units of work after a stop, at most: a first layout is made all the same, of which each step is
noted, and each stage notes something on its way out."""

REQUESTS: dict[str, Callable[[int], Request]] = {
    "plain": lambda seed: plain(seed, 32),
    "tight": lambda seed: tight(seed, 16),
    "varied": lambda seed: varied(seed, 16),
    **{kind: make for kind, make in FOREIGN.items() if kind != "huge"},
}


@pytest.mark.parametrize("kind", REQUESTS)
def test_little_is_done_after_a_stop(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    request, plainly = REQUESTS[kind](2), Watch.spend
    looks = after = 0

    def spend(watch: Watch, effort: float) -> None:
        nonlocal after
        after += looks > most and watch.whole is None  # what a part spends, the whole spends too
        plainly(watch, effort)

    def stop() -> bool:
        nonlocal looks
        looks += 1
        return looks > most

    monkeypatch.setattr(Watch, "spend", spend)
    for most in (0, 3, 30, 300):
        looks = after = 0
        found = allocate_request(request, cancel=stop, effort=1.0)
        assert check(request, found.layout).valid
        assert found.stopped == "cancelled" or looks <= most
        assert after <= MOST_UNITS, most
