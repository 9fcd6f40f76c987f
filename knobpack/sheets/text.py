"""Text: a patch sheet for a terminal or a printer, at most 100 columns wide."""

from __future__ import annotations

import textwrap
import unicodedata
from itertools import groupby

from knobpack.phrases import many
from knobpack.sheets.state import (
    KnobState,
    by_ear,
    caution,
    held_in,
    knob_states,
    not_as_wanted,
    other_followers,
    silent_in,
    to_switch_off,
    voices_at,
)
from knobpack.sheets.steps import Step
from knobpack.sheets.told import Show
from knobpack.shown import sentence
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed

PAGE = 100
"""Columns that a line may take, at most."""

FILL = "\0"
"""Stands for the second column of a wide character while lines are broken; no name holds it."""


def text_of(before: Setup, after: Setup, steps: tuple[Step, ...], page: int = PAGE) -> str:
    """The patch sheet of the steps from one setup to another, as plain text."""
    lines = ["PATCH SHEET", *_paragraph(opening(before, after, len(steps)), "  ", page)]
    care = caution(before, after)
    if care:
        lines += ["", "CAUTION", *_paragraph(care, "  ", page)]
    wide = len(str(len(steps)))
    numbered = enumerate(steps, 1)
    for stage, members in groupby(numbered, key=lambda item: item[1].stage):
        lines += ["", stage.upper()]
        for number, step in members:
            lines += _paragraph(step.told(), f"  [ ] {number:>{wide}}. ", page)
    others = list(other_followers(before, after))
    if others:
        lines += ["", "SNAPSHOTS TO CHECK"]
        lines += [line for other in others for line in _paragraph(other, "  - ", page)]
    idle = list(to_switch_off(after))
    if idle:
        lines += ["", "TO SWITCH OFF"]
        lines += [line for each in idle for line in _paragraph(each, "  - ", page)]
    unknown = list(by_ear(before, after))
    if unknown:
        lines += ["", "SET BY EAR"]
        lines += [line for each in unknown for line in _paragraph(each, "  - ", page)]
    missed = list(not_as_wanted(before, after))
    if missed:
        lines += ["", "TRAVELS THAT ARE NOT AS WANTED"]
        lines += [line for each in missed for line in _paragraph(each, "  - ", page)]
    lines += ["", "WHEN ALL IS SET"]
    for each in (*voices_at(after), *silent_in(after), *held_in(after)):
        lines += _paragraph(each, "  - ", page)
    for knob in knob_states(after):
        lines += _paragraph(knob_line(knob), "  - ", page)
    return "\n".join(lines) + "\n"


def opening(before: Setup, after: Setup, steps: int, show: Show = str) -> str:
    """What a sheet of so many steps is for, in a few sentences."""
    old, new = before.name, after.name
    way = f"From '{show(old)}' to '{show(new)}'"
    if old == new:
        way = f"Setup '{show(new)}'"
    if not steps:
        return f"{way}: nothing to set, the two are the same."
    count = many(steps, "step")
    return f"{way}: {count}, in this order. Positions run from 0 to {after.surface.top}."


def knob_line(knob: KnobState, show: Show = str) -> str:
    """What stands on a knob, in one line."""
    ends = [
        show(name)
        + ("" if layer is None else f" on layer {layer}")
        + (f" over {over}" if over else "")
        for (name, layer), over in zip(knob.drives, knob.over, strict=True)
    ]
    told_ends = "drives nothing" if not ends else f"drives {', '.join(ends)}"
    follows = "follows the master in no snapshot"
    if knob.follows:
        quoted = listed([f"'{show(name)}'" for name in knob.follows])
        follows = f"follows the master in {quoted}"
    after = f"; {follows}" if ends else ""
    label = f" '{show(knob.label)}'" if knob.label is not None else ""
    sends = f"; {knob.sends}" if knob.sends is not None else ""
    name = show(sentence(knob_told(knob.knob)))
    return f"{name}{label}{knob.amiss}, travel {knob.travel}: {told_ends}{after}{sends}"


def _paragraph(text: str, lead: str, page: int) -> list[str]:
    """A text in lines, ``lead`` before the first and as much space before the others.

    A character that takes two columns (Unicode Standard Annex 11: East Asian Width W and F) is
    followed by a filling while the lines are broken. A line may end between the two, so one
    column is kept free.
    """
    filled = "".join(mark + FILL if _wide(mark) else mark for mark in text)
    lines = textwrap.wrap(
        filled,
        page - 1,
        initial_indent=lead,
        subsequent_indent=" " * len(lead),
        break_on_hyphens=False,
    )
    return [line.replace(FILL, "") for line in lines]


def _wide(mark: str) -> bool:
    return unicodedata.east_asian_width(mark) in {"W", "F"}
