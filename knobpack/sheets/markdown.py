"""Markdown: a patch sheet as a task list."""

from __future__ import annotations

import re
from itertools import groupby

from knobpack.sheets.state import (
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
    numbered = enumerate(steps, 1)
    for stage, each in groupby(numbered, key=lambda item: item[1].stage):
        lines += ["", f"## {stage}", ""]
        lines += [f"- [ ] **{number}.** {step.told(escaped)}" for number, step in each]
    others = list(other_followers(before, after, escaped))
    if others:
        lines += ["", "## Snapshots to check", "", *(f"- {other}" for other in others)]
    idle = list(to_switch_off(after, escaped))
    if idle:
        lines += ["", "## To switch off", "", *(f"- {each}" for each in idle)]
    unknown = list(by_ear(before, after, escaped))
    if unknown:
        lines += ["", "## Set by ear", "", *(f"- {each}" for each in unknown)]
    missed = list(not_as_wanted(before, after, escaped))
    if missed:
        lines += ["", "## Travels that are not as wanted", "", *(f"- {each}" for each in missed)]
    lines += ["", "## When all is set", ""]
    states = (voices_at, silent_in, held_in)
    lines += [f"- {each}" for state in states for each in state(after, escaped)]
    lines += [f"- {knob_line(knob, escaped)}" for knob in knob_states(after)]
    return "\n".join(lines) + "\n"


def escaped(name: str) -> str:
    """A name as Markdown that means just its characters.

    Any ASCII punctuation may have a backslash before it (CommonMark 0.31.2, 2.4). Two spaces in a
    row would be shown as one; a no-break space keeps them.
    """
    return re.sub(r"(?<= ) ", "\u00a0", _MEANING.sub(r"\\\g<0>", name))
