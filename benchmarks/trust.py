"""How far knobpack can be trusted: the long forms of tests/trust, seeded, with their figures.

``python -m benchmarks.trust --fuzz --seconds 3600`` reads hostile files with every loader;
``--extremes`` solves requests with weights at their ends against brute force; ``--kills`` kills
processes that save; ``--interrupts`` presses Ctrl-C at random moments; ``--memory`` makes many
calls; ``--together`` compares threads and processes with one thread.

Each goes on for ``--seconds`` or until ``--count`` are done (of ``--memory`` and ``--together``:
calls), whichever comes first, from ``--first`` on: the next run goes on where the last one says it
ended. Exits with 1 at the first fault, and names its seed.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import Final

import attrs

from benchmarks.proven import machine
from knobpack import ImpossibleDemands, allocate_request
from knobpack.numbered.request import problem_of
from knobpack.solver.value_functions.scale import scale_of
from tests.oracles.brute import least
from tests.trust.bombs import BOMBS
from tests.trust.extremes import extreme_request
from tests.trust.fuzzing import fuzz, outcome, word
from tests.trust.saving import ROOT, kill_while_saving
from tests.trust.together import answer, growth, in_processes, in_threads, requests

BATCH: Final = 200
"""Hostile files read between two looks at the clock."""

SECOND: Final = 1.0
"""Seconds of processor time that reading one hostile file may take, at most."""

PRESSES: Final = 20
"""Times that Ctrl-C is pressed in one process."""


class FaultError(Exception):
    """Something that must hold did not."""


@attrs.frozen
class Amount:
    """How much to do.

    Args:
        first: the first seed.
        count: how many, at most.
        until: the monotonic time after which nothing further is begun.
    """

    first: int
    count: int
    until: float

    def seeds(self, step: int = 1) -> Iterator[int]:
        """The seeds, each ``step`` after the one before, as long as there is time."""
        for seed in range(self.first, self.first + self.count, step):
            if time.monotonic() >= self.until:
                return
            yield seed


def fuzzed(amount: Amount) -> str:
    """Hostile files read by every loader."""
    outcomes: Counter[str] = Counter()
    slowest = max(outcome(word, bomb())[1] for bomb in BOMBS.values())
    tried, memory = 0, 0
    for seed in amount.seeds(BATCH):
        end = min(seed + BATCH, amount.first + amount.count)
        found = fuzz(range(seed, end), until=amount.until)
        tried += found.tried
        outcomes += found.outcomes
        slowest, memory = max(slowest, found.slowest), max(memory, found.memory)
        if slowest > SECOND:
            raise FaultError(f"before seed {end}: a file took {slowest:.2f} s")
    told = "; ".join(f"{name} {count:,}" for name, count in sorted(outcomes.items()))
    return (
        f"{len(BOMBS)} bombs and {tried:,} hostile files, next seed {amount.first + tried}: none "
        f"escaped the two error types; slowest {slowest:.2f} s of processor time, "
        f"memory at most {memory / 1e6:.0f} MB ({told})"
    )


def extremes(amount: Amount) -> str:
    """Requests with weights at the ends of their range, against brute force."""
    seen: Counter[str] = Counter()
    for seed in amount.seeds():
        request = extreme_request(seed, most=60 if seed % 10 else 3_000)
        best = least(request)
        try:
            found = allocate_request(request)
        except ImpossibleDemands:
            if best is not None:
                raise FaultError(f"seed {seed}: possible, and said not to be") from None
            seen["impossible"] += 1
            continue
        values = tuple(tier.value for tier in found.tiers)
        bounds = tuple(tier.bound for tier in found.tiers)
        if best is None or values != best.totals or bounds != best.totals:
            raise FaultError(f"seed {seed}: {found.tiers}, brute force {best}")
        seen["in one number" if scale_of(problem_of(request)).fits else "tier by tier"] += 1
    return (
        f"{_told(seen)} of {seen.total():,} extreme requests, next seed "
        f"{amount.first + seen.total()}: all as brute force says"
    )


def kills(amount: Amount) -> str:
    """Processes that are killed while they save."""
    found: Counter[str] = Counter()
    done = 0
    with TemporaryDirectory() as folder:
        for seed in amount.seeds():
            found += kill_while_saving(Path(folder), seed)
            done += 1
    return (
        f"{done:,} processes killed while saving, next seed {amount.first + done}: "
        f"{found['whole']:,} files, all whole; {found['left behind']} times one that was being "
        "written was left beside them"
    )


def interrupts(amount: Amount) -> str:
    """Ctrl-C at random moments, once or twice."""
    seconds: list[float] = []
    for seed in amount.seeds(PRESSES):
        command = [sys.executable, "-m", "tests.trust.interrupting", str(seed), str(PRESSES)]
        done = subprocess.run(  # noqa: S603 (our own code)
            command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=600
        )
        if done.returncode:
            raise FaultError(f"seed {seed}: {done.stderr[-2000:]}")
        seconds += json.loads(done.stdout)
    late = sum(each > 0.5 for each in seconds)
    return (
        f"{len(seconds):,} interrupts, next seed {amount.first + len(seconds)}: KeyboardInterrupt "
        f"after {median(seconds) * 1000:.1f} ms (median), {max(seconds) * 1000:.0f} ms at most, "
        f"{late} after more than 0.5 s; no search left running, the handler as it was"
    )


def memory(amount: Amount) -> str:
    """Resident memory over many calls in one process."""
    settled = amount.count // 10
    grown = growth(amount.count, settled)
    if grown > 20_000_000:
        raise FaultError(f"memory grew by {grown / 1e6:.1f} MB")
    return (
        f"{amount.count:,} calls: memory grew by {grown / 1e6:.1f} MB after the first {settled:,}"
    )


def together(amount: Amount) -> str:
    """Threads and processes at once."""
    asked = requests(amount.count)
    alone = list(map(answer, asked))
    ways: dict[str, Callable[[], list[str]]] = {
        "16 threads": lambda: in_threads(asked),
        "8 processes by fork": lambda: in_processes(asked, "fork"),
        "8 processes by spawn": lambda: in_processes(asked, "spawn"),
    }
    for way, found in ways.items():
        if found() != alone:
            raise FaultError(f"{way} give other answers")
    return f"{amount.count:,} requests: {', '.join(ways)} answer as one thread does"


def _told(seen: Counter[str]) -> str:
    return ", ".join(f"{count:,} {name}" for name, count in sorted(seen.items()))


FORMS: Final[dict[str, tuple[Callable[[Amount], str], int]]] = {
    "fuzz": (fuzzed, 100_000_000),
    "extremes": (extremes, 10_000),
    "kills": (kills, 500),
    "interrupts": (interrupts, 1_000),
    "memory": (memory, 10_000),
    "together": (together, 200),
}
"""The long forms, and how much each does where it is not said."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run what is asked for; 0 if all that must hold held, else 1."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    for name, (form, count) in FORMS.items():
        told = f"{(form.__doc__ or '').rstrip('.')} ({count:,})"
        parser.add_argument(f"--{name}", action="store_true", help=told)
    parser.add_argument("--seconds", type=float, default=float("inf"), help="no longer than this")
    parser.add_argument("--count", type=int, help="no more than so many")
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    options = parser.parse_args(arguments)
    chosen = [name for name in FORMS if getattr(options, name)]
    if not chosen:
        parser.error(f"choose one or more of {', '.join(f'--{name}' for name in FORMS)}")
    print(machine())
    for name in chosen:
        form, count = FORMS[name]
        began = time.monotonic()
        amount = Amount(options.first, options.count or count, began + options.seconds)
        try:
            told = form(amount)
        except (FaultError, AssertionError) as fault:
            print(f"{name}: FAULT: {fault}")
            return 1
        print(f"{name}: {told} ({time.monotonic() - began:.0f} s)", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
