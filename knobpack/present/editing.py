"""Editing: a setup in use edited, one edit after the other, and taken to another panel."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

from knobpack.errors import InputError, Reason
from knobpack.files import load_setup
from knobpack.present.asked import Asked
from knobpack.present.edit_text import edit_text
from knobpack.present.job import Done, Job, Part
from knobpack.present.meter import Meter
from knobpack.present.panel_text import panel_text
from knobpack.words import Setup, Surface

if TYPE_CHECKING:
    from knobpack.edits.answer import Edited
    from knobpack.edits.asked import Edit

AUDIT = "audit of the setup as edited"
SHEET = "patch sheet of the edits"

LEAST = {
    "--on": (2, "give a knob and what goes on it"),
    "--join": (2, "give two knobs or more"),
}
"""How many values an edit takes at least, where argparse cannot say."""

KNOBS = {
    "--on": (1, "name the knob first, then what goes on it"),
    "--swap": (2, "give two knobs"),
    "--join": (None, "give knobs: what they drive is joined"),
    "--out-of-use": (1, "give a knob"),
    "--back-in-use": (1, "give a knob"),
}
"""How many of the values of an edit, from the first, are knobs; None: all."""


def editing(asked: Asked, options: argparse.Namespace) -> Job:
    """Make ready to edit a setup.

    Args:
        asked: the file of the setup.
        options: what else was said.

    Raises:
        InputError: a file does not do, an edit says too little, or there is none.
    """
    setup = load_setup(asked.values[0])
    if not options.edits:
        right = "say what is to be edited, such as --own NAME; --help lists all edits"
        raise InputError(asked.option, Reason("there is no edit"), right)
    steps = [(each, _step(each)) for each in options.edits]

    def run() -> Done:
        meter = Meter(None if options.quiet else sys.stderr)
        limits = {
            "time_limit": options.time_limit,
            "effort": options.effort,
            "progress": meter.tell,
            "cancel": meter.beat,
        }
        try:
            found = _edited(setup, steps, limits)
        finally:
            meter.clear()
        return _done(setup, found, printed=options.sheet == "-")

    return Job(asked, "editing", run)


def _step(asked: Asked) -> Edit | Surface:
    """What one edit asks for; of a move, the panel."""
    from knobpack.edits import asked as edits

    values = asked.values
    least, right = LEAST.get(asked.option, (1, ""))
    if len(values) < least:
        raise InputError(asked.option, values[0], right)
    knobs, right = KNOBS.get(asked.option, (0, ""))
    for value in values[:knobs]:
        if "/" in value:
            raise InputError(asked.option, value, right)
    made: Mapping[str, Callable[[], Edit]] = {
        "--own": lambda: edits.OwnKnob(values),
        "--on": lambda: edits.OnKnob(values[1:], values[0]),
        "--swap": lambda: edits.Swap(*values),
        "--part": lambda: edits.Part(values),
        "--join": lambda: edits.Join(values),
        "--out-of-use": lambda: edits.OutOfUse(values[0]),
        "--back-in-use": lambda: edits.BackInUse(values[0]),
        "--away": lambda: edits.Away(values),
    }
    if asked.option not in made:
        return load_setup(values[0]).surface
    try:
        return made[asked.option]()
    except InputError as error:
        raise _refused(asked, error) from None


def _refused(asked: Asked, error: InputError) -> InputError:
    """What an edit refuses, as said of its option: fields within an edit are no player's words."""
    value = error.value
    if isinstance(value, tuple) and all(isinstance(each, str) for each in value):
        value = " ".join(value)
    return InputError(asked.option, value, error.right)


def _edited(
    setup: Setup,
    steps: Sequence[tuple[Asked, Edit | Surface]],
    limits: Mapping[str, Any],
) -> list[tuple[Asked, Edited]]:
    from knobpack.edits.edits import edit
    from knobpack.edits.moving import move_to_panel

    found: list[tuple[Asked, Edited]] = []
    for asked, step in steps:
        try:
            if isinstance(step, Surface):
                done = move_to_panel(setup, step, **limits)
            else:
                done = edit(setup, step, **limits)
        except InputError as error:
            raise _refused(asked, error) from None
        found.append((asked, done))
        setup = done.setup
    return found


def _last_text(found: Edited) -> str:
    """The last edit, and what is on which knob after it."""
    return f"{edit_text(found)}\n{panel_text(found.setup)}"


def _done(setup: Setup, found: Sequence[tuple[Asked, Edited]], *, printed: bool) -> Done:
    from knobpack.auditing.audit import audit
    from knobpack.present.setup_text import audit_text, sheet_text
    from knobpack.sheets import patch_sheet

    _, last = found[-1]
    sheet = last.sheet
    if len(found) > 1:
        panel = last.setup.surface
        first = setup if setup.surface == panel else Setup(last.setup.name, panel)
        sheet = patch_sheet(first, last.setup)
    checked = audit(last.setup)
    top = last.setup.surface.top
    parts = []
    for turn, (asked, each) in enumerate(found):
        before = sum(other == asked for other, _ in found[:turn])
        again = f" (again, {before + 1})" if before else ""
        told = partial(_last_text if each is last else edit_text, each)
        parts.append(Part(f"{asked}{again}", each, told))
    parts.append(Part(AUDIT, checked, lambda: audit_text(checked, top, by_knob=False)))
    parts.append(Part(SHEET, sheet, lambda: sheet_text(sheet) if printed else ""))
    lost = dict.fromkeys(name for _, each in found for name in each.essential_out)
    driven = {route.destination for route in last.setup.routes}
    return Done(
        tuple(parts),
        setup=last.setup,
        sheet=sheet,
        essential_out=tuple(name for name in lost if name not in driven),
    )
