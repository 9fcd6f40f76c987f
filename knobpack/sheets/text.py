"""A patch sheet as plain text, for a terminal or a printer, and as a task list in Markdown."""

from __future__ import annotations

import re
from collections.abc import Iterator

from knobpack.definition.phrases import many
from knobpack.sheets.cautions import caution
from knobpack.sheets.state import KnobState, by_stage, in_words, knob_states, remarks
from knobpack.sheets.steps import Step
from knobpack.sheets.told import Show
from knobpack.text.columns import PAGE, paragraph, sentence, wrapped
from knobpack.words import Setup
from knobpack.words.names import knob_told, quoted


def sheet_text(
    title: str, before: Setup, after: Setup, steps: tuple[Step, ...], page: int = PAGE
) -> str:
    """The patch sheet of the steps from one setup to another, as plain text."""
    lines = paragraph(f"PATCH SHEET  {title}", 0, 2, page)
    lines += paragraph(opening(before, after, steps), 2, 0, page)
    care = caution(before, after)
    if care:
        lines += ["", "CAUTION", *paragraph(care, 2, 0, page)]
    wide = len(str(len(steps)))
    for stage, members in by_stage(steps):
        lines += ["", stage.upper()]
        for number, step in members:
            lines += _behind(f"  [ ] {number:>{wide}}. ", step.told(), page)
    for heading, items in _lists(before, after, steps, str):
        lines += ["", heading.upper()]
        lines += [line for each in items for line in _behind("  - ", each, page)]
    return "\n".join(lines) + "\n"


def _lists(
    before: Setup, after: Setup, steps: tuple[Step, ...], show: Show
) -> Iterator[tuple[str, list[str]]]:
    """What else is to be looked after, and what there is when all is set, below headings."""
    yield from remarks(before, after, steps, show)
    knobs = (knob_line(knob, show) for knob in knob_states(after))
    yield "When all is set", [*in_words(after, show), *knobs]


def _behind(label: str, text: str, page: int) -> list[str]:
    """A text behind a label, its further lines below its first one."""
    first, *rest = wrapped(text, page - len(label))
    return [label + first, *(" " * len(label) + line for line in rest)]


def opening(before: Setup, after: Setup, steps: tuple[Step, ...], show: Show = str) -> str:
    """What a sheet of some steps is for, in a few sentences."""
    to_tick = sum(step.sets for step in steps)
    if not to_tick:
        return (
            f"Nothing to set: {'only what is recorded differs' if steps else 'all is as it was'}."
        )
    old, new = before.name, after.name
    way = f"From '{show(old)}' to '{show(new)}': " if old != new else ""
    count = many(to_tick, "step")
    return f"{way}{count}, in this order. Positions run from 0 to {after.surface.top}."


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


def markdown_of(title: str, before: Setup, after: Setup, steps: tuple[Step, ...]) -> str:
    """The patch sheet of the steps from one setup to another, as Markdown.

    CommonMark 0.31.2, with GitHub Flavored Markdown's task lists.
    """
    first = opening(before, after, steps, escaped)
    lines = [f"# Patch sheet: {escaped(title)}", "", first]
    care = caution(before, after, escaped)
    if care:
        lines += ["", f"> **Caution.** {care}"]
    for stage, members in by_stage(steps):
        lines += ["", f"## {stage}", ""]
        lines += [f"- [ ] **{number}.** {step.told(escaped)}" for number, step in members]
    for heading, items in _lists(before, after, steps, escaped):
        lines += ["", f"## {heading}", "", *(f"- {each}" for each in items)]
    return "\n".join(lines) + "\n"


def escaped(name: str) -> str:
    """A name as Markdown that means just its characters.

    Any ASCII punctuation may have a backslash before it (CommonMark 0.31.2, 2.4). Two spaces in a
    row would be shown as one; a no-break space keeps them.
    """
    return re.sub(r"(?<= ) ", "\u00a0", _MEANING.sub(r"\\\g<0>", name))
