"""knobpack beside plain peers on foreign kinds: ``python -m benchmarks.foreign [--kinds family]``.

Runs knobpack and its peers on the same seeded requests of :mod:`benchmarks.foreign_requests`, each
in a process of its own with the same limit, and prints for each request who is lexicographically
better in the first four tiers, and how far knobpack's values are from its bounds. Exits with 1 if
a peer is better anywhere, or a bound is refuted by a layout.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence

from benchmarks.foreign_requests import FOREIGN
from benchmarks.peers import OURS, PEERS
from benchmarks.peers.compare import side_by_side
from benchmarks.peers.rows import Row, Subject, machine
from benchmarks.peers.verdicts import better_than_ours, contradictions, races
from knobpack.checker import TIERS

UPPER = TIERS.index("sharing") + 1
"""How many tiers are compared: the later ones are about places."""

PLAIN = (OURS, "annealing", "cpsat", "greedy")
"""Those that are run where nothing else is asked."""

NEAR = 0.01
"""A value is near its bound within a point, or within so much of it."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the comparison; 0 if nobody is better and every bound holds, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.foreign", description=__doc__)
    small = [kind for kind in FOREIGN if kind != "huge"]
    parser.add_argument("--kinds", default=",".join(small), help=f"of {', '.join(FOREIGN)}")
    parser.add_argument("--first", type=int, default=0, help="the first seed (0)")
    parser.add_argument("--seeds", type=int, default=3, help="requests of each kind (3)")
    parser.add_argument("--limit", type=float, default=10.0, help="seconds for each run (10)")
    parser.add_argument("--peers", default=",".join(PLAIN), help=f"of {', '.join(PEERS)}")
    given = parser.parse_args(arguments)
    print(machine())
    rows: list[Row] = []
    for kind in given.kinds.split(","):
        own: list[Row] = []
        for seed in range(given.first, given.first + given.seeds):
            subject = Subject(kind, seed, FOREIGN[kind](seed))
            raced = list(side_by_side(subject, (given.limit,), given.peers.split(",")))
            print(*_told(raced), sep="\n", flush=True)
            own += raced
        print(*summary(own), sep="\n", flush=True)
        rows += own
    refuted = contradictions(rows)
    print(*(f"refuted: {line}" for line in refuted), sep="\n")
    return 1 if refuted or better_than_ours(rows, UPPER) else 0


def summary(rows: Sequence[Row]) -> Iterator[str]:
    """For one kind, how often knobpack was as good as any, and how near it came to its bounds.

    Args:
        rows: of whole races, all of one kind.
    """
    ours = [row for row in rows if row.peer == OURS]
    behind = {worse.request for _, worse in better_than_ours(rows, UPPER)}
    near = sum(_near(row) for row in ours)
    kind = ours[0].kind if ours else ""
    yield (
        f"{kind}: {len(ours) - len(behind)} of {len(ours)} as good as any peer; "
        f"{near} near their bounds; {sum(row.proven >= UPPER for row in ours)} proven"
    )


def _near(row: Row) -> bool:
    """Whether each of the first four tiers is near its bound."""
    bounds = (*row.bounds, *(0 for _ in range(UPPER - len(row.bounds))))
    pairs = zip(row.values[:UPPER], bounds, strict=False)
    return row.valid and all(value - bound <= max(1, NEAR * value) for value, bound in pairs)


def _told(rows: Sequence[Row]) -> Iterator[str]:
    """The lines of one race."""
    for _, race in races(rows):
        best = min((row.values[:UPPER] for row in race if row.valid), default=())
        for row in race:
            place = "best" if row.valid and row.values[:UPPER] == best else ""
            values = row.values[:UPPER] if row.valid else row.failed or "no layout"
            bounds = f"  bounds {row.bounds[:UPPER]}" if row.bounds else ""
            told = f"{row.request:32} {row.peer:10} {row.seconds:7.2f} s  {place:4}  {values}"
            yield told + bounds


if __name__ == "__main__":
    sys.exit(main())
