"""A request or lists of instruments laid out, a setup laid out anew; and what was recorded."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

import attrs

from knobpack.allocation import Allocation
from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.names import name_of_file
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import FINE_BITS, give
from knobpack.command.paths import in_file
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.words import Request, Setup, Surface
from knobpack.words.names import listed
from knobpack.words.rules import rule_knobs

PLAIN = 8
"""Knobs of the panel where none is given."""


def allocating(options: argparse.Namespace) -> int:
    """``allocate``: a request laid out, or as it was; what knobs drive of a setup, anew."""
    (path,) = options.files
    found = inputs.word(path, options)
    if isinstance(found, Setup):
        from knobpack.combination.combiner import combine
        from knobpack.combination.held_routes import meets
        from knobpack.setups.as_read import read
        from knobpack.setups.undriven import stays_undriven

        empty = Setup(f"{found.name[:100]} anew", attrs.evolve(found.surface, reserved=()))
        # Places are of the panel as it was; what edits joined and parted stays so.
        agreed = (rule for rule in found.agreed if meets(read(found), rule))
        rules = tuple(rule for rule in agreed if not rule_knobs(rule))
        leave = stays_undriven(found)
        with going_on("searching", options) as limits:
            made = combine(empty, found, rules=rules, leave=leave, unreached=True, **limits)
        allocation = made.allocation
        setup = attrs.evolve(made.setup, name=found.name, agreed=rules)
    else:
        allocation = found if isinstance(found, Allocation) else inputs.laid_out(found, options)
        setup = allocation.setup(name_of_file(path))
        leave = ()
    lost, parts = allocation.essential_out, [laid(allocation, options)]
    if leave:
        told = f"No knob drove {listed(leave)}: knobpack edit SETUP own NAME gives one a knob."
        parts.append(ShownAnswer("left out", None, text_below("LEFT OUT", [told])))
    if lost and not isinstance(found, Setup):
        from knobpack.edits.without_snapshots import placed_without_told

        with going_on("looking for ways out", options) as limits:
            run = begun("allocate", DEFAULT_EFFORT, Limits(**limits))
            instead = [*placed_without_told(allocation, run, "take {} out of the request")]
        if instead:
            parts.append(ShownAnswer("ways out", None, text_below("A WAY OUT", instead)))
    outcome = VerbOutcome((*parts,), allocation, setup, essential_out=lost)
    return give(outcome, options)


def laid(allocation: Allocation, options: argparse.Namespace) -> ShownAnswer:
    """A layout as an answer."""
    from knobpack.present.text import layout_text

    return ShownAnswer(
        "layout", allocation, lambda wide: layout_text(allocation, wide, details=options.details)
    )


def listening(options: argparse.Namespace) -> int:
    """``listen``: positions or travels that were turned put into a setup.

    A knob of which the setup does not say what it sends is heard on the number that ``midi`` gives.
    """
    (path,) = options.files
    setup = inputs.setup(path, options)
    with going_on("listening", options):
        from knobpack.midi import controller_numbers, hear_positions, hear_travels
        from knobpack.midi.recordings import recording_of
        from knobpack.present.setup_text import change_text

        recording = recording_of(*options.recorded)
        numbers = controller_numbers(setup, fine=setup.surface.bits >= FINE_BITS)
        if options.into is not None:
            found = hear_positions(setup, recording, options.into, numbers=numbers)
        else:
            found = hear_travels(setup, recording, numbers=numbers)
    heading = f"HEARD  {found.setup.name}"
    part = ShownAnswer("heard", found, partial(change_text, heading, found, panel=False))
    if not found.done and options.setup != "-":
        options.setup = None  # nothing was put into it
    return give(VerbOutcome((part,), setup=found.setup, before=setup), options)


def reading_lists(options: argparse.Namespace) -> int:
    """``lists``: voices of controller lists, laid out on a panel."""
    from knobpack.midi import import_controllers

    surface = Surface.row(PLAIN)
    if options.panel is not None:
        surface = inputs.surface(options.panel, options)
    found = {}
    for path in dict.fromkeys(options.files):
        name = name_of_file(path)
        try:
            found[path] = import_controllers(
                options.plain.get(path), name, options.receives or 1, bits=surface.bits
            )
        except InputError as error:
            error.add_note(in_file(path))
            raise
    voices = [voice for each in found.values() for voice in each.voices]
    groups = [group for each in found.values() for group in each.groups]
    allocation = inputs.laid_out(Request(surface, voices, groups=groups), options)
    setup = allocation.setup(Path(options.files[0]).stem[:120] or "Lists")
    head = "CONTROLLER LISTS"
    parts = [
        ShownAnswer(path, each, text_below(head, each.sentences)) for path, each in found.items()
    ]
    lost = allocation.essential_out
    heard = tuple(voice for each in found.values() for voice in each.listening)
    outcome = VerbOutcome(
        (*parts, laid(allocation, options)), allocation, setup, essential_out=lost, listening=heard
    )
    return give(outcome, options)
