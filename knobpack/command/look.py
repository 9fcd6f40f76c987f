"""What a setup does, how it is programmed, sent and drawn; nothing is changed."""

from __future__ import annotations

import argparse
from functools import partial

import attrs

from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.command.paths import set_list_in, targets
from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError
from knobpack.words import Setup
from knobpack.words.fields import check_named
from knobpack.words.snapshot import EVERYTHING

POINTS = 129
"""Positions of the master that a sweep goes through, at most: bottom, middle and top among them."""


def auditing(options: argparse.Namespace) -> int:
    """``audit``: what each knob of each setup does."""
    setups = {path: inputs.setup(path, options) for path in dict.fromkeys(options.files)}
    with going_on("auditing", options):
        parts = tuple(audited(path, setup) for path, setup in setups.items())
    only = next(iter(setups.values())) if len(setups) == 1 else None
    return give(VerbOutcome(parts, setup=only), options)


def audited(asked: str, setup: Setup, *, aside: bool = False) -> ShownAnswer:
    """The audit of a setup; ``aside``: it is a detail of what else is shown."""
    from knobpack.auditing.audit import audit
    from knobpack.present.setup_text import audit_text

    found = audit(setup)
    return ShownAnswer(asked, found, partial(audit_text, found, setup, by_knob=not aside), aside)


def jumped(asked: str, setup: Setup, *, aside: bool = False) -> ShownAnswer:
    """What jumps in a setup; ``aside``: it is a detail of what else is shown."""
    from knobpack.present.setup_text import jumps_text
    from knobpack.simulation import worst_changes

    found = worst_changes(setup)
    return ShownAnswer(asked, found, partial(jumps_text, setup, found), aside)


def sweeping(options: argparse.Namespace) -> int:
    """``sweep``: what the master moves in snapshots."""
    (path,) = options.files
    setup = inputs.setup(path, options)
    stored = [snapshot.name for snapshot in setup.snapshots] or [EVERYTHING]
    with going_on("sweeping", options):
        from knobpack.simulation import sweep

        master = min(setup.surface.top + 1, POINTS)
        names = dict.fromkeys(
            check_named("sweep", name, stored, "name a snapshot of the setup")
            for name in options.snapshots or stored
        )
        found = {name: sweep(setup, name, master=master) for name in names}
    head = f"SWEEP  {setup.name}"
    told, warned = dict[str, tuple[str, ...]](), False
    for name, each in found.items():
        told[name] = each.sentences
        if warned:  # to be careful is said once, where it first matters
            told[name] = tuple(line.replace(f" {CAUTION}", "") for line in each.sentences)
        warned = warned or any(CAUTION in line for line in each.sentences)
    parts = [ShownAnswer(name, each, text_below(head, told[name])) for name, each in found.items()]
    return give(VerbOutcome(tuple(parts), setup=setup), options)


def jumping(options: argparse.Namespace) -> int:
    """``jumps``: what jumps when another snapshot is recalled, or from song to song."""
    if set_list_in(options.plain.get(options.files[0])) is not None:
        return _jumping_songs(options)
    setup = inputs.setup(options.files[0], options)
    with going_on("changing snapshots", options):
        part = jumped("jumps", setup)
    return give(VerbOutcome((part,), setup=setup), options)


def _jumping_songs(options: argparse.Namespace) -> int:
    laid = inputs.show_as_it_is(options)
    found, head = laid.jumps, f"JUMPS  {laid.show.name}, from song to song; the worst first"
    part = ShownAnswer("jumps from song to song", found, text_below(head, found.sentences))
    return give(VerbOutcome((part,)), options)


def programming(options: argparse.Namespace) -> int:
    """``sheet``: what to program, from one setup to another or from nothing."""
    first = inputs.setup(options.files[0], options)
    before, after = Setup(first.name, first.surface), first
    if options.after is not None:
        before, after = first, inputs.setup(options.after, options, first)
        _check_surfaces(before, after, options)
    with going_on("comparing", options):
        from knobpack.sheets import patch_sheet
        from knobpack.tables.onto import perhaps_misspelt

        sheet = patch_sheet(before, after)
    slipped = perhaps_misspelt(before, after) if str(options.after).lower().endswith(".csv") else ()
    noted = ShownAnswer("slips", None, text_below("A SLIP?", slipped))
    part = ShownAnswer("patch sheet", sheet, sheet.text if options.sheet is None else lambda _: "")
    parts = (noted, part) if slipped else (part,)
    return give(VerbOutcome(parts, setup=after, before=before), options)


def tabling(options: argparse.Namespace) -> int:
    """``table``: a setup as a table, or as a table says that it is to be."""
    if options.after is not None:
        return programming(options)
    if not any(targets(options)):
        options.table = "-"
    return give(VerbOutcome(setup=inputs.setup(options.files[0], options)), options)


def _check_surfaces(before: Setup, after: Setup, options: argparse.Namespace) -> None:
    for field in attrs.fields(type(before.surface)):
        if getattr(before.surface, field.name) != getattr(after.surface, field.name):
            differ = field.name.replace("_", " ")
            right = (
                f"it must be of the same surface as {options.files[0]}, and the {differ} of the "
                "two differ; to bring the voices of one to the other, use knobpack combine; to "
                "take it to that panel, knobpack move"
            )
            raise InputError("sheet", options.after, right)


def showing(options: argparse.Namespace) -> int:
    """``show``: what a setup holds."""
    setup = inputs.setup(options.files[0], options)
    part = ShownAnswer("setup", None, text_below(f"SETUP  {setup.name}", setup.sentences))
    return give(VerbOutcome((part,), setup=setup), options)


def sending(options: argparse.Namespace) -> int:
    """``midi``: controller numbers of the knobs, and files to hear the setup by."""
    setup = inputs.setup(options.files[0], options)
    return give(VerbOutcome(setup=setup), options)


def drawing(options: argparse.Namespace) -> int:
    """``draw``: a picture of a setup."""
    setup = inputs.setup(options.files[0], options)
    return give(VerbOutcome(setup=setup, picture=options.view or "panel"), options)
