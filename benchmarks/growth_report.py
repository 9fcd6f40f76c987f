"""The growth studies in words and tables, from their records."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from statistics import median
from typing import Any

from benchmarks.tables import Record, exponent

AXES = {
    "size": "destinations",
    "destinations": "destinations",
    "knobs": "knobs",
    "families": "families",
    "time": "limit",
}
"""What each study goes along."""


def report(records: Sequence[Record]) -> Iterator[str]:
    """The lines of the report: medians at each point, then the exponents.

    Args:
        records: those of :func:`benchmarks.growth.records`, study by study.
    """
    for study, group in groupby(records, key=lambda record: record["study"]):
        inner = list(group)
        axis = AXES[str(study)]
        yield ""
        yield f"{study}"
        for at, points in groupby(inner, key=lambda record: record[axis]):
            yield _line(axis, at, list(points))
        if axis != "limit":
            yield from _exponents(axis, inner)


def _line(axis: str, at: Any, records: Sequence[Record]) -> str:
    first = records[0]
    memory = [number for record in records if (number := record["mebibytes"]) is not None]
    size = f"{first['knobs']}/{first['destinations']} in {first['families']} families"
    return (
        f"  {axis} {at!s:>5}  {size:24}  seconds {_middle(records, 'seconds'):8.3f}  "
        f"gap {_middle(records, 'gap'):8.3%}  "
        f"proven 1-4 {_proven(records, 4)}/{len(records)}, 1-6 {_proven(records, 6)}"
        + (f"  MiB {median(memory):.0f}" if memory else "")  # type: ignore[type-var]
    )


def _exponents(axis: str, records: Sequence[Record]) -> Iterator[str]:
    """Fitted over runs that ended before their limit: a cut-off run says nothing of growth."""
    done = [record for record in records if _number(record, "seconds") < _number(record, "limit")]
    cut = len(records) - len(done)
    for what in ("seconds", "mebibytes"):
        some = [record for record in done if record[what] is not None]
        sizes = [_number(record, axis) for record in some]
        found = exponent(sizes, [max(_number(record, what), 1e-3) for record in some])
        if found is not None:
            runs = f"{len(some)} runs" + (f", {cut} more were cut off" if cut else "")
            yield f"  {what} grow with {axis} to the power {found:.2f} ({runs})"


def _number(record: Record, column: str) -> float:
    return float(str(record[column]))


def _middle(records: Sequence[Record], column: str) -> float:
    return median(_number(record, column) for record in records)


def _proven(records: Sequence[Record], tiers: int) -> int:
    return sum(_number(record, "proven") >= tiers for record in records)
