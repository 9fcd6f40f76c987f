"""The routing: from the master through the knobs to the destinations."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, TypeAlias

from knobpack.grouped import grouped
from knobpack.pictures.canvas import GREY, Canvas, canvas
from knobpack.pictures.surface import signs_of, signs_told
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LINE, _GAP, _EDGE = 0.22, 0.1, 0.15
_MASTER, _RAIL, _KNOB, _KNOB_WIDE, _NAME, _WIDTH = 0.15, 1.3, 1.8, 2.7, 5.6, 9.3
"""Inches from the left: the master, the rail from it to the knobs, the knobs and their width, the
destinations, the end."""


_Row: TypeAlias = tuple[str | None, str | None]
"""A line of the picture: a destination on a knob, a knob without any, or one unreached."""


def draw_routes(setup: Setup, *, ax: Axes | None = None) -> Axes:
    """Draw what reaches what: the master on the left, then the knobs, then the destinations.

    A whole line leads from the master to a knob that it moves in some snapshot, a broken line to
    one that it moves in none; a dotted line means that the knob follows and goes nowhere. What no
    knob reaches stands at the end. Signs, explained below, tell what is turned round, or higher or
    less far than wanted.

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
        >>> from knobpack.pictures import draw_routes
        >>> axes = draw_routes(allocation.setup("Evening set"))
        >>> [text.get_text() for text in axes.texts][:2]
        ['Evening set', 'K1']
    """
    reading = read(setup, "draw_routes.setup")
    rows = tuple(_rows(reading))
    marks = signs_of(setup)
    legend = signs_told(marks)
    height = (len(rows) + len(legend) + 2.5) * _LINE + 2 * _GAP
    drawn = canvas(ax, _WIDTH, height)
    heights = [height - _GAP - (at + 2.5) * _LINE for at in range(len(rows))]
    head = height - _GAP - _LINE / 2
    drawn.head(_MASTER, head, setup.name, room=_WIDTH / 2)
    middle = sum(heights) / len(heights) if heights else height / 2
    drawn_at = zip(rows, heights, strict=True)
    standing = grouped((knob, y) for (knob, _), y in drawn_at if knob is not None)
    for knob, its in standing.items():
        _knob(drawn, reading, knob, its)
    _master(
        drawn, middle, [sum(its) / len(its) for k, its in standing.items() if reading.carries[k]]
    )
    for (on, name), y in zip(rows, heights, strict=True):
        if name is not None:
            _destination(drawn, reading, on, name, y, marks.get(name, ""))
    for at, told in enumerate(reversed(legend)):
        drawn.text(_NAME, _GAP + (at + 0.5) * _LINE, told, room=_WIDTH - _NAME - _EDGE, size=7)
    return drawn.axes


def _rows(reading: Reading) -> Iterator[_Row]:
    """Knob by knob, so that no line crosses another; then the knobs that drive nothing."""
    yield from ((knob, name) for knob, names in reading.carries.items() for name in names)
    yield from ((knob, None) for knob, names in reading.carries.items() if not names)
    yield from ((None, name) for name, knobs in reading.knobs_of.items() if not knobs)


def _master(drawn: Canvas, y: float, driving: list[float]) -> None:
    if driving:
        drawn.line((_MASTER + 0.8, _RAIL), (y, y), linewidth=2)
        drawn.line((_RAIL, _RAIL), (min(*driving, y), max(*driving, y)), linewidth=2)

    drawn.box(_MASTER, y - _LINE, 0.8, 2 * _LINE, facecolor="black")
    drawn.text(_MASTER + 0.4, y, "master", room=0.75, size=9, color="white", ha="center", zorder=3)


def _knob(drawn: Canvas, reading: Reading, knob: str, rows: list[float]) -> None:
    y = sum(rows) / len(rows)
    carried = reading.carries[knob]
    if carried:
        follows = any(knob in play.follows for play in reading.plays)
        works = any(knob in play.works for play in reading.plays)
        dash = "-" if works else ":" if follows else "--"
        drawn.line((_RAIL, _KNOB), (y, y), linestyle=dash, color="black" if works else GREY)
        for row in rows:
            start = _KNOB + _KNOB_WIDE
            drawn.line((start, _NAME - 0.5, _NAME - 0.05), (y, row, row), zorder=1)
    edge = {"facecolor": "white", "edgecolor": "black" if carried else GREY}
    drawn.box(_KNOB, y - _LINE * 0.42, _KNOB_WIDE, _LINE * 0.84, zorder=2, **edge)
    told = reading.travel_told(knob)
    drawn.text(_KNOB + 0.06, y, knob, room=0.9, fontweight="bold", zorder=3)
    told = told if carried else "drives nothing"
    drawn.text(_KNOB + 1.0, y, told, room=_KNOB_WIDE - 1.05, size=7, color=GREY, zorder=3)


def _destination(
    drawn: Canvas, reading: Reading, knob: str | None, name: str, y: float, sign: str
) -> None:
    voice, _, inner = name.partition("/")
    at = next(n for n, each in enumerate(reading.setup.voices) if each.name == voice)
    layer = reading.setup.voices[at].layer
    drawn.voice(_NAME, y, at)
    colour = "black" if knob else GREY
    drawn.text(_NAME + 0.2, y, name, room=2.2, color=colour)
    drawn.text(_NAME + 2.4, y, sign, room=0.2)
    if knob is None:
        drawn.text(_KNOB + 1.0, y, "on no knob", room=_KNOB_WIDE - 1.05, size=7, color=GREY)
    kind = reading.destinations[name].kind
    told = [kind] if kind != inner else []
    told += [] if layer is None else [f"layer {layer}"]
    x = _NAME + 2.65
    drawn.text(x, y, ", ".join(told), room=_WIDTH - x - _EDGE, size=7, color=GREY)
