"""Names in a table: the voices of a setup in a ``.csv`` file, read without what makes words of it.

What is not as tables are commonly saved is left to :mod:`knobpack.tables`, which takes its time.
"""

from __future__ import annotations

import csv
import io

from knobpack.storage.strict_json import MOST_BYTES

DELIMITERS = (",", ";", "\t")
NEEDED = {"knob", "voice", "destination"}


def voices_in_table(path: str) -> tuple[str | None, list[str]] | None:
    """What a table says that its setup is called, and its voices.

    Args:
        path: the file.

    Returns:
        The name, None where there is none, and the names of the voices as they are first named;
        None where it takes more to tell: it is no table, a cell is escaped, or it is not in UTF-8.
    """
    try:
        with open(path, encoding="utf-8-sig", newline="") as file:  # noqa: PTH123 - takes time
            text = file.read(MOST_BYTES + 1)
    except (OSError, ValueError):
        return None
    first = text.partition("\n")[0]
    marks = [mark for mark in DELIMITERS if NEEDED.issubset(map(_folded, first.split(mark)))]
    if len(marks) != 1 or len(text) > MOST_BYTES:
        return None
    try:
        heads, *rows = csv.reader(io.StringIO(text, newline=""), delimiter=marks[0], strict=True)
    except csv.Error:
        return None
    columns = [_folded(head) for head in heads]
    found: dict[str, list[str]] = {"voice": [], "setup": []}
    for heading, cells in found.items():
        if columns.count(heading) > 1:
            return None
        for at, column in enumerate(columns):
            if column == heading:
                cells += [row[at].strip() for row in rows if at < len(row) and row[at].strip()]
    if any(cell.startswith("'") for cells in found.values() for cell in cells):
        return None
    return next(iter(found["setup"]), None), list(dict.fromkeys(found["voice"]))


def _folded(heading: str) -> str:
    return heading.strip().strip('"').casefold()
