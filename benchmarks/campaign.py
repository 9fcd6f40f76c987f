"""Random requests against oracles: ``python -m benchmarks.campaign [--seconds N] [--from SEED]``.

Answers one request for each whole number from SEED on, with all features mixed, twice: by knobpack,
and by brute force over all layouts or, for the larger ones, by the textbook model with HiGHS
(``tests/oracles/differential.py``). With ``--shows`` it lays tiny shows out in place of that
(``differential_shows.py``). What differs is printed with its seed, and makes the exit
status 1; so does what an impossible request is wrongly said to clash over. ``--seed N`` looks at
one request alone.

It can be stopped and started again at any time. What is done stands in the file OUT, a line of JSON
for each fifty requests, with the fingerprint of the code that was tried: a line half written, and
lines of other code, count for nothing. Every core works, each in a process of its own.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import json
import multiprocessing
import os
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from functools import cache
from pathlib import Path
from typing import Any

import attrs

from benchmarks.proven import machine
from tests.oracles.differential import compared, sort_of
from tests.oracles.differential_shows import compared_show, partly_programmed
from tests.oracles.features import ALL_FEATURES, features

CHUNK = 50
"""Requests to a line of the file."""

OF_SHOWS = " of shows"
"""What stands behind the fingerprint where shows were tried."""

ROOT = Path(__file__).parents[1]
ORACLES = "brute masks reading every_clash differential strategies features *shows"
CODE = (
    *("knobpack/*.py", "knobpack/solver/**/*.py"),
    *(
        f"knobpack/{room}/*.py"
        for room in ["words", "definition", "numbered", "clash", "allocation", "show"]
    ),
    *(f"tests/oracles/{name}.py" for name in ORACLES.split()),
    *(f"benchmarks/{name}.py" for name in ("campaign", "requests", "rules", "names", "peers/*")),
)
"""What the outcome depends on: other code, other results."""


@attrs.frozen
class Chunk:
    """What came of some requests, one after the other.

    Args:
        code: the fingerprint of what was tried.
        first: the first seed.
        requests: how many.
        seconds: how long it took, oracles included.
        counts: how often each sort, feature and outcome occurred.
        faults: what differs: the seed, the sort, and in words.
    """

    code: str
    first: int
    requests: int
    seconds: float
    counts: dict[str, int]
    faults: list[tuple[int, str, str]]


def fingerprint() -> str:
    """Twelve digits that change with the code that is tried, and the oracles; not with comments."""
    found = hashlib.sha256()
    for path in sorted({path for pattern in CODE for path in ROOT.glob(pattern)}):
        found.update(f"{path.relative_to(ROOT)}\0".encode() + without_words(path.read_text()))
    return found.hexdigest()[:12]


@cache
def without_words(code: str) -> bytes:
    """A digest of what Python makes of code, but for strings that stand alone, as docstrings do."""
    tree = ast.parse(code)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            node.body = [each for each in node.body if not _is_text(each)]
    return hashlib.sha256(ast.dump(tree).encode()).digest()


def _is_text(node: ast.stmt) -> bool:
    value = node.value if isinstance(node, ast.Expr) else None
    return isinstance(value, ast.Constant) and isinstance(value.value, str)


def tried(code: str, first: int, requests: int = CHUNK) -> Chunk:
    """Try the requests of some seeds, or shows, as the code says."""
    shows = code.endswith(OF_SHOWS)
    started = time.perf_counter()
    counts: Counter[str] = Counter()
    faults = []
    for seed in range(first, first + requests):
        verdict = compared_show(seed) if shows else compared(seed)
        counts[f"sort: {verdict.sort}"] += 1
        counts["outcome: impossible"] += verdict.impossible
        counts["outcome: knobpack left a tier unproven"] += verdict.open
        counts["outcome: the oracle left a tier unproven"] += verdict.unknown
        if not shows:
            counts.update(f"feature: {name}" for name in features(sort_of(seed).make(seed)))
        faults += [(seed, verdict.sort, fault) for fault in verdict.faults]
    seconds = round(time.perf_counter() - started, 3)
    return Chunk(code, first, requests, seconds, dict(counts), faults)


def read(out: Path, code: str) -> dict[int, Chunk]:
    """The chunks of a file that this code was tried on, by their first seed."""
    if not out.exists():
        return {}
    lines = out.read_text("utf-8").splitlines()
    return {each.first: each for each in map(_chunk, lines) if each and each.code == code}


def _chunk(line: str) -> Chunk | None:
    try:
        row: dict[str, Any] = json.loads(line)
    except json.JSONDecodeError:  # the process was killed while it wrote
        return None
    return Chunk(**row | {"faults": [tuple(fault) for fault in row["faults"]]})


def run(
    out: Path, code: str, first: int, *, requests: int | None, seconds: float, processes: int
) -> dict[int, Chunk]:
    """Try requests from a seed on that the file does not have yet, and add them to it.

    Args:
        out: the file; it is made if it is not there.
        code: the fingerprint, and whether it is about shows.
        first: the first seed, a multiple of ``CHUNK``.
        requests: how many in all, done or not; None: as many as there is time for.
        seconds: after so long nothing new is begun.
        processes: how many work at once.

    Returns:
        All chunks of the file from ``first`` on, those done before among them.
    """
    done = read(out, code)
    ends = time.monotonic() + seconds
    left = (at for at in _firsts(first, requests) if at not in done)
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, context) as pool, out.open("a", encoding="utf-8") as file:
        file.write("\n")  # ends a line that was left half written
        waiting: set[Future[Chunk]] = set()
        while True:
            while len(waiting) < 2 * processes and time.monotonic() < ends:
                at = next(left, None)
                if at is None:
                    break
                waiting.add(pool.submit(tried, code, at))
            if not waiting:
                break
            ready, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for chunk in (future.result() for future in ready):
                done[chunk.first] = chunk
                file.write(json.dumps(attrs.asdict(chunk)) + "\n")
                file.flush()
                for seed, sort, fault in chunk.faults:
                    print(f"DISAGREEMENT seed {seed} ({sort}): {fault}", flush=True)
    wanted = set(_firsts(first, requests)) if requests is not None else None
    return {at: done[at] for at in sorted(done) if at >= first and (wanted is None or at in wanted)}


def _firsts(first: int, requests: int | None) -> Iterator[int]:
    at = first
    while requests is None or at < first + requests:
        yield at
        at += CHUNK


def report(chunks: Sequence[Chunk], code: str, wall: float) -> None:
    """Print what was tried, how often each feature occurred, and what differs."""
    requests = sum(chunk.requests for chunk in chunks)
    spent = sum(chunk.seconds for chunk in chunks)
    counts: Counter[str] = Counter()
    for chunk in chunks:
        counts.update(chunk.counts)
    print(f"{requests} requests tried on code {code}, {spent:.0f} s of work in all processes")
    if spent:
        print(f"  {requests / spent:.1f} a second and process; this run took {wall:.0f} s")
    for heading in ("sort", "outcome", "feature"):
        print(f"  {heading}s:")
        for name, count in sorted(counts.items()):
            if name.startswith(heading + ": "):
                print(f"    {count:>8}  {name.removeprefix(heading + ': ')}")
    wanted = () if code.endswith(OF_SHOWS) else sorted(ALL_FEATURES)
    unseen = [name for name in wanted if not counts[f"feature: {name}"]]
    if unseen:
        print(f"  features that did not occur: {', '.join(unseen)}")
    faults = [fault for chunk in chunks for fault in chunk.faults]
    print(f"  {len(faults)} disagreements")
    for seed, sort, fault in faults:
        print(f"    seed {seed} ({sort}): {fault}")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the campaign; 0 if nothing differs, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.campaign", description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0, help="begin nothing after (60)")
    parser.add_argument("--requests", type=int, help="how many from SEED on (no limit)")
    parser.add_argument("--from", dest="first", type=int, default=0, help="the first seed (0)")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="(every core)")
    parser.add_argument("--seed", type=int, help="look at this request alone")
    parser.add_argument("--shows", action="store_true", help="try shows in place of requests")
    default = Path(tempfile.gettempdir()) / "knobpack-campaign.jsonl"
    parser.add_argument("--out", type=Path, default=default, help=f"what is done ({default})")
    given = parser.parse_args(arguments)
    if given.seed is not None:
        verdict = compared_show(given.seed) if given.shows else compared(given.seed)
        make = partly_programmed if given.shows else sort_of(given.seed).make
        print(make(given.seed))
        print(verdict)
        return int(bool(verdict.faults))
    print(machine())
    started, first = time.monotonic(), given.first - given.first % CHUNK
    code = fingerprint() + (OF_SHOWS if given.shows else "")
    chunks = run(
        given.out,
        code,
        first,
        requests=given.requests,
        seconds=given.seconds,
        processes=given.processes,
    )
    report(list(chunks.values()), code, time.monotonic() - started)
    return int(any(chunk.faults for chunk in chunks.values()))


if __name__ == "__main__":
    sys.exit(main())
