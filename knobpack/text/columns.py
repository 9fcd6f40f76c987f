"""Columns: plain text in aligned columns that never runs wider than a page.

Names may be in any script and up to 120 characters long. What does not fit into its column goes on
in the next line; nothing is cut off.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Sequence

PAGE = 100
"""Columns of a terminal that a line may take, at most."""

GAP = 2
"""Spaces between two columns."""

RECORDS_BELOW = 60
"""Columns of a page below which the cells of a row are told one after the other."""


def cells(text: str) -> int:
    """How many columns of a terminal a text takes.

    Wide characters take two (Unicode Standard Annex 11: East Asian Width W and F), marks that
    combine with the letter before them take none.
    """
    return sum(map(_cells_of, text))


def wrapped(text: str, most: int) -> list[str]:
    """A text in lines of at most ``most`` cells, broken at spaces or, if it must be, in a word.

    Args:
        text: without line breaks.
        most: 2 or more, as one wide character takes two.
    """
    lines = [""]
    # A number and its per cent sign stay together.
    for word in re.findall(r" +|[^ ]*\d %[^ ]*|[^ ]+", text):
        if cells(lines[-1] + word) <= most:
            lines[-1] += word
        elif word[0] == " ":
            lines.append("")
        else:
            first, *others = _broken(word, most)
            if lines[-1]:
                lines.append(first)
            else:
                lines[-1] = first
            lines += others
    return [line.rstrip(" ") for line in lines if line.strip(" ")] or [""]


def paragraph(text: str, indent: int = 0, hang: int = 0, page: int = PAGE) -> list[str]:
    """A text over the whole page, set in by ``indent`` spaces, from line two by ``hang`` more.

    ``page`` is how many columns a line may take, at most.
    """
    lines = wrapped(text, page - indent - hang)
    return [" " * (indent + hang * bool(number)) + line for number, line in enumerate(lines)]


def sentence(text: str) -> str:
    """A text as a sentence begins: with ``Knob 6``, where a knob whose name is a number is first.

    All other names stay as they are.
    """
    return re.sub(r"^( *)k(?=nobs? \d)", r"\1K", text)


def bulleted(items: Iterable[object], indent: int = 2, page: int = PAGE) -> list[str]:
    """Texts as the items of a list."""
    return [line for each in items for line in paragraph(f"- {each}", indent, 2, page)]


def headed(heading: str, sentences: Iterable[str], page: int = PAGE) -> list[str]:
    """Sentences below a heading; what belongs to the sentence before it is set in further."""
    lines = paragraph(heading, 0, 2, page)
    for each in sentences:
        text = each.lstrip(" ")
        lines += paragraph(sentence(text), 2 + len(each) - len(text), 2, page)
    return lines


def text_of(sections: Iterable[Sequence[str]]) -> str:
    """Lines in sections, those that are empty left off, one line free between them."""
    return "\n\n".join("\n".join(lines) for lines in sections if lines) + "\n"


def table(
    rows: Sequence[Sequence[str]],
    *,
    head: Sequence[str] = (),
    indent: int = 2,
    right: Collection[int] = (),
    page: int = PAGE,
) -> list[list[str]]:
    """Rows in aligned columns; on a narrow page each row as a record, one below the other.

    Args:
        rows: the cells of each row; all rows have as many.
        head: what the columns are called; empty: nothing stands above them.
        indent: spaces before the first column.
        right: the columns, counted from 0, that are aligned to the right.
        page: columns of a terminal that a line may take, at most.

    Returns:
        For the heading, if there is one, and for each row its lines: one, or more where a cell
        does not fit. Records have no heading: it stands in each of them.
    """
    if page < RECORDS_BELOW:
        return [[]] * bool(head) + [_record(row, head, indent, page) for row in rows]
    whole = [*([head] if head else []), *rows]
    if not whole:
        return []
    widths = _widths(whole, page - indent)
    used = [column for column, width in enumerate(widths) if width]
    found = []
    for row in whole:
        parts = [wrapped(row[column], widths[column]) for column in used]
        lines = []
        for level in range(max(map(len, parts), default=0)):
            line = " " * indent
            for column, part in zip(used, parts, strict=True):
                cell = part[level] if level < len(part) else ""
                space = " " * (widths[column] - cells(cell))
                line += (space + cell if column in right else cell + space) + " " * GAP
            lines.append(line.rstrip(" "))
        found.append(lines)
    return found


def listing(
    rows: Sequence[Sequence[str]],
    *,
    title: str = "",
    head: Sequence[str] = (),
    indent: int = 2,
    right: Collection[int] = (),
    page: int = PAGE,
) -> list[str]:
    """The lines of a :func:`table` in one list, below a title; none where there are no rows."""
    if not rows:
        return []
    blocks = table(rows, head=head, indent=indent, right=right, page=page)
    above = paragraph(title, 0, 2, page) if title else []
    return [*above, *(line for lines in blocks for line in lines)]


def _record(row: Sequence[str], head: Sequence[str], indent: int, page: int) -> list[str]:
    first, *others = row
    names = head[1:] or [""] * len(others)
    told = [f"{name} {cell}".strip() for name, cell in zip(names, others, strict=True) if cell]
    rest = "; ".join(told)
    whole = f"{first}  {rest}".strip()
    if first and (not rest or cells(whole) <= page - indent - 2):
        return paragraph(whole, indent, 2, page)
    # Without a first cell it goes on with that of the row before.
    above = paragraph(first, indent, 2, page) if first else []
    return [*above, *paragraph(rest, indent + 4, 0, page)]


def _widths(rows: Sequence[Sequence[str]], room: int) -> list[int]:
    """How wide each column is: as its widest cell, or less where that is too much in all."""
    # A cell that holds marks alone takes no room by itself, but its column must not be left out.
    widths = [max(cells(row[at]) or bool(row[at]) for row in rows) for at in range(len(rows[0]))]
    room -= GAP * (sum(1 for width in widths if width) - 1)
    while sum(widths) > room:
        widths[widths.index(max(widths))] -= 1
    return widths


def _broken(word: str, most: int) -> Iterator[str]:
    """A word in pieces of at most ``most`` cells; a letter keeps its marks."""
    piece, taken = "", 0
    for mark in word:
        if taken + _cells_of(mark) > most:
            yield piece
            piece, taken = "", 0
        piece += mark
        taken += _cells_of(mark)
    yield piece


def _cells_of(mark: str) -> int:
    if unicodedata.category(mark) in {"Mn", "Me"}:
        return 0
    return 2 if unicodedata.east_asian_width(mark) in {"W", "F"} else 1
