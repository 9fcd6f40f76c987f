"""Markdown: a patch sheet as a task list."""

from __future__ import annotations

import re

from knobpack.sheets.state import by_stage, caution, in_words, knob_states, remarks
from knobpack.sheets.steps import Step
from knobpack.sheets.text import knob_line, opening
from knobpack.words import Setup

_MEANING = re.compile(r"[\\`*_\[\]<>|~&$#!@:.]")
"""What can mean something inside a line: marks, links, entities, and what makes addresses links."""


def markdown_of(before: Setup, after: Setup, steps: tuple[Step, ...]) -> str:
    """The patch sheet of the steps from one setup to another, as Markdown.

    CommonMark 0.31.2, with GitHub Flavored Markdown's task lists.
    """
    first = opening(before, after, len(steps), escaped)
    lines = [f"# Patch sheet: {escaped(after.name)}", "", first]
    care = caution(before, after, escaped)
    if care:
        lines += ["", f"> **Caution.** {care}"]
    for stage, members in by_stage(steps):
        lines += ["", f"## {stage}", ""]
        lines += [f"- [ ] **{number}.** {step.told(escaped)}" for number, step in members]
    knobs = (knob_line(knob, escaped) for knob in knob_states(after))
    finished = ("When all is set", (*in_words(after, escaped), *knobs))
    for heading, items in (*remarks(before, after, escaped), finished):
        lines += ["", f"## {heading}", "", *(f"- {each}" for each in items)]
    return "\n".join(lines) + "\n"


def escaped(name: str) -> str:
    """A name as Markdown that means just its characters.

    Any ASCII punctuation may have a backslash before it (CommonMark 0.31.2, 2.4). Two spaces in a
    row would be shown as one; a no-break space keeps them.
    """
    return re.sub(r"(?<= ) ", "\u00a0", _MEANING.sub(r"\\\g<0>", name))
