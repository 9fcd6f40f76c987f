"""Names in a table: those of a setup in a ``.csv`` file, read without what makes words of it.

What is not as tables are commonly saved is left to :mod:`knobpack.tables`, which takes its time.
"""

from __future__ import annotations

import csv
import io

from knobpack.storage.strict_json import MOST_BYTES

DELIMITERS = (",", ";", "\t")
NEEDED = {"knob", "voice", "destination"}
HEADINGS = (*sorted(NEEDED), "setup", "source")


def names_in_table(path: str) -> tuple[str | None, dict[str, list[str]]] | None:
    """What a table says that its setup is called, and the names of each sort that stand in it.

    Args:
        path: the file.

    Returns:
        The name, None where there is none, and the names as they are first named, the
        destinations by their full ones; None where it takes more to tell: it is no table, a cell
        is escaped, or it is not in UTF-8.
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
    if any(columns.count(heading) > 1 for heading in HEADINGS):
        return None
    at = {heading: columns.index(heading) for heading in HEADINGS if heading in columns}
    said = [
        {head: row[to].strip() for head, to in at.items() if to < len(row) and row[to].strip()}
        for row in rows
    ]
    if any(cell.startswith("'") for row in said for cell in row.values()):
        return None
    named = {head: dict.fromkeys(row[head] for row in said if head in row) for head in HEADINGS}
    pairs = (
        f"{row['voice']}/{row['destination']}" for row in said if {"voice", "destination"} <= {*row}
    )
    found = {
        "voices": [*named["voice"]],
        "groups": [],
        "snapshots": [
            head.partition(":")[2].strip()
            for head, folded in zip(heads, columns, strict=True)
            if folded.partition(":")[0].strip() == "snapshot" and ":" in folded
        ],
        "knobs": [*named["knob"]],
        "sources": [*named["source"]],
        "destinations": [*dict.fromkeys(pairs)],
    }
    return next(iter(named["setup"]), None), found


def _folded(heading: str) -> str:
    return heading.strip().strip('"').casefold()
