"""How knobpack grows: ``python -m benchmarks.growth [--studies size,time] [--seeds N] [--full]``.

Five studies of plain requests, each run in a process of its own:

* ``size``: knobs and destinations together, the sizes of :mod:`benchmarks.generator`;
* ``destinations``, ``knobs``, ``families``: one of the three alone, the others as at 16 knobs, 70
  destinations and 6 families;
* ``time``: one size under ever longer limits, the gap against time.

Writes one line for each run to a table, prints medians and the exponents that fit the seconds and
the memory best.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path

import attrs

from benchmarks.generator import destinations_for
from benchmarks.growth_report import report
from benchmarks.peers import OURS
from benchmarks.peers.race import run
from benchmarks.peers.rows import COLUMNS, Pricing, Row, Subject, machine, record, row_of
from benchmarks.requests import sized
from benchmarks.tables import Record, new_path, write_csv
from knobpack.checker import TIERS

KNOBS, DESTINATIONS, FAMILIES = 16, 70, 6
"""What a study of one of them leaves the others at."""


@attrs.frozen
class Point:
    """What a request is made with."""

    knobs: int
    destinations: int
    families: int
    limit: float


@attrs.frozen
class Grown:
    """One run.

    Args:
        study: which of the five.
        families: how many families the request was made with.
        gap: by how much the bound of the first four tiers is below their value, as a share of
            the value: 0 where they are proven, 1 where nothing is known.
        row: the run, as those of the peers are written down.
    """

    study: str
    families: int
    gap: float
    row: Row


SHARING = TIERS.index("sharing")
STUDIES = ("size", "destinations", "knobs", "families", "time")


def points(study: str, limit: float, *, full: bool = False) -> list[Point]:
    """What a study goes through.

    Args:
        study: one of :data:`STUDIES`.
        limit: seconds for each run; in the study ``time`` the longest.
        full: the whole range, which takes hours, and not the small one, which takes minutes.
    """
    if study == "size":
        return [
            Point(knobs, destinations_for(knobs), max(1, round(knobs / 2.5)), limit)
            for knobs in ((8, 16, 32, 64, 128) if full else (4, 8, 16))
        ]
    if study == "destinations":
        counts = range(16, 129 if full else 65, 16)
        return [Point(KNOBS, count, FAMILIES, limit) for count in counts]
    if study == "knobs":
        counts = range(8, 33 if full else 17, 4)
        return [Point(count, DESTINATIONS, FAMILIES, limit) for count in counts]
    if study == "families":
        counts = range(2 if full else 4, 13 if full else 9, 2)
        return [Point(KNOBS, DESTINATIONS, count, limit) for count in counts]
    knobs = 64 if full else KNOBS
    steps = [limit / 2**step for step in range(7 if full else 4)]
    count = max(1, round(knobs / 2.5))
    return [Point(knobs, destinations_for(knobs), count, each) for each in reversed(steps)]


def grow(
    studies: Iterable[str] = ("size",),
    seeds: int = 1,
    limit: float = 5.0,
    *,
    full: bool = False,
    told: Callable[[Grown], None] | None = None,
) -> list[Grown]:
    """Run the studies.

    Args:
        studies: some of :data:`STUDIES`.
        seeds: requests for each point, seeds counted from 0.
        limit: seconds for each run; in the study ``time`` the longest.
        full: the whole range.
        told: told each run as it comes.

    Returns:
        One value for each run, study by study, point by point.
    """
    found = []
    for study in studies:
        for each in _grown(study, seeds, points(study, limit, full=full)):
            found.append(each)
            if told is not None:
                told(each)
    return found


def _grown(study: str, seeds: int, through: Sequence[Point]) -> Iterator[Grown]:
    for point in through:
        for seed in range(seeds):
            request = sized(seed, point.knobs, point.destinations, point.families)
            subject = Subject("plain", seed, request)
            ran = run(OURS, request, point.limit)
            row = row_of(subject, OURS, point.limit, ran, Pricing(request), None)
            yield Grown(study, point.families, gap(row), row)


def gap(row: Row) -> float:
    """By how much the bound of the first four tiers is below their value, as a share of it."""
    if row.proven > SHARING:
        return 0.0
    bounds, values = row.bounds, row.values
    if not row.valid or len(bounds) <= SHARING or bounds[:SHARING] != values[:SHARING]:
        return 1.0
    return 1 - bounds[SHARING] / values[SHARING] if values[SHARING] else 0.0


GROWN_COLUMNS = ("study", "families", "gap", *COLUMNS)
"""The columns of the table."""


def records(grown: Iterable[Grown]) -> list[Record]:
    """Every run by column."""
    return [
        {"study": each.study, "families": each.families, "gap": round(each.gap, 6)}
        | record(each.row)
        for each in grown
    ]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the studies; 0 if every run gave a valid layout, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.growth", description=__doc__)
    parser.add_argument("--studies", default=",".join(STUDIES), help="some of the five")
    parser.add_argument("--seeds", type=int, default=3, help="requests for each point (3)")
    parser.add_argument("--limit", type=float, default=10.0, help="seconds for each run (10)")
    parser.add_argument("--full", action="store_true", help="the whole range, for hours")
    parser.add_argument("--out", type=Path, help="the table (default: a new temporary file)")
    given = parser.parse_args(arguments)
    studies = given.studies.split(",")
    if unknown := set(studies) - set(STUDIES):
        parser.error(f"no study is called {', '.join(sorted(unknown))}")
    print(machine())
    grown = grow(studies, given.seeds, given.limit, full=given.full, told=_tell)
    path = given.out or new_path("growth")
    write_csv(path, GROWN_COLUMNS, records(grown))
    print(*report(records(grown)), f"table: {path}", sep="\n")
    return 0 if all(each.row.valid for each in grown) else 1


def _tell(each: Grown) -> None:
    row = each.row
    print(
        f"{each.study}: {row.request}, {each.families} families, {row.limit:g} s: "
        f"{row.seconds:.3f} s, gap {each.gap:.2%}",
        file=sys.stderr,
        flush=True,
    )


if __name__ == "__main__":
    sys.exit(main())
