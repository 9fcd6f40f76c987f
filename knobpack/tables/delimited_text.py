"""Delimited text: the text of a table taken apart, whatever stands between its cells.

To import it takes next to no time: what is no table is refused at once.
"""

from __future__ import annotations

import codecs
import csv
import io
from typing import Final

from knobpack.errors import InputError
from knobpack.storage import strict_json
from knobpack.tables.columns import BY_HEADING, SNAPSHOT

DELIMITERS: Final = (",", ";", "\t")
"""What may stand between two cells. Where commas are in numbers, spreadsheets write semicolons."""


def rows_of(text: str | bytes) -> list[list[str]]:
    """The cells of a table, row by row.

    Args:
        text: at most 8 MB; as bytes UTF-8, or UTF-16 with a byte order mark. Which delimiter it has
            is seen from the headings. A first line such as ``sep=;`` is passed over.

    Raises:
        InputError: it is no text of a table.
    """
    wide = isinstance(text, bytes) and text.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    right = "save the table as UTF-8 (in spreadsheets: 'CSV UTF-8')"
    text = strict_json.decoded(text, right, "utf-16" if wide else "utf-8")
    if "\0" in text:
        raise InputError("text", "\0", "a table is text; save it as 'CSV UTF-8'")
    first, _, after = text.partition("\n")
    told = first.strip().strip('"')
    if told.casefold().startswith("sep=") and len(told) == 5:
        text = after
    return _parted(text, max(DELIMITERS, key=lambda mark: _headed(text, mark)))


def _headed(text: str, delimiter: str) -> int:
    """How many of the headings are known if this stands between them."""
    heads = next(iter(_parted(text.partition("\n")[0], delimiter, strict=False)), [])
    known = (head.strip().casefold().replace("_", " ") for head in heads)
    return sum(head in BY_HEADING or head.startswith(SNAPSHOT) for head in known)


def _parted(text: str, delimiter: str, strict: bool = True) -> list[list[str]]:
    rows: list[list[str]] = []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=strict)
    try:
        rows.extend(reader)
    except csv.Error as error:
        right = "a cell that begins with a quotation mark ends with one, and doubles those within"
        raise InputError(f"row {len(rows) + 1}", str(error), right) from None
    return rows
