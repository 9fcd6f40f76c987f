"""Tidy tables of results, and what is fitted to them."""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

Record = Mapping[str, object]


def write_csv(path: Path, columns: Sequence[str], records: Sequence[Record]) -> None:
    """Write records as a table, one line each, nothing where a value is None."""
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns)
        writer.writeheader()
        writer.writerows(records)


def new_path(name: str) -> Path:
    """A path in a new folder for temporary files, so that no checkout fills with results."""
    return Path(tempfile.mkdtemp(prefix="knobpack-")) / f"{name}.csv"


def exponent(sizes: Sequence[float], amounts: Sequence[float]) -> float | None:
    """The exponent ``b`` of the power law ``amount = a * size ** b`` that fits best.

    It is the slope of a straight line through the logarithms (least squares). None where fewer
    than two sizes differ. Amounts and sizes are above 0.
    """
    import numpy as np

    if len(set(sizes)) < 2:
        return None
    slope = np.polyfit(np.log(np.array(sizes, float)), np.log(np.array(amounts, float)), 1)[0]
    return float(slope)
