"""One peer on one request, in a process of its own that is ended when its time is up.

The process imports what it needs and solves a tiny request before the clock starts. Libraries that
would use more than one thread are told not to.
"""

from __future__ import annotations

import multiprocessing
import os
import resource
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

import attrs

from benchmarks.peers import PEERS
from benchmarks.peers.answer import Answer
from knobpack.words import Destination, Layout, Request, Surface, Voice

GRACE = 2.0
"""Seconds over the limit after which a peer is ended: some look at the clock only now and then."""

THREADS = ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")


@attrs.frozen
class Told:
    """A layout that was told on the way: seconds since the clock started, and the layout."""

    seconds: float
    layout: Layout


@attrs.frozen
class Run:
    """What one peer made of one request.

    Args:
        seconds: from being given the request until the answer, or until it was ended.
        cpu_seconds: processor time of the same span.
        mebibytes: the most memory its process had at a time, imports included; None: unknown.
        told: every layout it told, in order; the last one counts.
        bounds: its own bounds, from the first tier on.
        proven: how many tiers, from the first on, it claims to have proven best.
        ended: whether it was ended from outside.
        failed: what went wrong in it; None: nothing.
    """

    seconds: float
    cpu_seconds: float
    mebibytes: float | None
    told: tuple[Told, ...] = ()
    bounds: tuple[int, ...] = ()
    proven: int = 0
    ended: bool = False
    failed: str | None = None


def run(peer: str, request: Request, limit: float) -> Run:
    """Let a peer solve a request in a fresh process.

    Args:
        peer: its name in :data:`benchmarks.peers.PEERS`.
        request: what is asked.
        limit: seconds; :data:`GRACE` later the process is ended, if it has not answered.
    """
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    with _one_thread():
        process = context.Process(target=_child, args=(theirs, peer), daemon=True)
        process.start()
    theirs.close()
    try:
        ready = ours.recv()
        ours.send((request, limit))
        return _followed(ours, process, limit, ready)
    except EOFError:
        return Run(0.0, 0.0, None, failed="its process could not start")
    finally:
        process.kill()
        process.join()
        process.close()
        ours.close()


def _followed(ours: Connection, process: Any, limit: float, ready: float) -> Run:
    """Gather what a child tells until it answers or its time is up."""
    began, told = time.monotonic(), list[Told]()
    bounds: tuple[int, ...] = ()
    while ours.poll(max(0.0, began + limit + GRACE - time.monotonic())):
        try:
            kind, content = ours.recv()
        except EOFError:
            ended = time.monotonic() - began
            kind, content = "failed", (ended, 0.0, None, "its process ended by itself")
        if kind == "told":
            seconds, layout, news = content
            told += [Told(seconds, layout)] if layout is not None else []
            bounds = news or bounds
        elif kind == "failed":
            seconds, cpu, mebibytes, why = content
            return Run(seconds, cpu, mebibytes, tuple(told), bounds, failed=why)
        else:
            seconds, cpu, mebibytes, answer = content
            if answer.layout is not None:
                told.append(Told(seconds, answer.layout))
            return Run(seconds, cpu, mebibytes, tuple(told), answer.bounds, answer.proven)
    seconds, peak = time.monotonic() - began, _peak_of(process.pid)
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    process.kill()
    process.join()
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime - ready
    return Run(seconds, cpu, peak, tuple(told), bounds, ended=True)


@contextmanager
def _one_thread() -> Iterator[None]:
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                del os.environ[name]
            else:
                os.environ[name] = value


def _child(theirs: Connection, name: str) -> None:
    """Get ready, say so, solve, and answer."""
    # Some solvers greet on the standard output, which belongs to the report.
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    solve = PEERS[name].load()
    solve(_tiny(), 0.2, _unheard)
    theirs.send(_cpu())
    request, limit = theirs.recv()
    began, used = time.monotonic(), _cpu()

    def tell(layout: Layout | None, bounds: tuple[int, ...] = ()) -> None:
        theirs.send(("told", (time.monotonic() - began, layout, bounds)))

    def spent() -> tuple[float, float, float]:
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
        return time.monotonic() - began, _cpu() - used, _mebibytes(peak)

    try:
        answer: Answer = solve(request, limit, tell)
    except Exception as error:
        theirs.send(("failed", (*spent(), f"{type(error).__name__}: {error}")))
    else:
        theirs.send(("answer", (*spent(), answer)))


def _cpu() -> float:
    usage = resource.getrusage(resource.RUSAGE_SELF)
    return usage.ru_utime + usage.ru_stime


def _mebibytes(peak: int) -> float:
    """What the system calls the most memory: kibibytes on Linux, bytes on macOS."""
    return peak / 2**20 if sys.platform == "darwin" else peak / 2**10


def _peak_of(process: int) -> float | None:
    """The most memory a running process had at a time, in MiB, where the system tells."""
    status = Path(f"/proc/{process}/status")
    if not status.exists():
        return None
    lines = dict(line.split(":", 1) for line in status.read_text().splitlines() if ":" in line)
    return int(lines["VmHWM"].split()[0]) / 2**10 if "VmHWM" in lines else None


def _unheard(layout: Layout | None, bounds: tuple[int, ...] = ()) -> None:
    """Take what is told of the tiny request."""


def _tiny() -> Request:
    inner = (Destination("level"), Destination("cutoff"), Destination("pan"))
    return Request(Surface.row(2), (Voice("Warm-up", inner),))
