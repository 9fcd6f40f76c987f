"""Together: many searches at once in threads and processes, and memory over many calls."""

from __future__ import annotations

import gc
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import Final

from benchmarks.requests import eight_knobs
from knobpack import KnobpackError, Request, allocate_request
from tests.oracles.strategies import seeded_request

THREADS: Final = 16
PROCESSES: Final = 4


def requests(count: int) -> list[Request]:
    """Requests that are solved in every way there is, some of them impossible."""
    seeds = range(count)
    return [seeded_request(seed) if seed % 2 else eight_knobs(seed) for seed in seeds]


def answer(request: Request) -> str:
    """All that is answered, as text: equal text is an equal answer."""
    try:
        return repr(allocate_request(request))
    except KnobpackError as error:
        return f"{type(error).__name__}: {error}"


def in_threads(asked: list[Request]) -> list[str]:
    """The answers from sixteen threads at once."""
    with ThreadPoolExecutor(THREADS) as pool:
        return list(pool.map(answer, asked))


def in_processes(asked: list[Request], method: str) -> list[str]:
    """The answers from four processes at once, started by fork or spawn."""
    context = multiprocessing.get_context(method)
    with ProcessPoolExecutor(PROCESSES, mp_context=context) as pool:
        return list(pool.map(answer, asked, chunksize=2))


def growth(calls: int, settled: int) -> int:
    """How many bytes of resident memory are taken more from one call to another.

    Args:
        calls: how many are made in all, requests in turn.
        settled: after how many of them the first look is taken.
    """
    asked = requests(40)
    before = 0
    for call in range(calls):
        if call == settled:
            gc.collect()
            before = resident()
        answer(asked[call % len(asked)])
    gc.collect()
    return resident() - before


def resident() -> int:
    """Bytes of resident memory of this process (Linux: proc(5), statm)."""
    pages = int(Path("/proc/self/statm").read_text("ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")
