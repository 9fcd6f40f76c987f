"""Panel picture: the knobs of a finished setup as they lie, drawn as SVG within the page.

Each knob is drawn with its travel as an arc, from a ring where it starts to a dot where it ends,
and below it stands what it drives, behind a sign what is turned round. The style of the page gives
the colours; what is drawn holds no style of its own, which the page would not let in.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape
from math import cos, pi, sin
from typing import NamedTuple

from knobpack.setups.as_read import OUT_OF_USE
from knobpack.setups.panel_rows import DrawnKnob, drawn_knobs
from knobpack.sheets.state import KnobState
from knobpack.text.columns import cells
from knobpack.words import Surface, Travel

MOST_LINES = 3
"""Lines below a knob, at most; the last of them says how many more it drives."""

_WIDE, _HIGH, _LINE, _MIDDLE, _RADIUS = 116, 148, 14, 56, 24
"""Pixels: a knob with what belongs to it, a line of text, and the circle from the top."""

TURNED = "\u21c5"
"""What stands before what is turned round."""

_LETTERS = 16
"""Columns of letters that a line of that width takes."""

_SAID = "The panel, knob by knob; the same stands below in words."

WAYS = "As the master goes from bottom to top, each knob goes from its ring to its dot."
"""What the arcs mean."""

_LEAST, _TURN = 0.75 * pi, 1.5 * pi
"""Radians: where a knob stands at its lowest position, clockwise from the right, and how far it
turns to its highest."""


class Anchor(NamedTuple):
    """Where a knob of the picture leads.

    Attributes:
        to: the name of the part of the page.
        said: what is read out.
        marks: what is drawn on the knob besides, as SVG.
    """

    to: str
    said: str
    marks: str


def panel_picture(
    surface: Surface, states: tuple[KnobState, ...], anchors: Mapping[str, Anchor] | None = None
) -> list[str]:
    """The panel as SVG, line by line; none where the surface has no knobs.

    Args:
        surface: the surface of the setup.
        states: what stands on its knobs.
        anchors: where each knob leads; None: nowhere, it is a picture and no more.
    """
    state = {each.knob: each for each in states}
    drawn = drawn_knobs(surface.knobs)
    if not drawn:
        return []
    wide = _WIDE * (1 + max(place.column for place in drawn))
    high = _HIGH * (1 + drawn[-1].row)
    size = f'width="{wide}" height="{high}"'
    anchors = anchors or {}
    role = "group" if anchors else "img"
    return [
        f'<svg role="{role}" aria-label="{_SAID}" {size} viewBox="0 0 {wide} {high}">',
        *(
            line
            for place in drawn
            for line in _knob(place, state[place.knob.name], surface.top, anchors)
        ),
        "</svg>",
    ]


def panel_figure(
    surface: Surface,
    states: tuple[KnobState, ...],
    anchors: Mapping[str, Anchor] | None = None,
    caption: str = WAYS,
) -> Iterator[str]:
    """The same as a figure that can be moved sideways, with keys as well, where it is too wide."""
    picture = panel_picture(surface, states, anchors)
    if picture:
        yield '<figure tabindex="0" role="group" aria-label="The panel">'
        yield from picture
        yield f"<figcaption>{caption}</figcaption></figure>" if caption else "</figure>"


def _knob(
    place: DrawnKnob, state: KnobState, top: int, anchors: Mapping[str, Anchor]
) -> Iterator[str]:
    """One knob. A drawing within the drawing cuts off what would run into the next one."""
    left, up = place.column * _WIDE, place.row * _HIGH
    anchor = anchors.get(state.knob)
    if anchor is not None:
        yield f'<a href="#{anchor.to}" aria-label="{escape(anchor.said)}">'
    yield f'<svg x="{left}" y="{up}" width="{_WIDE}" height="{_HIGH}" class="knob">'
    yield f'<rect x="2" y="2" width="{_WIDE - 4}" height="{_HIGH - 4}" rx="6"/>'
    yield f'<text x="{_WIDE // 2}" y="18" class="head">{_cut(state.knob, _LETTERS - 4)}</text>'
    yield f'<path d="{_arc(0.0, 1.0)}" class="turn"/>'
    if state.drives and state.goes is not None:
        yield from _travel(state.goes, top)
    for number, line in enumerate(_below(state)):
        y = _MIDDLE + _RADIUS + 20 + number * _LINE
        yield f'<text x="{_WIDE // 2}" y="{y}">{line}</text>'
    if anchor is not None:
        yield anchor.marks
    yield "</svg>" if anchor is None else "</svg></a>"


def _travel(travel: Travel, top: int) -> Iterator[str]:
    start, end = (min(at, top) / top for at in (travel.start, travel.end))
    if start != end:
        yield f'<path d="{_arc(start, end)}" class="travel"/>'
    (x, y), (to_x, to_y) = _point(start), _point(end)
    yield f'<circle cx="{x}" cy="{y}" r="4.5" class="start"/>'
    yield f'<circle cx="{to_x}" cy="{to_y}" r="3.5" class="end"/>'


def _arc(start: float, end: float) -> str:
    """The way of a knob from one share of its turn to another, as SVG 1.1 (8.3) writes a path."""
    (x, y), (to_x, to_y) = _point(start), _point(end)
    large, clockwise = int(abs(end - start) * _TURN > pi), int(end > start)
    return f"M {x} {y} A {_RADIUS} {_RADIUS} 0 {large} {clockwise} {to_x} {to_y}"


def _point(share: float) -> tuple[str, str]:
    angle = _LEAST + share * _TURN
    x, y = _WIDE / 2 + _RADIUS * cos(angle), _MIDDLE + _RADIUS * sin(angle)
    return f"{x:.1f}", f"{y:.1f}"


def _below(state: KnobState) -> list[str]:
    """What stands below a knob: its label, what it drives, as far as there is room."""
    if state.closed == OUT_OF_USE:
        return [OUT_OF_USE]
    label = [] if state.label is None else [f"'{_cut(state.label, _LETTERS - 2)}'"]
    room = MOST_LINES - len(label)
    ends = [
        f"{TURNED} {_end(name, _LETTERS - 2)}" if name in state.turned else _end(name, _LETTERS)
        for name, _ in state.drives
    ] or [state.closed or "-"]
    if len(ends) > room:
        ends = [*ends[: room - 1], f"and {len(ends) - room + 1} more"]
    return [*label, *ends]


def _end(name: str, letters: int) -> str:
    """What is driven: the destination as far as half a line goes, of its voice what is left."""
    voice, slash, inner = name.partition("/")
    if not slash:
        return _cut(name, letters)
    inner_room = max(letters // 2, letters - 1 - cells(voice))
    room = max(letters // 2, letters - 1 - min(cells(inner), inner_room))
    return f"{_cut(voice, room)}/{_cut(inner, inner_room)}"


def _cut(name: str, most: int) -> str:
    """A name of so many columns, at most, by itself: it must not turn what stands beside it."""
    if cells(name) > most:
        while cells(name) >= most:
            name = name[:-1]
        name += "…"
    return f"<tspan>{escape(name)}</tspan>"
