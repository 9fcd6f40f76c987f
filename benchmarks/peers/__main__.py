"""knobpack beside its peers: ``python -m benchmarks.peers [--sizes 8,16] [--seeds 5]``.

Runs every peer on the same seeded requests, one run after the other, each in a process of its own
with the same limit. Writes one line for each run to a table and prints a report. Exits with 1 if a
layout of a peer is better than knobpack's, or a bound is refuted by a layout.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from benchmarks.generator import KINDS, SIZES
from benchmarks.peers import PEERS
from benchmarks.peers.compare import compare
from benchmarks.peers.report import report
from benchmarks.peers.rows import COLUMNS, Row, machine, records
from benchmarks.peers.verdicts import better_than_ours, contradictions
from benchmarks.tables import new_path, write_csv


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the comparison; 0 if nobody is better and every bound holds, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.peers", description=__doc__)
    sizes = ", ".join(f"{knobs}/{count}" for knobs, count in SIZES.items())
    parser.add_argument("--sizes", type=_whole, default=(8, 16), help=f"knobs of {sizes} (8,16)")
    parser.add_argument("--seeds", type=int, default=5, help="requests of each size (5)")
    parser.add_argument("--limit", type=_numbers, default=(10.0,), help="seconds, or several (10)")
    parser.add_argument("--peers", type=_named(PEERS), default=tuple(PEERS), help="some only")
    parser.add_argument("--kinds", type=_named(KINDS), default=tuple(KINDS), help="some only")
    parser.add_argument("--out", type=Path, help="the table (default: a new temporary file)")
    given = parser.parse_args(arguments)
    print(machine())
    rows = compare(given.sizes, given.seeds, given.limit, given.peers, given.kinds, told=_tell)
    path = given.out or new_path("peers")
    write_csv(path, COLUMNS, records(rows))
    print("", *report(rows), f"table: {path}", sep="\n")
    return 1 if better_than_ours(rows) or contradictions(rows) else 0


def _tell(row: Row) -> None:
    """One line while it runs; to the error output, so that the report stays by itself."""
    values = row.values if row.valid else row.failed or "no valid layout"
    print(
        f"{row.request}, {row.limit:g} s, {row.peer}: {row.seconds:.3f} s, {values}",
        file=sys.stderr,
        flush=True,
    )


def _whole(text: str) -> tuple[int, ...]:
    return tuple(int(part) for part in text.split(","))


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(float(part) for part in text.split(","))


def _named(known: Iterable[str]) -> Callable[[str], tuple[str, ...]]:
    """A reader of names, comma by comma, from among some."""

    def read(text: str) -> tuple[str, ...]:
        names = tuple(text.split(","))
        for name in names:
            if name not in known:
                raise argparse.ArgumentTypeError(f"{name!r} is none of {', '.join(known)}")
        return names

    return read


if __name__ == "__main__":
    sys.exit(main())
