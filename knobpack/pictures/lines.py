"""Lines, and names beside their ends, so that none stands on another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from knobpack.pictures.canvas import COLOURS, GREY, LINES, MARKS, fitted

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_NEAREST = 0.065
"""How near two names come where there is room, as a share of the height."""

LINE = 0.22
"""Inches of a picture's height that a name takes, with what is around it."""

_TALL = 1.5
"""How high a line of letters stands, as a share of their points."""


def apart(ends: Sequence[float], top: float) -> list[float]:
    """Heights for names beside some ends: in the order of the ends, and far enough apart.

    Args:
        ends: where the lines end, 0 to ``top``.
        top: the height of the picture.
    """
    step = top * _NEAREST
    if len(ends) > 1:  # where there are more than fit, they share what there is
        step = min(step, top * 1.08 / (len(ends) - 1))
    order = sorted(range(len(ends)), key=lambda at: ends[at])
    heights = [0.0] * len(ends)
    low = -top
    for at in order:
        low = max(float(ends[at]), low + step)
        heights[at] = low
    high = top * 1.04
    for at in reversed(order):
        high = min(heights[at], high)
        heights[at] = high
        high -= step
    return heights


def letters(axes: Axes, names: int) -> float:
    """Points that the letters of so many names beside ``axes`` may have: 8 at most."""
    figure = axes.get_figure()
    dpi = 100.0 if figure is None else float(figure.dpi)
    room = axes.get_window_extent().height / dpi / max(1, names)
    return min(8.0, room * 72 / _TALL)


def draw_named(
    axes: Axes,
    lines: Sequence[tuple[str, Sequence[float], Sequence[float]]],
    *,
    top: float,
    beside: float,
    room: float,
    marks: int = 0,
) -> None:
    """Draw lines, each with a look of its own, and its name beside the picture.

    Args:
        axes: the picture.
        lines: of each the name, in plain text, and how far right and up its points lie.
        top: the height of the picture.
        beside: where the names begin, to the right.
        room: inches that a name may take.
        marks: how many points of a line are marked; 0: all of them.
    """
    size = letters(axes, len(lines))
    heights = apart([up[-1] for _, _, up in lines], top)
    for at, (name, right, up) in enumerate(lines):
        style: Any = LINES[at % len(LINES)]
        colour = COLOURS[at % len(COLOURS)]
        step = max(1, len(up) // marks) if marks else 1
        axes.plot(
            right,
            up,
            color=colour,
            linestyle=style,
            linewidth=1.8,
            marker=MARKS[at % len(MARKS)],
            markevery=(at % step, step),
            markeredgecolor="black",
            markersize=5,
        )
        lead = {"arrowstyle": "-", "color": colour, "linewidth": 0.8, "relpos": (0, 0.5)}
        axes.annotate(
            fitted(name, room, size),
            xy=(right[-1], up[-1]),
            xytext=(beside, heights[at]),
            arrowprops={**lead, "shrinkA": 1},
            annotation_clip=False,
            va="center",
            fontsize=size,
            parse_math=False,
        )
    axes.tick_params(labelsize=8)
    axes.grid(color=GREY, alpha=0.25)
