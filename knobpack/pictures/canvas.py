"""Canvas: what pictures are drawn on, one unit of it an inch, and looks that tell voices apart.

A picture that is given Axes of another size is scaled as a whole, its letters too, so that what did
not collide at one size collides at none. The colours are those of M. Okabe and K. Ito, "Color
Universal Design" (2008, from memory), chosen so that colour-blind people can tell them apart, and
three more, so that as many voices as are usual all differ in colour and in hatching.
Neighbours in this order differ in lightness, and each has a hatching of its own, so that nothing
depends on colour; names stand beside everything.
"""

from __future__ import annotations

import warnings
from bisect import bisect_right
from collections.abc import Iterable
from functools import cache
from typing import TYPE_CHECKING, Any, Final, Literal

import attrs

from knobpack.errors import InputError, MissingExtra

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.patches import Patch


@attrs.frozen
class Look:
    """How something is filled.

    Args:
        colour: as ``#rrggbb``.
        hatch: a hatching of matplotlib.
    """

    colour: str
    hatch: str


COLOURS: Final = (
    *("#0072b2", "#f0e442", "#d55e00", "#56b4e9", "#009e73", "#e69f00", "#cc79a7"),
    *("#d9d9d9", "#8b5a2b", "#ffc9b5"),
)
"""Blue, yellow, vermilion, sky blue, bluish green, orange, reddish purple; light grey, brown and
a pale red."""

HATCHES: Final = ("", "////", "....", "\\\\\\\\", "xxxx", "----", "||||", "oo", "++")
"""As many as have nothing in common with the number of colours: all pairs come up in turn."""

LINES: Final = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)), (0, (1, 3)), (0, (8, 3)))
"""Ways of dashing a line."""

MARKS: Final = ("o", "s", "^", "v", "D", "P", "X", "<", ">")
"""Marks on a line."""

GREY: Final = "#6b6b6b"
PALE: Final = "#e6e6e6"


def look_of(number: int) -> Look:
    """The look of the voice with a number from 0 on."""
    return Look(COLOURS[number % len(COLOURS)], HATCHES[number % len(HATCHES)])


_MORE = "…"

_LEAST = 3
"""Letters of a voice that are left where it is cut before its destination, at least."""
_POINTS = 72
"""Points in an inch."""

_ROUNDED = 1.1
"""Letters on a screen are rounded to whole dots, which makes a line longer by so much at most."""


_TALLEST = 600
"""Inches that a picture is high at most, so that it can still be written to a file."""


@attrs.frozen
class Canvas:
    """Axes without frame on which one unit is the same length in both directions.

    Args:
        axes: what is drawn on.
        scale: inches on paper for each unit.
    """

    axes: Axes
    scale: float

    def text(
        self, x: float, y: float, text: str, *, room: float, size: float = 8, **look: Any
    ) -> None:
        """Write a line, cut short where it would be longer than ``room`` units.

        Args:
            x: where it is aligned to, in units.
            y: the middle of the line, in units, upward.
            text: plain text: a dollar sign is one.
            room: how long it may be, in units.
            size: points at a scale of 1.
            look: anything else that ``matplotlib.axes.Axes.text`` takes.
        """
        bold = look.get("fontweight") == "bold"
        shown = fitted(text, room, size, bold=bold)
        look = {"va": "center", "color": "black", **look}
        self.axes.text(x, y, shown, fontsize=size * self.scale, parse_math=False, **look)

    def head(self, x: float, y: float, text: str, *, room: float) -> None:
        """Write a heading, cut short like any line."""
        self.text(x, y, text, room=room, size=9, fontweight="bold")

    def patch(self, patch: Patch) -> None:
        """Put a shape on it."""
        patch.set_linewidth(patch.get_linewidth() * self.scale)
        self.axes.add_patch(patch)

    def box(self, left: float, low: float, width: float, height: float, **look: Any) -> None:
        """Draw a rectangle from its lower left corner, in units; ``look`` as a patch takes it."""
        from matplotlib.patches import Rectangle

        self.patch(Rectangle((left, low), width, height, **look))

    def voice(self, left: float, y: float, number: int) -> None:
        """Draw the mark of the voice with a number from 0 on, its middle at a height."""
        fill = look_of(number)
        look = {"facecolor": fill.colour, "hatch": fill.hatch, "edgecolor": "black"}
        self.box(left, y - 0.07, 0.12, 0.14, linewidth=0.5, **look)

    def line(self, x: tuple[float, ...], y: tuple[float, ...], **look: Any) -> None:
        """Draw a line through points."""
        look = {"color": "black", "linewidth": 1.0, **look}
        look["linewidth"] *= self.scale
        self.axes.plot(x, y, scalex=False, scaley=False, **look)


