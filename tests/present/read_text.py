"""Reads the text of a layout back into facts, so that tests can compare them with the allocation.

It knows the text alone, written on a page so wide that no line is broken.
"""

from __future__ import annotations

import re

import attrs

from knobpack.allocation import Allocation
from knobpack.present.text import layout_text
from knobpack.text.columns import cells

WIDE = 100_000


@attrs.frozen
class Line:
    """One destination under its knob."""

    name: str
    layer: int
    kind: str
    priority: str
    notes: str

    @property
    def wanted(self) -> str:
        """The travel that the text says it wanted instead; empty: none."""
        found = re.search(r"(?:wanted|was to have) (.*)$", self.notes)
        return found[1] if found else ""


def read(allocation: Allocation) -> dict[str, list[str]]:
    """The sections of an allocation's text, written without a broken line."""
    return sections(layout_text(allocation, WIDE))


def sections(text: str) -> dict[str, list[str]]:
    """The lines under each heading; a heading is the capitals that a section starts with."""
    found = {}
    for block in text.rstrip("\n").split("\n\n"):
        heading, *lines = block.split("\n")
        title = re.match(r"[A-Z]+( [A-Z]+)*", heading)
        assert title, heading
        found[title[0]] = [heading[title.end() :].strip(), *lines]
    return found


def split(line: str) -> list[str]:
    """The cells of a line: what two spaces or more part. No name in these tests holds two."""
    return re.split(r" {2,}", line.strip())


def number(text: str) -> int:
    """A whole number as it is written; ``-`` is none."""
    return 0 if text == "-" else int(text.replace(",", ""))


def knobs(lines: list[str]) -> dict[str, tuple[list[str], list[Line]]]:
    """For each knob what is said of it and the lines of its destinations."""
    found: dict[str, tuple[list[str], list[Line]]] = {}
    for line in lines[1:]:
        cells = split(line)
        if not line.startswith(" " * 6):
            marks: list[str] = cells[1].split("; ")
            under: list[Line] = []
            found[cells[0]] = (marks, under)
            continue
        name, layer, kind, priority, notes = (*cells, "")[:5]
        assert layer.startswith("layer ")
        under.append(Line(name, int(layer[6:]), kind, priority, notes))
    return found


def table(lines: list[str]) -> list[dict[str, str]]:
    """The rows of a table of which no cell is empty, under the words of its first line."""
    heads = split(lines[0])
    return [dict(zip(heads, split(line), strict=True)) for line in lines[1:]]


def widest(text: str) -> int:
    """The cells that the widest line takes."""
    return max(map(cells, text.split("\n")))
