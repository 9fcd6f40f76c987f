"""The frontiers: what sharing costs each family, knob by knob."""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation, Frontier
from knobpack.pictures.canvas import axes_of
from knobpack.pictures.lines import draw_named
from knobpack.words.fields import check_kind
from knobpack.words.names import listed, voice_part

if TYPE_CHECKING:
    from matplotlib.axes import Axes

MOST_LINES = 10
"""Families that are drawn, at most."""

_WIDTH, _HEIGHT, _NAMES = 8.0, 4.4, 2.7
"""Inches: the picture, and of it what the names at the right may take."""


@attrs.frozen
class _Line:
    """A family: what it costs at each number of knobs that leaves nothing out or broken."""

    name: str
    knobs: tuple[int, ...]
    points: tuple[int, ...]


UNPLACED, BUNDLES, INDEPENDENCE, SHARING = range(4)
"""The places of tiers in the costs of a frontier."""


def draw_frontiers(allocation: Allocation, *, ax: Axes | None = None) -> Axes:
    """Draw what sharing costs each family, against the number of knobs it has.

    A family is drawn from the number of knobs on at which nothing of it is left out, no snapshot
    broken and no bundle parted that could be whole, to the number beyond which no knob saves
    anything. Kept and fixed knobs are not counted. Families that never cost anything are not drawn;
    of many, those that can save most are.

    Args:
        allocation: what :func:`knobpack.allocate` returned.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Where the search did not need the frontiers, they say so. Nothing is shown or
        saved.

    Raises:
        InputError: ``allocation`` is no Allocation, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_frontiers
        >>> axes = draw_frontiers(allocation)
        >>> [text.get_text() for text in axes.texts][:2]
        ['Glass pad']
    """
    check_kind("draw_frontiers.allocation", allocation, Allocation)
    axes = axes_of(ax, _WIDTH, _HEIGHT)
    if ax is None:
        axes.set_position((0.1, 0.13, 0.55, 0.78))
    found = allocation.frontiers
    known = () if found is None else found.families
    every = [line for line in map(_line, known) if any(line.points)]
    lines = sorted(every, key=lambda line: line.points[-1] - line.points[0])[:MOST_LINES]
    title = "What sharing costs each family" if lines else "No family shares at a cost"
    if len(lines) < len(every):
        title = f"What sharing costs the {MOST_LINES} of {len(every)} families that can save most"
    if found is None:
        title = "The search did not need what other numbers of knobs cost"
    axes.set_title(title, loc="left", fontsize=9, fontweight="bold")
    axes.set_xlabel("knobs", fontsize=8)
    axes.set_ylabel("points in 'sharing knobs'", fontsize=8)
    most = max((max(line.points) for line in lines), default=1)
    far = max((max(line.knobs) for line in lines), default=1)
    axes.set_xlim(0, far + 0.2)
    axes.set_ylim(-0.03 * most, 1.05 * most)
    axes.set_xticks(range(0, far + 1, 1 + far // 12))
    drawn = [(line.name, line.knobs, line.points) for line in lines]
    draw_named(axes, drawn, top=most, beside=far * 1.06 + 0.2, room=_NAMES - 0.4)
    return axes


def _line(frontier: Frontier) -> _Line:
    costs = [(knobs, values) for knobs, values in frontier.costs if values is not None]
    parted = min((values[BUNDLES] for _, values in costs), default=0)
    best = {UNPLACED: 0, BUNDLES: parted, INDEPENDENCE: 0}
    whole = [
        (knobs, values[SHARING])
        for knobs, values in costs
        if all(values[tier] == value for tier, value in best.items())
    ]
    # A frontier only falls, so its tail is where it is least.
    least = min((cost for _, cost in whole), default=0)
    gaining = 1 + sum(cost > least for _, cost in whole)
    whole = whole[:gaining]
    voices = dict.fromkeys(voice_part(name) for name in frontier.destinations)
    return _Line(
        listed(list(voices)), tuple(knobs for knobs, _ in whole), tuple(cost for _, cost in whole)
    )
