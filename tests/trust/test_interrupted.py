"""Interrupted: Ctrl-C gets through, again and again; nothing is left running, all works on."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
from pathlib import Path
from typing import NoReturn

import attrs
import pytest
from ortools.sat.python import cp_model_helper as compiled

from benchmarks.requests import eight_knobs, sized
from knobpack import KnobpackError, NoLayoutFound, allocate_request
from knobpack.limits import Progress
from knobpack.solver.cp_sat import cpsat
from knobpack.solver.watch import Watch
from tests.solver.cp_sat.test_cpsat import hard
from tests.trust.interrupting import searches

ROOT = Path(__file__).parents[2]
pytestmark = pytest.mark.skipif(os.name != "posix", reason="POSIX signals")


@pytest.mark.parametrize("seed", range(3))
def test_ctrl_c_at_any_moment_gets_through(seed: int) -> None:
    done = subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-m", "tests.trust.interrupting", str(seed), "15"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-3000:]
    assert len(json.loads(done.stdout)) == 15


IMPORTING = """
import os, signal, sys, threading, time
import knobpack

def answer():
    voices = (knobpack.Voice("Pad", (knobpack.Destination("cutoff"),)),)
    if sys.argv[2] == "numpy":  # needs no solver
        snapshots = (knobpack.Snapshot("all", ("Pad",)),)
        setup = knobpack.Setup("s", knobpack.Surface.row(1), voices, snapshots=snapshots)
        return len(knobpack.simulation.sweep(setup, "all").master)
    found = knobpack.allocate(voices, knobpack.Surface.row(1))
    return found.proven and len(found.graph) > 0

def press():
    # Not before the import has got somewhere, and where it cannot be taken up again.
    while sys.argv[2] not in sys.modules:
        time.sleep(0.0005)
    time.sleep(float(sys.argv[1]))
    os.kill(os.getpid(), signal.SIGINT)

threading.Thread(target=press, daemon=True).start()
try:
    answer()
    time.sleep(30)
except KeyboardInterrupt:
    print("interrupted")
print(answer())
"""


@pytest.mark.parametrize(
    ("begun", "delay", "answer"),
    [
        ("networkx.utils.configs", 0.0, "True"),
        ("numpy._core", 0.05, "True"),
        ("ortools.graph", 0.01, "True"),
        ("numpy", 0.01, "128"),
        ("numpy", 0.02, "128"),
    ],
)
def test_ctrl_c_during_the_first_imports_spoils_nothing(
    begun: str, delay: float, answer: str
) -> None:
    done = subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", IMPORTING, str(delay), begun],
        cwd=ROOT,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.stdout == f"interrupted\n{answer}\n", done.stderr[-3000:]


def test_an_interrupt_while_the_thread_is_being_started_leaves_no_search(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    plain = threading.Thread.start

    def start(thread: threading.Thread) -> None:
        plain(thread)
        raise KeyboardInterrupt

    def refuse(_: threading.Thread) -> NoReturn:
        raise KeyboardInterrupt

    # With a limit on its routes it takes long searches.
    request = sized(1, 32, 140)
    request = attrs.evolve(request, surface=attrs.evolve(request.surface, routes=120))
    for instead in (start, refuse):
        with monkeypatch.context() as patch:
            patch.setattr(threading.Thread, "start", instead)
            with pytest.raises(KeyboardInterrupt):
                allocate_request(request)
        assert searches() == []


def test_interrupts_while_a_search_is_being_stopped_leave_no_search(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    left = [KeyboardInterrupt] * 3
    plain = compiled.SolveWrapper.stop_search

    def stop(run: compiled.SolveWrapper) -> None:
        if left:
            raise left.pop()
        plain(run)

    questions = iter([False])

    def watched() -> bool:
        if next(questions, None) is None:
            raise KeyboardInterrupt
        return False

    monkeypatch.setattr(compiled.SolveWrapper, "stop_search", stop)
    with pytest.raises(KeyboardInterrupt):
        cpsat.solve(hard(), Watch(1000.0, cancelled=watched))
    assert left == []
    assert searches() == []


class Wrong(Exception):  # noqa: N818 - it is raised by callers, not by knobpack
    """What a callback of a caller raises."""


@pytest.mark.parametrize("after", [0, 1, 3])
def test_a_callback_that_raises_ends_the_search_with_its_own_error(after: int) -> None:
    calls = 0

    def wrong(*_: Progress) -> bool:
        nonlocal calls
        calls += 1
        if calls > after:
            raise Wrong(str(calls))
        return False

    def tell(news: Progress) -> None:
        wrong(news)

    request = sized(2, 16, 60)
    with pytest.raises(Wrong, match=f"^{after + 1}$"):
        allocate_request(request, cancel=wrong)
    calls = 0
    with pytest.raises(Wrong, match=f"^{after + 1}$"):
        allocate_request(request, progress=tell)
    assert searches() == []
    assert allocate_request(eight_knobs(3)).proven


def test_it_can_be_cancelled_from_another_thread_while_it_runs_in_one() -> None:
    asked = threading.Event()
    outcomes: list[object] = []

    def search() -> None:
        try:
            outcomes.append(allocate_request(sized(2, 128, 1000), cancel=asked.is_set))
        except KnobpackError as error:
            outcomes.append(error)

    thread = threading.Thread(target=search)
    thread.start()
    asked.wait(0.5)
    asked.set()
    thread.join()
    (found,) = outcomes
    assert isinstance(found, NoLayoutFound) or getattr(found, "stopped", None) == "cancelled"
    assert searches() == []
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
