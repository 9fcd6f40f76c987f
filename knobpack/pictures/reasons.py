"""The graph of reasons: an answer, what else there could be, and what speaks against that."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.errors import InputError
from knobpack.explanation.reason_boxes import Box, reason_boxes, tops
from knobpack.pictures.canvas import PALE, canvas, in_lines
from knobpack.reasons.answer_graph import Reasoned

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDE, _BETWEEN, _LINE, _GAP, _EDGE = 2.3, 0.55, 0.17, 0.14, 0.1
"""Inches: a box, between columns, a line, between boxes, and around the text in a box."""

_SIZE = 8
"""Points of the letters."""

MOST_LINES, MOST_OF_ANSWER = 5, 12
"""Lines of a box, and of that of the answer, at most; what does not fit is cut."""


def draw_reasons(answer: Reasoned, *, ax: Axes | None = None) -> Axes:
    """Draw what an answer rests on, from left to right.

    At the left stands the answer, in the middle what else there could be, at the right what speaks
    against that: what it would cost, or in a dashed box what forbids it. What is forbidden for the
    same cause is one box.

    Args:
        answer: what a question about an allocation was answered by.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``answer`` is no answer, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_reasons
        >>> axes = draw_reasons(allocation.why("Round bass/drive"))
        >>> [text.get_text() for text in axes.texts][1]
        'on K1'
    """
    if not isinstance(answer, Reasoned):
        raise InputError("draw_reasons.answer", answer, "give the answer: draw_reasons(answer)")
    drawing = reason_boxes(answer.graph)
    room = _WIDE - 2 * _EDGE
    texts = [
        in_lines(box.text, room, _SIZE, MOST_LINES if box.column else MOST_OF_ANSWER)
        for box in drawing.boxes
    ]
    heights = [len(lines) * _LINE + 2 * _EDGE for lines in texts]
    top, high = tops(drawing, heights, _GAP)
    columns = 1 + max(box.column for box in drawing.boxes)
    width = columns * _WIDE + (columns - 1) * _BETWEEN + 2 * _GAP
    drawn = canvas(ax, width, high + 2 * _GAP)

    def left(box: Box) -> float:
        return _GAP + box.column * (_WIDE + _BETWEEN)

    def middle(at: int) -> float:
        return high + _GAP - top[at] - heights[at] / 2

    for one, other in drawing.lines:
        start, end = left(drawing.boxes[one]) + _WIDE, left(drawing.boxes[other])
        drawn.line((start, end), (middle(one), middle(other)), linewidth=0.9)
    for at, (box, lines) in enumerate(zip(drawing.boxes, texts, strict=True)):
        x, y = left(box), high + _GAP - top[at]
        if not box.text:
            drawn.line((x, x + _WIDE), (middle(at), middle(at)), linewidth=0.9)
            continue
        look = {"facecolor": "white" if box.column else PALE, "edgecolor": "black"}
        dash = "--" if box.closed else "-"
        drawn.box(x, y - heights[at], _WIDE, heights[at], linestyle=dash, zorder=2, **look)
        for number, line in enumerate(lines):
            drawn.text(x + _EDGE, y - _EDGE - (number + 0.5) * _LINE, line, room=room, size=_SIZE)
    return drawn.axes
