"""Lines: names beside the ends of lines, so that none stands on another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from knobpack.pictures.canvas import fitted

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


def name_end(
    axes: Axes,
    name: str,
    end: tuple[float, float],
    beside: tuple[float, float],
    *,
    room: float,
    size: float,
    colour: str,
) -> None:
    """Write a name beside a picture, and lead a thin line from it to where its own line ends.

    Args:
        axes: the picture.
        name: plain text.
        end: where the line ends, in the units of the axes.
        beside: where the name begins.
        room: inches that the name may take.
        size: points of its letters.
        colour: that of the line.
    """
    lead = {"arrowstyle": "-", "color": colour, "linewidth": 0.8, "relpos": (0, 0.5), "shrinkA": 1}
    axes.annotate(
        fitted(name, room, size),
        xy=end,
        xytext=beside,
        arrowprops=lead,
        annotation_clip=False,
        va="center",
        fontsize=size,
        parse_math=False,
    )
