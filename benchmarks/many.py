"""How busy the cores are with many requests: ``python -m benchmarks.many [--requests N]``.

Answers the same seeded requests of 8 knobs one after the other, on a pool of one process for each
core and, where ``distributed`` is installed, on a local Dask cluster of as many. Prints the seconds
of each, the ratio to the first, and the share of the cores that was busy: processor time of this
process and of its workers, over the seconds times the cores. All of it counts, the start of the
workers and their imports too. Exits with 1 if any way gives another reply.
"""

from __future__ import annotations

import argparse
import os
import resource
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import contextmanager, nullcontext
from importlib.util import find_spec

import attrs

from benchmarks.proven import machine
from benchmarks.requests import eight_knobs
from knobpack import Request, allocate_many
from knobpack.many import Reply


@attrs.frozen
class Measured:
    """What one way of answering took.

    Args:
        way: what it is called.
        seconds: from before its workers start until after they have ended.
        busy: processor time over ``seconds`` times the number of cores, 0 to 1.
        replies: what was answered.
    """

    way: str
    seconds: float
    busy: float
    replies: tuple[Reply, ...] = attrs.field(repr=False)


def processes(cores: int) -> ProcessPoolExecutor:
    """A pool of one process for each core."""
    return ProcessPoolExecutor(cores)


@contextmanager
def cluster(cores: int) -> Iterator[Executor]:
    """The executor of a local Dask cluster of one process for each core."""
    from distributed import Client, LocalCluster

    with (
        LocalCluster(  # type: ignore[no-untyped-call]
            n_workers=cores, threads_per_worker=1, processes=True, dashboard_address=None
        ) as workers,
        Client(workers) as client,  # type: ignore[no-untyped-call]
    ):
        yield client.get_executor()


def measured(requests: Sequence[Request], cores: int) -> Iterator[Measured]:
    """Answer the requests in every way there is, one way after the other."""
    yield _one("one after the other", requests, cores, nullcontext)
    yield _one(f"{cores} processes", requests, cores, lambda: processes(cores))
    if find_spec("distributed"):
        yield _one(f"Dask cluster of {cores}", requests, cores, lambda: cluster(cores))


def _one(
    way: str, requests: Sequence[Request], cores: int, start: Callable[[], object]
) -> Measured:
    began, used = time.perf_counter(), _processor_seconds()
    with start() as executor:  # type: ignore[attr-defined]
        replies = allocate_many(requests, executor=executor)
    seconds = time.perf_counter() - began
    return Measured(way, seconds, (_processor_seconds() - used) / seconds / cores, replies)


def _processor_seconds() -> float:
    """What this process and its children that have ended have used."""
    usages = map(resource.getrusage, (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    return sum(usage.ru_utime + usage.ru_stime for usage in usages)


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the benchmark; 0 if every way gave the same replies, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.many", description=__doc__)
    parser.add_argument("--requests", type=int, default=1000, help="how many requests (1000)")
    parser.add_argument("--cores", type=int, default=os.cpu_count(), help="how many workers")
    given = parser.parse_args(arguments)
    print(machine())
    requests = [eight_knobs(seed) for seed in range(given.requests)]
    first: Measured | None = None
    same = True
    for found in measured(requests, given.cores):
        first = first or found
        same &= found.replies == first.replies
        speed, ratio = len(requests) / found.seconds, first.seconds / found.seconds
        print(f"  {found.way:22} {found.seconds:7.2f} s  {speed:6.0f} a second", end="")
        print(f"  {ratio:5.2f} times as fast  cores {found.busy:4.0%} busy")
    print("the same replies" if same else "NOT the same replies")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