def canvas(ax: Axes | None, width: float, height: float) -> Canvas:
    """A canvas of some size, on ``ax`` or on a new figure.

    Args:
        ax: what to draw on; None: a new figure as large as suits the picture.
        width: in units, to the right from 0.
        height: in units, upward from 0.

    Raises:
        InputError: ``ax`` is no Axes.
        MissingExtra: matplotlib is not installed.
    """
    axes = axes_of(ax, width, height)
    axes.set_aspect("equal")
    axes.set_axis_off()
    axes.set_xlim(0, width)
    axes.set_ylim(0, height)
    figure = axes.get_figure()
    box = axes.get_window_extent()
    dpi = 100.0 if figure is None else float(figure.dpi)
    return Canvas(axes, min(box.width / width, box.height / height) / dpi)


def axes_of(ax: Axes | None, width: float, height: float) -> Axes:
    """``ax``, or new Axes that fill a figure of so many inches.

    Raises:
        InputError: ``ax`` is no Axes.
        MissingExtra: matplotlib is not installed.
    """
    try:
        from matplotlib import pyplot
        from matplotlib.axes import Axes as Known
    except ImportError as error:
        raise MissingExtra("pictures", "matplotlib", "pictures") from error
    if ax is None:
        figure = pyplot.figure(figsize=(width, min(height, _TALLEST)), facecolor="white")
        return figure.add_axes((0, 0, 1, 1))
    if not isinstance(ax, Known):
        raise InputError("ax", ax, "give Axes of matplotlib, or None")
    return ax


def fitted(text: str, room: float, size: float, *, bold: bool = False) -> str:
    """A text, cut short where it is longer than its room.

    It is cut at its end; of a voice/destination the voice is cut, as what tells the destinations of
    one voice apart stands behind it. Where that leaves too little of the voice, the end goes too.

    Args:
        text: plain text in one line.
        room: inches.
        size: points.
        bold: whether it is written in bold letters.
    """
    if length(text, size, bold=bold) <= room:
        return text
    voice, mark, destination = text.partition("/")
    tail = _MORE + mark + destination
    kept = _letters(voice, tail, room, size, bold=bold) if mark else 0
    if kept >= _LEAST:
        return voice[:kept].rstrip() + tail
    kept = _letters(text, _MORE, room, size, bold=bold)
    return text[:kept].rstrip() + _MORE if kept else ""


def in_lines(text: str, room: float, size: float, most: int) -> list[str]:
    """A text in lines no longer than its room, as far as spaces part it, and in so many at most."""
    lines: list[str] = [""]
    for word in text.split(" "):
        longer = f"{lines[-1]} {word}".lstrip()
        if lines[-1] and length(longer, size) > room:
            lines.append(word)
        else:
            lines[-1] = longer
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]} {_MORE}"]


def _letters(text: str, tail: str, room: float, size: float, *, bold: bool) -> int:
    """How many letters of a text there is room for before a tail."""
    counts = range(1, len(text) + 1)
    return bisect_right(
        counts, room, key=lambda count: length(text[:count].rstrip() + tail, size, bold=bold)
    )


def length(text: str, size: float, *, bold: bool = False) -> float:
    """How many inches a text is long, at most, in letters of some points."""
    return _points(text, "bold" if bold else "normal") * size / 10 / _POINTS * _ROUNDED


def room_for(names: Iterable[str], size: float, most: float, *, bold: bool = False) -> float:
    """How many inches the longest of some names takes, ``most`` at most."""
    return min(max((length(name, size, bold=bold) for name in names), default=0.0) + 0.05, most)


@cache
def _points(text: str, weight: Literal["bold", "normal"]) -> float:
    """How many points a text is long in letters of 10 points."""
    try:
        from matplotlib.font_manager import FontProperties
        from matplotlib.textpath import text_to_path
    except ImportError as error:  # a picture may measure its texts before it has its Axes
        raise MissingExtra("pictures", "matplotlib", "pictures") from error
    font = FontProperties(size=10, weight=weight)
    with warnings.catch_warnings(action="ignore"):  # of letters that are boxes, as wide as those
        width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width)
