"""How long explaining takes beside solving: ``python -m benchmarks.explained [--seeds N]``.

For the demo and seeded requests of 8 knobs: processor seconds to allocate, to explain (every
destination, every other knob, every shared knob, the knob budget, the least knobs), and to explain
with all that takes solving again (the price of every rule, snapshot and limit, and the other best
layouts).
Each is timed three times, in turn, and the best counts. Prints the ratios. Exits with 1 if an
explanation takes twice as long as the solve it explains, or longer.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Callable, Sequence
from statistics import median

import attrs

from benchmarks.proven import machine
from benchmarks.requests import eight_knobs
from knobpack import Request, allocate_request
from knobpack.present.demo import demo_request
from knobpack.questions import explain

MOST = 2
"""An explanation takes less than so many times the processor seconds of the solve."""

TURNS = 3


@attrs.frozen
class Run:
    """One request solved and explained, in processor seconds, the best of some turns."""

    name: str
    solve: float
    explain: float
    explain_solving: float

    @property
    def ratio(self) -> float:
        """How many times the solve the explanation takes."""
        return self.explain / self.solve

    @property
    def ratio_solving(self) -> float:
        """How many times the solve the explanation takes that solves again."""
        return self.explain_solving / self.solve


def run(name: str, request: Request) -> Run:
    """Solve and explain one request."""
    allocation = allocate_request(request)
    jobs: tuple[Callable[[], object], ...] = (
        lambda: allocate_request(request),
        lambda: explain(allocation),
        lambda: explain(allocation, solve=True),
    )
    turns = [[_seconds(job) for job in jobs] for _ in range(TURNS)]
    return Run(name, *(min(each) for each in zip(*turns, strict=True)))


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark; 0 if explanations are as fast as they must be, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.explained", description=__doc__)
    parser.add_argument("--seeds", type=int, default=30, help="seeded requests (30)")
    given = parser.parse_args(arguments)
    print(machine())
    runs = [run("demo", demo_request())]
    runs += [run(f"seed {seed}", eight_knobs(seed)) for seed in range(given.seeds)]
    print("request    solve s  explain / solve  with solving again / solve")
    for each in runs:
        ratios = f"{each.ratio:15.1f}  {each.ratio_solving:26.1f}"
        print(f"{each.name:9}  {each.solve:7.3f}  {ratios}")
    middle, worst = median(each.ratio for each in runs), max(each.ratio for each in runs)
    again = median(each.ratio_solving for each in runs)
    print(f"explain / solve: median {middle:.1f}, worst {worst:.1f}")
    print(f"with solving again: median {again:.1f}")
    return int(worst >= MOST)


def _seconds(job: Callable[[], object]) -> float:
    started = time.process_time()
    job()
    return time.process_time() - started


if __name__ == "__main__":
    raise SystemExit(main())
