"""A sweep: where every knob stands as the master moves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from knobpack.phrases import many
from knobpack.pictures.canvas import axes_of, fitted
from knobpack.pictures.lines import LINE, apart, letters, name_end
from knobpack.pictures.palette import COLOURS, GREY, LINES, MARKS
from knobpack.simulation import Sweep
from knobpack.words.fields import check_kind
from knobpack.words.names import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDTH, _HEIGHT, _NAMES = 7.0, 4.2, 2.2
"""Inches: the picture, and of it what the names at the right may take."""

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
    lines: dict[tuple[int, ...], list[str]] = {}
    for knob, positions in zip(sweep.knobs, sweep.positions, strict=True):
        if knob in sweep.follows:
            lines.setdefault(tuple(positions.tolist()), []).append(knob)
    axes = axes_of(ax, _WIDTH, max(_HEIGHT, LINE * len(lines) + 1))
    if ax is None:
        axes.set_position((0.1, 0.14, 0.58, 0.76))
    size = letters(axes, len(lines))
    ends = apart([path[-1] for path in lines], sweep.top)
    for at, (path, knobs) in enumerate(lines.items()):
        style: Any = LINES[at % len(LINES)]
        mark, colour = MARKS[at % len(MARKS)], COLOURS[at % len(COLOURS)]
        step = max(1, len(path) // 8)
        axes.plot(
            sweep.master,
            path,
            color=colour,
            linestyle=style,
            marker=mark,
            linewidth=1.8,
            markevery=(at % step, step),
            markeredgecolor="black",
            markersize=5,
        )
        more = len(knobs) - _MOST_NAMED
        told = listed(knobs) if more < 1 else f"{', '.join(knobs[:_MOST_NAMED])} and {more} more"
        name_end(
            axes,
            told,
            (float(sweep.master[-1]), path[-1]),
            (sweep.top * 1.06, ends[at]),
            room=_NAMES - 0.4,
            size=size,
            colour=colour,
        )
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
    axes.tick_params(labelsize=8)
    axes.grid(color=GREY, alpha=0.25)
    return axes
