"""A sweep: where every knob stands as the master moves."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.pictures.canvas import COLOURS, GREY, LINES, MARKS, axes_of, fitted
from knobpack.simulation import Sweep
from knobpack.words.fields import check_kind
from knobpack.words.names import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDTH, _HEIGHT, _NAMES, _LINE = 7.0, 4.2, 1.8, 0.22
"""Inches: the picture; of it what a name at the right may take, and is high with what is around."""

_TALL, _MARKED = 1.5, 8
"""How high a line of letters is, as a share of their points; points of a line that are marked."""

_MOST_NAMED = 3
"""Knobs that are named beside one line, at most."""


def draw_sweep(sweep: Sweep, *, ax: Axes | None = None) -> Axes:
    """Draw the positions of the knobs that follow the master, against its own.

    Knobs that stand together all the way share a line, which is named at its end. How many knobs
    are held is said below.

    Args:
        sweep: what :func:`knobpack.simulation.sweep` returned.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``sweep`` is no Sweep, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.simulation import sweep
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_sweep
        >>> axes = draw_sweep(sweep(allocation.setup("Evening set"), "everything"))
        >>> [text.get_text() for text in axes.texts][:2]
        ['K1 and K2']
    """
    check_kind("draw_sweep.sweep", sweep, Sweep)
    paths = zip(sweep.knobs, sweep.positions, strict=True)
    lines = grouped((tuple(path.tolist()), knob) for knob, path in paths if knob in sweep.follows)
    axes = axes_of(ax, _WIDTH, max(_HEIGHT, _LINE * len(lines) + 1))
    if ax is None:
        axes.set_position((0.1, 0.14, 0.58, 0.76))
    _draw_named(axes, sweep, {listed(on, _MOST_NAMED): path for path, on in lines.items()})
    held = len(sweep.knobs) - len(sweep.follows)
    axes.set_title(
        fitted(f"{sweep.setup}: {sweep.snapshot}", 4.0, 9, bold=True),
        loc="left",
        fontsize=9,
        fontweight="bold",
        parse_math=False,
    )
    axes.set_xlabel(
        f"position of the master; {many(held, 'knob') if held else 'no knob'} held", fontsize=8
    )
    axes.set_ylabel("position of the knob", fontsize=8)
    axes.set_xlim(0, sweep.top)
    axes.set_ylim(-0.04 * sweep.top, 1.04 * sweep.top)
    axes.set_xticks([0, (sweep.top + 1) // 2, sweep.top])
    axes.set_yticks([0, (sweep.top + 1) // 2, sweep.top])
    axes.ticklabel_format(style="plain")
    return axes


def _draw_named(axes: Axes, sweep: Sweep, lines: Mapping[str, Sequence[int]]) -> None:
    """Draw lines, each with a look of its own, and beside them their names as high as they end."""
    figure, master = axes.get_figure(), sweep.master.tolist()
    dpi = 100.0 if figure is None else float(figure.dpi)
    room = axes.get_window_extent().height / dpi / max(1, len(lines))
    size, step = min(8.0, room * 72 / _TALL), max(1, len(master) // _MARKED)
    for place, (name, path) in enumerate(sorted(lines.items(), key=lambda each: each[1][-1])):
        colour, style = COLOURS[place % len(COLOURS)], LINES[place % len(LINES)]
        marks: dict[str, Any] = {"marker": MARKS[place % len(MARKS)], "markeredgecolor": "black"}
        marks |= {"markevery": (place % step, step), "markersize": 5}
        axes.plot(master, path, color=colour, linestyle=style, linewidth=1.8, **marks)
        axes.annotate(
            fitted(name, _NAMES, size),
            xy=(master[-1], path[-1]),
            xytext=(sweep.top * 1.06, sweep.top * (place + 0.5) / len(lines)),
            arrowprops={"arrowstyle": "-", "color": colour, "linewidth": 0.8, "relpos": (0, 0.5)},
            annotation_clip=False,
            va="center",
            fontsize=size,
            parse_math=False,
        )
    axes.tick_params(labelsize=8)
    axes.grid(color=GREY, alpha=0.25)
