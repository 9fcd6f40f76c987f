"""Audition: a snapshot as a Standard MIDI File, to be heard or checked."""

from knobpack.audition.sweep_file import SweepFile as SweepFile
from knobpack.audition.sweep_file import sweep_file as sweep_file
from knobpack.audition.sweep_file import sweep_files as sweep_files
