"""A sweep: where every knob stands as the master moves."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.pictures.canvas import axes_of, fitted
from knobpack.pictures.lines import LINE, draw_named
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
    paths = zip(sweep.knobs, sweep.positions, strict=True)
    lines = grouped((tuple(path.tolist()), knob) for knob, path in paths if knob in sweep.follows)
    axes = axes_of(ax, _WIDTH, max(_HEIGHT, LINE * len(lines) + 1))
    if ax is None:
        axes.set_position((0.1, 0.14, 0.58, 0.76))
    master = sweep.master.tolist()
    named = [(listed(knobs, _MOST_NAMED), master, path) for path, knobs in lines.items()]
    draw_named(axes, named, top=sweep.top, beside=sweep.top * 1.06, room=_NAMES - 0.4, marks=8)
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
