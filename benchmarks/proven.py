"""How long a proven best layout takes: ``python -m benchmarks.proven [--seeds N] [--sizes 8,16]``.

Solves seeded requests and prints how the seconds are distributed, how many requests were proven in
each tier, and by how much what was found could be above the best where it was not. Those of 8 knobs
are made by ``requests.eight_knobs``, other sizes by ``requests.sized`` with the destinations of
``generator.SIZES`` (35 to 8 knobs where no size is set), on a fortieth of the seeds. The imports
are done, and one request is solved, before the clock starts; how long ``import knobpack`` takes in
a fresh process is printed by itself, and the most memory that was resident until then. Exits with 1
if anything is not proven.
"""

from __future__ import annotations

import argparse
import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from importlib.metadata import version
from pathlib import Path
from resource import RUSAGE_SELF, getrusage
from statistics import median, quantiles

import attrs

from benchmarks.generator import destinations_for
from benchmarks.requests import eight_knobs, sized
from knobpack import Request, allocate_request
from knobpack.checker import TIERS
from knobpack.limits import DEFAULT_EFFORT, Progress

IMPORTS = 5
"""Fresh processes in which the import is timed; the best counts."""


@attrs.frozen
class Run:
    """One request solved.

    Args:
        seconds: from the request to the checked allocation.
        first: seconds until a first layout was known.
        proven: whether each tier was proven best.
        gaps: by what share of its value each tier is above its bound.
    """

    seed: int
    seconds: float
    first: float
    proven: tuple[bool, ...]
    gaps: tuple[float, ...]


def solved(make: Callable[[int], Request], seeds: range, effort: float) -> list[Run]:
    """Solve the request of every seed, one after the other."""
    return [_run(make(seed), seed, effort) for seed in seeds]


def _run(request: Request, seed: int, effort: float) -> Run:
    known: list[float] = []

    def tell(progress: Progress) -> None:
        if progress.value is not None and not known:
            known.append(progress.seconds)

    started = time.perf_counter()
    found = allocate_request(request, effort=effort, progress=tell)
    seconds = time.perf_counter() - started
    gaps = tuple((each.value - each.bound) / max(1, each.value) for each in found.tiers)
    proven = tuple(tier.proven for tier in found.tiers)
    return Run(seed, seconds, min([*known, seconds]), proven, gaps)


def spread(seconds: Sequence[float]) -> dict[str, float]:
    """Minimum, quartiles, 95 in a hundred, and maximum; between two runs, in proportion."""
    if len(seconds) == 1:
        seconds = [*seconds, *seconds]
    cuts = quantiles(seconds, n=100, method="inclusive")
    marks = {"min": min(seconds), "25 %": cuts[24], "median": cuts[49], "75 %": cuts[74]}
    return marks | {"95 %": cuts[94], "max": max(seconds)}


def import_seconds() -> float:
    """The seconds that ``import knobpack`` takes in a fresh process, the best of some."""
    code = "import time; t = time.perf_counter(); import knobpack; print(time.perf_counter() - t)"
    root = Path(__file__).parents[1]
    return min(
        float(
            subprocess.run(  # noqa: S603 (our own code)
                [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
            ).stdout
        )
        for _ in range(IMPORTS)
    )


def machine() -> str:
    """What the numbers were measured on and with."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("ortools", "networkx", "numpy"))
    return (
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, "
        f"Python {platform.python_version()}, {packages}"
    )


def requests_of(knobs: int) -> tuple[str, Callable[[int], Request]]:
    """What the requests of a size are called, and how one is made from a seed."""
    if knobs == 8:
        return "8 knobs, 16 to 24 destinations", eight_knobs
    destinations = destinations_for(knobs)
    return (
        f"{knobs} knobs, {destinations} destinations",
        lambda seed: sized(seed, knobs, destinations),
    )


def report(title: str, runs: Sequence[Run]) -> None:
    """Print what some runs took, and what they proved."""
    print(f"{title}: {len(runs)} requests, seeds {runs[0].seed} to {runs[-1].seed}")
    marks = spread([run.seconds for run in runs])
    print("  seconds  " + "  ".join(f"{name} {mark:.3f}" for name, mark in marks.items()))
    counts = [sum(run.proven[at] for run in runs) for at in range(len(TIERS))]
    print("  proven   " + "  ".join(f"{n} {c}" for n, c in zip(TIERS, counts, strict=True)))
    first = [run.first for run in runs]
    print(f"  first    a layout after {median(first):.3f} s, {max(first):.3f} at most")
    left = [run.seed for run in runs if not all(run.proven)]
    if left:
        print(f"  not proven in every tier: seeds {', '.join(map(str, left))}")
        worst = (max(run.gaps[at] for run in runs) for at in range(len(TIERS)))
        told = "  ".join(f"{n} {gap:.3%}" for n, gap in zip(TIERS, worst, strict=True))
        print(f"  gap      at most  {told}")
    print(f"  memory   {getrusage(RUSAGE_SELF).ru_maxrss // 1024} MiB at most until now")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark; 0 if every tier of every request was proven, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.proven", description=__doc__)
    parser.add_argument("--seeds", type=_count, default=200, help="seeds at 8 knobs (200)")
    parser.add_argument("--effort", type=float, default=DEFAULT_EFFORT, help="for each (10)")
    parser.add_argument("--sizes", type=_sizes, default=(8, 16), help="numbers of knobs (8,16)")
    given = parser.parse_args(arguments)
    print(machine())
    print(f"import knobpack: {import_seconds():.3f} s, the best of {IMPORTS} fresh processes")
    allocate_request(eight_knobs(0))
    all_proven = True
    for knobs in given.sizes:
        title, make = requests_of(knobs)
        seeds = given.seeds if knobs == 8 else max(1, given.seeds // 40)
        runs = solved(make, range(seeds), given.effort)
        report(title, runs)
        all_proven &= all(all(run.proven) for run in runs)
    return 0 if all_proven else 1


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of 1 or more")
    return int(text)


def _sizes(text: str) -> tuple[int, ...]:
    return tuple(_count(part) for part in text.split(","))


if __name__ == "__main__":
    sys.exit(main())
