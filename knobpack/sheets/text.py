"""A patch sheet as plain text, for a terminal or a printer, and as a task list in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import TYPE_CHECKING

from knobpack.definition.phrases import many
from knobpack.sheets.cautions import caution
from knobpack.sheets.state import KnobState, by_stage, in_words, knob_states, remarks
from knobpack.sheets.told import Show
from knobpack.text.columns import PAGE, paragraph, sentence, wrapped
from knobpack.words.names import knob_told, quoted

if TYPE_CHECKING:
    from knobpack.sheets.sheet import PatchSheet


def sheet_text(sheet: PatchSheet, page: int = PAGE) -> str:
    """A patch sheet as plain text."""
    lines = paragraph(f"PATCH SHEET  {sheet.title}", 0, 2, page)
    lines += paragraph(opening(sheet), 2, 0, page)
    care = caution(sheet.before, sheet.after)
    if care:
        lines += ["", "CAUTION", *paragraph(care, 2, 0, page)]
    wide = len(str(len(sheet.steps)))
    for stage, members in by_stage(sheet.steps):
        lines += ["", stage.upper()]
        for number, step in members:
            lines += _behind(f"  [ ] {number:>{wide}}. ", step.told(), page)
    for heading, items in _lists(sheet, str):
        lines += ["", heading.upper()]
        lines += [line for each in items for line in _behind("  - ", each, page)]
    return "\n".join(lines) + "\n"


def _lists(sheet: PatchSheet, show: Show) -> Iterator[tuple[str, list[str]]]:
    """What else is to be looked after, and what there is when all is set, below headings."""
    yield from remarks(sheet, show)
    knobs = (knob_line(knob, show) for knob in knob_states(sheet.after))
    yield "When all is set", [*in_words(sheet.after, show), *knobs]


def _behind(label: str, text: str, page: int) -> list[str]:
    """A text behind a label, its further lines below its first one."""
    first, *rest = wrapped(text, page - len(label))
    return [label + first, *(" " * len(label) + line for line in rest)]


def opening(sheet: PatchSheet, show: Show = str) -> str:
    """What a sheet is for, in a few sentences."""
    to_tick = sum(step.sets for step in sheet.steps)
    if not to_tick:
        how = "only what is recorded differs" if sheet.steps else "all is as it was"
        return f"Nothing to set: {how}."
    old, new = sheet.before.name, sheet.after.name
    way = f"From '{show(old)}' to '{show(new)}': " if old != new else ""
    top = sheet.after.surface.top
    return f"{way}{many(to_tick, 'step')}, in this order. Positions run from 0 to {top}."


def knob_line(knob: KnobState, show: Show) -> str:
    """What stands on a knob, in one line."""
    ends = ", ".join(knob.ends(show, together=True))
    follows = quoted(map(show, knob.follows)) or "no snapshot"
    after = f"; follows the master in {follows}" if ends else ""
    label = f" '{show(knob.label)}'" if knob.label is not None else ""
    sends = f"; {knob.sends}" if knob.sends is not None else ""
    name = show(sentence(knob_told(knob.knob)))
    return (
        f"{name}{label}{knob.amiss}, travel {knob.travel}: drives {ends or 'nothing'}{after}{sends}"
    )


_MEANING = re.compile(r"[\\`*_\[\]<>|~&$#!@:.]")
"""What can mean something inside a line: marks, links, entities, and what makes addresses links."""


def markdown_of(sheet: PatchSheet) -> str:
    """A patch sheet as Markdown: CommonMark 0.31.2 and GitHub Flavored Markdown's task lists."""
    lines = [f"# Patch sheet: {escaped(sheet.title)}", "", opening(sheet, escaped)]
    care = caution(sheet.before, sheet.after, escaped)
    if care:
        lines += ["", f"> **Caution.** {care}"]
    for stage, members in by_stage(sheet.steps):
        lines += ["", f"## {stage}", ""]
        lines += [f"- [ ] **{number}.** {step.told(escaped)}" for number, step in members]
    for heading, items in _lists(sheet, escaped):
        lines += ["", f"## {heading}", "", *(f"- {each}" for each in items)]
    return "\n".join(lines) + "\n"


def escaped(name: str) -> str:
    """A name as Markdown that means just its characters.

    Any ASCII punctuation may have a backslash before it (CommonMark 0.31.2, 2.4). Two spaces in a
    row would be shown as one; a no-break space keeps them.
    """
    return re.sub(r"(?<= ) ", "\u00a0", _MEANING.sub(r"\\\g<0>", name))
