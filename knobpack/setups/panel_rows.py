"""Panel rows: where the knobs of a surface are drawn, in whatever picture of it."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.words import Knob

MOST_ABREAST = 8
"""Knobs side by side, at most: a longer row of the panel goes on below."""


@attrs.frozen
class DrawnKnob:
    """Where a knob is drawn.

    Args:
        knob: the knob.
        row: its row in the picture, from the top, counted from 0.
        column: its column in the picture, from the left, counted from 0.
    """

    knob: Knob
    row: int
    column: int


def drawn_knobs(knobs: Iterable[Knob]) -> tuple[DrawnKnob, ...]:
    """Where knobs are drawn: as on the panel, but that a long row goes on below.

    Args:
        knobs: the knobs of a surface, in panel order.
    """
    found = []
    line = -1
    before: tuple[int, int] | None = None
    for knob in knobs:
        part, column = divmod(knob.column - 1, MOST_ABREAST)
        if (knob.row, part) != before:
            line, before = line + 1, (knob.row, part)
        found.append(DrawnKnob(knob, line, column))
    return tuple(found)
