"""The snapshots: which knobs follow the master in each."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from knobpack.pictures.canvas import GREY, PALE, Canvas, canvas, length, room_for
from knobpack.setups.as_read import read
from knobpack.words import Setup

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_CELL, _GAP, _LONGEST = 0.3, 0.12, 2.6
"""Inches: a cell, between parts, and the longest name that is written out."""

MOVES, STILL, HELD, NONE = "moves", "follows, and moves nothing", "is held", "drives nothing"


_KEY = {HELD: "is held, as high as it stands (grey: not known where)"}
"""What stands at the foot for a state that is told in more words there."""


def draw_snapshots(setup: Setup, *, ax: Axes | None = None) -> Axes:
    """Draw a table of knobs and snapshots: what follows the master, and what is held.

    A full cell: the knob follows and moves something. A ring: it follows and moves nothing. A dash:
    it is held; a black one lies as high in its cell as the knob stands, a grey one in the middle,
    as it is not known where. An empty cell: it drives nothing.

    Args:
        setup: any setup; of an allocation, ``allocation.setup("name")``.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``setup`` is no Setup, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_snapshots
        >>> axes = draw_snapshots(allocation.setup("Evening set"))
        >>> [text.get_text() for text in axes.texts][:2]
        ['Evening set', 'K1']
    """
    reading = read(setup, "draw_snapshots.setup")
    knobs, plays = tuple(reading.carries), reading.plays
    left = room_for((play.snapshot.name for play in plays), 8, _LONGEST) + 2 * _GAP
    head = room_for(knobs, 8, _LONGEST) + _GAP
    key = {state: _KEY.get(state, state) for state in (MOVES, HELD, STILL, NONE)}
    foot_wide = sum(1.5 * _CELL + length(told, 7) + _GAP for told in key.values()) + _GAP
    width = max(left + len(knobs) * _CELL + _GAP, foot_wide)
    foot = 2 * _CELL
    height = head + len(plays) * _CELL + foot + 2 * _CELL
    drawn = canvas(ax, width, height)
    drawn.head(_GAP, height - _CELL / 2, setup.name, room=width - 2 * _GAP)
    top = height - _CELL - head
    for at, knob in enumerate(knobs):
        x = left + (at + 0.5) * _CELL
        upright: dict[str, Any] = {"rotation": 90, "va": "bottom", "ha": "center"}
        colour = "black" if reading.carries[knob] else GREY
        drawn.text(x, top + _GAP / 2, knob, room=head, color=colour, **upright)
    for row, play in enumerate(plays):
        y = top - (row + 0.5) * _CELL
        drawn.text(left - _GAP, y, play.snapshot.name, room=left - 2 * _GAP, ha="right")
        stands = reading.stands(play)
        for at, knob in enumerate(knobs):
            state = HELD if reading.carries[knob] else NONE
            if state == NONE and knob in play.snapshot.idle:
                state = STILL
            elif knob in play.follows:
                state = MOVES if knob in play.works else STILL
            lies = stands[knob] / setup.surface.top if knob in stands else None
            _cell(drawn, left + at * _CELL, y - _CELL / 2, state, lies)
    x = _GAP
    for state, told in key.items():
        _cell(drawn, x, _CELL / 2, state)
        drawn.text(x + 1.2 * _CELL, _CELL, told, room=3.0, size=7)
        x += 1.5 * _CELL + length(told, 7) + _GAP
    return drawn.axes


def _cell(drawn: Canvas, left: float, low: float, state: str, height: float | None = None) -> None:
    from matplotlib.patches import Circle

    drawn.box(left, low, _CELL, _CELL, facecolor="white", edgecolor=PALE, linewidth=0.8)
    x, y = left + _CELL / 2, low + _CELL / 2
    if state == MOVES:
        inner = _CELL * 0.7
        drawn.box(x - inner / 2, y - inner / 2, inner, inner, facecolor="black")
    elif state == STILL:
        drawn.patch(Circle((x, y), _CELL * 0.27, fill=False, edgecolor="black", linewidth=1.2))
    elif state == HELD:
        colour = GREY if height is None else "black"
        y += 0.0 if height is None else _CELL * 0.7 * (height - 0.5)
        drawn.line((x - _CELL * 0.22, x + _CELL * 0.22), (y, y), linewidth=1.5, color=colour)
