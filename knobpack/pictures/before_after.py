"""Before and after: where every destination was, and where it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.definition.phrases import many, travel_text
from knobpack.pictures.canvas import GREY, PALE, Canvas, canvas
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup
from knobpack.words.names import listed, voice_part

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LINE, _GAP = 0.22, 0.12
_NAME, _BEFORE, _ARROW, _AFTER, _WIDTH = 0.35, 3.1, 5.75, 6.1, 8.9
"""Inches from the left: the destination, its knobs before, the arrow, its knobs after, the end."""


def draw_before_after(before: Setup, after: Setup, *, ax: Axes | None = None) -> Axes:
    """Draw a line for each destination: its knob, travel and layer before, and after.

    What changes is written bold, with an arrow; what stays is grey.

    Args:
        before: a setup.
        after: another, such as what ``combine`` made of it.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``before`` or ``after`` is no Setup, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_before_after
        >>> axes = draw_before_after(allocation.setup("Evening set"), allocation.setup("Night set"))
        >>> [text.get_text() for text in axes.texts][:2]
        ['0 changes', 'Evening set']
    """
    was, now = read(before, "draw_before_after.before"), read(after, "draw_before_after.after")
    names = tuple(dict.fromkeys((*now.destinations, *was.destinations)))
    voices = {name: at for at, name in enumerate(dict.fromkeys(map(voice_part, names)))}
    height = (len(names) + 2.5) * _LINE + 2 * _GAP
    drawn = canvas(ax, _WIDTH, height)
    pairs = {name: (_told(was, name), _told(now, name)) for name in names}
    changed = sum(old != new for old, new in pairs.values())
    y = height - _GAP - _LINE / 2
    # What is combined goes by the name of its base.
    same = before.name == after.name
    old_name, new_name = f"Before: {before.name}" if same else before.name, after.name
    for x, told in ((_NAME, many(changed, "change")), (_BEFORE, old_name), (_AFTER, new_name)):
        drawn.head(x, y, told, room=2.5)
    drawn.line((_GAP, _WIDTH - _GAP), (y - _LINE, y - _LINE), color=PALE)
    for at, (name, (old, new)) in enumerate(pairs.items()):
        y = height - _GAP - (at + 2.5) * _LINE
        _row(drawn, name, old, new, y, voices[voice_part(name)])
    return drawn.axes


def _row(drawn: Canvas, name: str, old: str, new: str, y: float, voice: int) -> None:
    drawn.voice(_GAP, y, voice)
    differs = old != new
    colour, weight = ("black", "bold") if differs else (GREY, "normal")
    drawn.text(_NAME, y, name, room=_BEFORE - _NAME - 0.1, color=colour)
    drawn.text(_BEFORE, y, old, room=_ARROW - _BEFORE - 0.1, color=colour)
    if differs:
        drawn.text(_ARROW, y, "→", room=0.3)
    drawn.text(_AFTER, y, new, room=_WIDTH - _AFTER - _GAP, color=colour, fontweight=weight)


def _told(reading: Reading, name: str) -> str:
    """Where a destination is in a setup."""
    if name not in reading.destinations:
        return "not there"
    voice = voice_part(name)
    layer = next(v.layer for v in reading.setup.voices if v.name == voice)
    where = "" if layer is None else f", layer {layer}"
    knobs = reading.knobs_of[name]
    if not knobs:
        return f"on no knob{where}"
    top = reading.setup.surface.top
    first = next(each for each in reading.routes if each.destination == name)
    return f"{listed(knobs)}, {travel_text(reading.over(first), top)}{where}"
