"""Audition: a snapshot as a Standard MIDI File, to be heard or checked."""

from knobpack.audition.sweep_file import SweepFile, sweep_file, sweep_files

__all__ = [
    "SweepFile",
    "sweep_file",
    "sweep_files",
]
