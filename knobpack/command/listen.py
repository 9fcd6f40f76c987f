"""What knobs did in a recording, and what instruments say of themselves."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from knobpack.command import inputs
from knobpack.command.allocate import laid
from knobpack.command.meter import going_on
from knobpack.command.names import name_of
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import FINE_BITS, give
from knobpack.command.paths import in_file
from knobpack.errors import InputError
from knobpack.words import Request, Surface

PLAIN = 8
"""Knobs of the panel where none is given."""


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
        name = name_of(path)
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
