"""Reason picture: the graph of reasons of an answer, drawn as SVG within the page."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from knobpack.explanation.reason_boxes import Boxes, tops
from knobpack.text.columns import wrapped

_WIDE, _BETWEEN, _LINE, _GAP, _EDGE = 224, 40, 16, 10, 8
"""Pixels: a box, between columns, a line, between boxes, and around the text in a box."""

_LETTERS = 32
"""Columns of letters that a line of a box takes."""

MOST_LINES = 5
"""Lines of a box, at most; what does not fit is cut."""


def reason_picture(boxes: Boxes) -> Iterator[str]:
    """What an answer rests on as SVG, line by line; what it says stands beside it in words.

    Args:
        boxes: what is to be drawn.
    """
    texts = [_lines(box.text) for box in boxes.boxes]
    heights = [len(lines) * _LINE + 2 * _EDGE for lines in texts]
    top, high = tops(boxes, heights, _GAP)
    columns = 1 + max(box.column for box in boxes.boxes)
    wide = columns * _WIDE + (columns - 1) * _BETWEEN + 2
    size = f'width="{wide}" height="{high + 2:.0f}" viewBox="0 0 {wide} {high + 2:.0f}"'
    yield f'<svg class="reasons" role="img" aria-label="What it rests on, drawn" {size}>'
    for one, other in boxes.lines:
        left = boxes.boxes[one].column * (_WIDE + _BETWEEN) + _WIDE + 1
        right = boxes.boxes[other].column * (_WIDE + _BETWEEN) + 1
        y, to = (top[at] + heights[at] / 2 + 1 for at in (one, other))
        yield f'<path d="M {left} {y:.1f} L {right} {to:.1f}"/>'
    for box, lines, height, y in zip(boxes.boxes, texts, heights, top, strict=True):
        x = box.column * (_WIDE + _BETWEEN) + 1
        if not box.text:
            yield f'<path d="M {x} {y + height / 2 + 1:.1f} h {_WIDE}"/>'
            continue
        look = "shut" if box.closed else "open" if box.column else "first"
        yield f'<rect class="{look}" x="{x}" y="{y + 1:.1f}" width="{_WIDE}" height="{height}"/>'
        for number, line in enumerate(lines):
            down = y + 1 + _EDGE + number * _LINE + 12
            yield f'<text x="{x + _EDGE}" y="{down:.1f}">{escape(line)}</text>'
    yield "</svg>"


def _lines(text: str) -> list[str]:
    lines = wrapped(text, _LETTERS)
    if len(lines) > MOST_LINES:
        lines = [*lines[: MOST_LINES - 1], f"{lines[MOST_LINES - 1][: _LETTERS - 2]} …"]
    return lines
