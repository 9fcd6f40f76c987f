"""Markdown: a patch sheet as a task list."""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING

from knobpack.sheets.state import caution, knob_states, other_followers, voices_at
from knobpack.sheets.text import knob_line, opening
from knobpack.sheets.told import told

if TYPE_CHECKING:
    from knobpack.sheets.sheet import PatchSheet

_MEANING = re.compile(r"[\\`*_\[\]<>|~&$#!@:.]")
"""What can mean something inside a line: marks, links, entities, and what makes addresses links."""


def markdown_of(sheet: PatchSheet) -> str:
    """The sheet as Markdown: CommonMark 0.31.2, with GitHub Flavored Markdown's task lists."""
    lines = [f"# Patch sheet: {escaped(sheet.after.name)}", "", opening(sheet, escaped)]
    care = caution(sheet.before, sheet.after, escaped)
    if care:
        lines += ["", f"> **Caution.** {care}"]
    numbered = enumerate(sheet.steps, 1)
    for stage, each in groupby(numbered, key=lambda item: item[1].stage):
        lines += ["", f"## {stage}", ""]
        lines += [f"- [ ] **{number}.** {told(step, escaped)}" for number, step in each]
    others = list(other_followers(sheet.before, sheet.after, escaped))
    if others:
        lines += ["", "## Snapshots to check", "", *(f"- {other}" for other in others)]
    lines += ["", "## When all is set", ""]
    lines += [f"- At {place}: {escaped(voice)}" for place, voice in voices_at(sheet.after)]
    lines += [f"- Knob {knob_line(knob, escaped)}" for knob in knob_states(sheet.after)]
    return "\n".join(lines) + "\n"


def escaped(name: str) -> str:
    """A name as Markdown that means just its characters.

    Any ASCII punctuation may have a backslash before it (CommonMark 0.31.2, 2.4). Two spaces in a
    row would be shown as one; a no-break space keeps them.
    """
    return re.sub(r"(?<= ) ", "\u00a0", _MEANING.sub(r"\\\g<0>", name))
