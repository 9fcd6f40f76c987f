"""The surface: every knob in its place, what it drives, and when the master moves it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from knobpack.definition.phrases import many
from knobpack.pictures.canvas import GREY, PALE, Canvas, canvas, fitted, length
from knobpack.setups.as_read import OUT_OF_USE, Reading, read
from knobpack.setups.missed_travels import missed_between
from knobpack.setups.panel_rows import drawn_knobs
from knobpack.sheets.panel_picture import TURNED
from knobpack.words import Knob, Setup
from knobpack.words.names import listed, voice_part

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_LISTED = 8
"""Destinations that a knob lists, at most; of the others it says how many there are."""

_WIDE, _LINE, _GAP, _EDGE = 1.85, 0.2, 0.12, 0.1
"""Inches: the width of a knob, the height of a line, between knobs, and inside their edge."""

_LABEL = 1.1
"""Inches that the label of a knob may take."""


_AMISS = "!"
SIGNS = {
    TURNED: "turned round",
    _AMISS: "higher than it wants, standing still, or a level that is cut",
}


def draw_surface(setup: Setup, *, ax: Axes | None = None) -> Axes:
    """Draw the panel: each knob with its travel, what it drives, and when the master moves it.

    Beside the name of a knob stands its label. A bar beside each destination shows its voice, a
    sign behind it that it is turned round, as its knob goes the other way than it wants, or that it
    goes higher than it wants, stands still, or is a level that is cut. The numbers at the foot of a
    knob are those of the snapshots in which it follows the master; below the panel stand their
    names, and which voices are silent there.

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
        >>> from knobpack.pictures import draw_surface
        >>> axes = draw_surface(allocation.setup("Evening set"))
        >>> [text.get_text() for text in axes.texts][:2]
        ['K1', '0 to 127 (full)']
    """
    reading = read(setup, "draw_surface.setup")
    drawn_at = drawn_knobs(setup.surface.knobs)
    columns = max((place.column for place in drawn_at), default=0) + 1
    rows = max((place.row for place in drawn_at), default=0) + 1
    lines = min(max(map(len, reading.carries.values()), default=0), MOST_LISTED + 1)
    high = 2 * _EDGE + _LINE * (lines + 3)
    marks = signs_of(setup)
    notes = [setup.name, *_snapshots(reading), *signs_told(marks)]
    width = columns * (_WIDE + _GAP) + _GAP
    foot = _LINE * len(notes) + 2 * _GAP
    drawn = canvas(ax, width, foot + rows * (high + _GAP))
    for place in drawn_at:
        left = _GAP + place.column * (_WIDE + _GAP)
        top = foot + (rows - place.row) * (high + _GAP) - _GAP
        _knob(drawn, reading, marks, place.knob, (left, top, high))
    for at, note in enumerate(notes):
        y = foot - 2 * _GAP - at * _LINE
        weight = "normal" if at else "bold"
        drawn.text(_GAP, y, note, room=width - 2 * _GAP, fontweight=weight)
    return drawn.axes


def signs_of(setup: Setup) -> dict[str, str]:
    """One of :data:`SIGNS` for each destination of which a travel must be known: full names."""
    reading = read(setup)
    dead = {route.destination: _AMISS for route in reading.routes if reading.led(route).empty}
    told = (each for each in missed_between(None, setup) if each.told_first)
    return dead | {each.destination: TURNED if each.reversed else _AMISS for each in told}


def signs_told(marks: Mapping[str, str]) -> list[str]:
    """What the signs mean that are there, a line for each."""
    return [f"{sign}  {what}" for sign, what in SIGNS.items() if sign in marks.values()]


def _snapshots(reading: Reading) -> Iterator[str]:
    for number, play in enumerate(reading.plays, start=1):
        silent = play.snapshot.silent
        told = f"; {listed(silent)} {'is' if len(silent) == 1 else 'are'} silent" if silent else ""
        moves = f"{many(len(play.follows), 'knob')} with the master"
        yield f"{number}  {play.snapshot.name}: {moves}{told}"


def _knob(
    drawn: Canvas,
    reading: Reading,
    marks: Mapping[str, str],
    knob: Knob,
    place: tuple[float, float, float],
) -> None:
    left, top, high = place
    carried = reading.carries[knob.name]
    edge = "black" if carried else GREY
    drawn.box(left, top - high, _WIDE, high, facecolor="white", edgecolor=edge, linewidth=1)
    band = _EDGE + _LINE
    drawn.box(left, top - band, _WIDE, band, facecolor=PALE, edgecolor=edge)
    x, room = left + _EDGE, _WIDE - 2 * _EDGE
    y = top - _EDGE - _LINE / 2 + 0.02
    label = {each.knob: each.label for each in reading.setup.labels}.get(knob.name, "")
    label = fitted(label, _LABEL, 8)
    beside = length(label, 8) + _EDGE if label else 0.0
    drawn.head(x, y, knob.name, room=room - beside)
    if label:
        drawn.text(x + room, y, label, room=_LABEL, ha="right")
    y -= _LINE + _EDGE / 2
    closed = reading.closed(knob.name)
    told = closed or "drives nothing"
    if carried and closed != OUT_OF_USE:
        told = reading.travel_told(knob.name)
    drawn.text(x, y, told, room=room, size=7, color=GREY)
    voices = {name: at for at, name in enumerate(v.name for v in reading.setup.voices)}
    for name in carried[:MOST_LISTED]:
        y -= _LINE
        drawn.voice(x, y, voices[voice_part(name)])
        sign = marks.get(name, "")
        marked = length(sign, 8) + 0.04 if sign else 0.0
        drawn.text(x + 0.18, y, name, room=room - 0.18 - marked)
        if sign:
            drawn.text(x + room, y, sign, room=marked, ha="right")
    if len(carried) > MOST_LISTED:
        drawn.text(x, y - _LINE, f"and {len(carried) - MOST_LISTED} more", room=room, color=GREY)
    numbers = [
        str(number)
        for number, play in enumerate(reading.plays, start=1)
        if knob.name in play.follows
    ]
    if carried:
        told = f"master in {' '.join(numbers)}" if numbers else "held in every snapshot"
        drawn.text(x, top - high + _EDGE + 0.02, told, room=room, size=7, color=GREY)
