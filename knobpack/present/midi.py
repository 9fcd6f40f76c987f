"""MIDI: controller numbers for the knobs of a setup, and a file for each of its snapshots."""

from __future__ import annotations

import argparse
import importlib.util
from typing import TYPE_CHECKING

from knobpack.errors import InputError, Reason
from knobpack.present.folders import write_all
from knobpack.present.job import Part

if TYPE_CHECKING:
    from knobpack.audition import SweepFile
    from knobpack.words import Setup

FINE_BITS = 8
"""From so many bits on, a position is sent in 14 bits: 7 would be coarser than the surface."""


def check_midi(options: argparse.Namespace) -> None:
    """Refuse what cannot be written or sent.

    Raises:
        InputError: mido is not installed, though files are to be written.
    """
    if options.midi is not None and importlib.util.find_spec("mido") is None:
        right = "install it: pip install 'knobpack[midi]'"
        raise InputError("--midi", Reason("mido is not installed"), right)


def midi_part(
    asked: str, setup: Setup, options: argparse.Namespace
) -> tuple[Part, tuple[SweepFile, ...]]:
    """Choose the numbers of a setup and make its files.

    Args:
        asked: what the part answers.
        setup: the setup.
        options: say on which channel, how much effort, and whether files are to be written.

    Returns:
        The numbers, with what the files do; the files, none where none are to be written.

    Raises:
        InputError: the setup cannot be sent.
    """
    from knobpack.controllers import controller_numbers
    from knobpack.present.setup_text import midi_text

    fine = setup.surface.bits >= FINE_BITS
    channel = options.channel
    found = controller_numbers(setup, channel=channel, fine=fine, effort=options.effort)
    files: tuple[SweepFile, ...] = ()
    if options.midi is not None:
        from knobpack.audition import sweep_files

        files = sweep_files(
            setup,
            found.numbers,
            channel=channel,
            master_number=found.master_number,
            notes=options.notes,
        )
    return Part(asked, found, lambda: midi_text(found, files)), files


def save_midi(files: tuple[SweepFile, ...], folder: str) -> None:
    """Write files to a folder, all of them or none; it is made if it is not there.

    Raises:
        InputError: they cannot be written.
    """
    write_all(folder, {each.file_name: each.save for each in files})
