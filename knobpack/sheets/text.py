"""Text: a patch sheet for a terminal or a printer, at most 100 columns wide."""

from __future__ import annotations

from knobpack.columns import PAGE, labelled, paragraph, sentence
from knobpack.phrases import many
from knobpack.sheets.state import KnobState, by_stage, caution, in_words, knob_states, remarks
from knobpack.sheets.steps import Step
from knobpack.sheets.told import Show
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed


def sheet_text(before: Setup, after: Setup, steps: tuple[Step, ...], page: int = PAGE) -> str:
    """The patch sheet of the steps from one setup to another, as plain text."""
    lines = ["PATCH SHEET", *paragraph(opening(before, after, len(steps)), 2, 0, page)]
    care = caution(before, after)
    if care:
        lines += ["", "CAUTION", *paragraph(care, 2, 0, page)]
    wide = len(str(len(steps)))
    for stage, members in by_stage(steps):
        lines += ["", stage.upper()]
        for number, step in members:
            lines += labelled(f"  [ ] {number:>{wide}}. ", step.told(), page)
    finished = ("When all is set", (*in_words(after), *map(knob_line, knob_states(after))))
    for heading, items in (*remarks(before, after), finished):
        lines += ["", heading.upper()]
        lines += [line for each in items for line in labelled("  - ", each, page)]
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
