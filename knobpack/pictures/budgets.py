"""The knob budget: what one knob more or fewer would be worth, and to which family."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.definition.phrases import TIER_WORDS, many
from knobpack.explanation.budget_answer import Budget, FamilyBudget
from knobpack.explanation.budget_entry import Entry
from knobpack.explanation.free_knob import MOST_OFFERS
from knobpack.pictures.canvas import COLOURS, GREY, PALE, Canvas, canvas, fitted, in_lines, length
from knobpack.words.fields import check_kind
from knobpack.words.names import listed

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_LINE, _GAP = 0.52, 0.12
_FEWER, _MORE, _BAR, _WIDTH = 3.4, 6.4, 2.6, 9.4
"""Inches from the left: what a knob fewer costs, what one more saves; a bar; the end."""

_MOST_LINES = 3
"""Lines that tell of a change, at most."""
_NAMES, _LETTERS = _FEWER - 4 * _GAP, 8
"""Inches that the name of a family may take; the points of its letters."""


def draw_budget(budget: Budget, *, ax: Axes | None = None) -> Axes:
    """Draw for the surface and each family what one knob fewer costs, and what one more saves.

    The bars are points of sharing, all on one scale. Where a tier that comes before changes as
    well, it is written out, for no amount of sharing outweighs it. Below stands what a free knob
    could be used for, if one is free.

    Args:
        budget: what :func:`knobpack.questions.knob_budget` returned.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``budget`` is no Budget, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import knob_budget
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> from knobpack.pictures import draw_budget
        >>> axes = draw_budget(knob_budget(allocation))
        >>> [text.get_text() for text in axes.texts][:2]
        ['family', 'one knob fewer']
    """
    check_kind("draw_budget.budget", budget, Budget)
    families = sorted(budget.families, key=lambda each: each.more.rank)
    offers = budget.offers[:MOST_OFFERS]
    height = (len(families) + len(offers) + 2) * _LINE + 2 * _GAP
    drawn = canvas(ax, _WIDTH, height)
    entries = [entry for each in families for entry in (each.fewer, each.more)]
    entries += [budget.more, budget.fewer]
    longest = max((abs(_sharing(entry)) for entry in entries), default=0) or 1
    y = height - _GAP - _LINE / 2
    for x, told in ((_GAP, "family"), (_FEWER, "one knob fewer"), (_MORE, "one knob more")):
        drawn.head(x, y, told, room=2.5)
    y -= _LINE
    _row(drawn, y, "the whole surface", budget.fewer, budget.more, longest)
    for family in families:
        y -= _LINE
        _row(drawn, y, _named(family), family.fewer, family.more, longest)
    for offer in offers:
        y -= _LINE
        drawn.text(_GAP, y, str(offer), room=_WIDTH - 2 * _GAP, size=_LETTERS)
    return drawn.axes


def _named(family: FamilyBudget) -> str:
    """Its name and its knobs; how many they are, where their names would not fit beside it."""
    whole = f"{family.name}, on {listed(family.knobs) or 'no knob'}"
    if length(whole, _LETTERS) <= _NAMES:
        return whole
    on = f", on {many(len(family.knobs), 'knob')}"
    return fitted(family.name, _NAMES - length(on, _LETTERS), _LETTERS) + on


def _row(
    drawn: Canvas, y: float, name: str, fewer: Entry | None, more: Entry, longest: int
) -> None:
    drawn.line((_GAP, _WIDTH - _GAP), (y + _LINE / 2, y + _LINE / 2), color=PALE)
    drawn.text(_GAP, y, name, room=_NAMES, size=_LETTERS)
    if fewer is None:
        drawn.text(_FEWER, y, "cannot be given up", room=_BAR, size=7, color=GREY)
    else:
        _change(drawn, _FEWER, y, fewer, longest, COLOURS[2])
    _change(drawn, _MORE, y, more, longest, COLOURS[0])


def _change(drawn: Canvas, x: float, y: float, entry: Entry, longest: int, colour: str) -> None:
    points = _sharing(entry)
    if points:
        look = {"facecolor": colour, "edgecolor": "black", "linewidth": 0.5}
        hatch = "" if points > 0 else "////"
        drawn.box(x, y - 0.25, _BAR * abs(points) / longest, 0.11, hatch=hatch, **look)
    lines = in_lines(_told(entry), _MORE - _FEWER - _GAP, 7, _MOST_LINES)
    for at, line in enumerate(lines):
        below = (at - (len(lines) - 1) / 2) * 0.125
        drawn.text(x, y + 0.07 - below, line, room=_MORE - _FEWER - _GAP, size=7)


def _told(entry: Entry) -> str:
    if entry.change is None:
        return "not known: the search was stopped"
    told = [
        f"{TIER_WORDS[tier]} {amount:+,}"
        for tier, amount in zip(entry.order, entry.change, strict=False)
        if amount
    ]
    doubt = "" if entry.proven else " (not proven)"
    return (", ".join(told) or "no change") + doubt


def _sharing(entry: Entry | None) -> int:
    if entry is None or entry.change is None:
        return 0
    return entry.change[entry.order.index("sharing")]
