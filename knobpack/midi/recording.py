"""Recording: a Standard MIDI File recorded while knobs were turned."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence

import attrs

from knobpack.errors import InputError
from knobpack.midi.controls import Control, controls, pairing
from knobpack.midi.smf import control_changes
from knobpack.shown import Sentences, Table, Told, counted


@attrs.frozen
class Recording(Told):
    """What controls did in a file.

    Args:
        controls: the controls that changed, by channel and number, parameters last.
        remarks: what was not quite right in the file, and what was passed over.
    """

    controls: tuple[Control, ...] = attrs.field(repr=counted)
    remarks: tuple[str, ...] = ()

    @property
    def sentences(self) -> tuple[str, ...]:
        """Each control with where it went, how its halves were paired, and the remarks."""
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        if not self.controls:
            yield "No control changed in this recording."
        for each in self.controls:
            values = [value for _, value in each.positions]
            name = each.name[0].upper() + each.name[1:]
            yield (
                f"{name}: {len(values)} positions of {each.bits} bits, from {min(values)} to "
                f"{max(values)}, left at {each.last}."
            )
        yield from pairing(self.controls)
        yield from self.remarks

    @property
    def _parts(self) -> Sequence[Sentences | Table]:
        rows = tuple(
            (
                each.name,
                str(each.bits),
                str(min(value for _, value in each.positions)),
                str(max(value for _, value in each.positions)),
                str(each.last),
            )
            for each in self.controls
        )
        heads = ("control", "bits", "lowest", "highest", "left at")
        told = (*pairing(self.controls), *self.remarks)
        return (Table("Controls", heads, rows), *([Sentences(told)] if told else []))


def read_recording(data: bytes) -> Recording:
    """Read a recording.

    Args:
        data: the bytes of a Standard MIDI File of any format, at most 8 MB.

    Returns:
        What controls did in it: controllers of 7 bits, of 14 bits and non-registered parameters.

    Raises:
        InputError: it is no Standard MIDI File, or is broken; the field says at which byte.

    Source:
        RP-001 (Standard MIDI Files 1.0); MIDI 1.0 Detailed Specification, pages 12 and 17.

    Example:
        >>> from knobpack.midi import read_recording
        >>> track = bytes.fromhex("00 B0 10 20 60 B0 10 40 00 FF 2F 00")
        >>> head = b"MThd" + bytes.fromhex("00000006 0000 0001 0060")
        >>> recording = read_recording(head + b"MTrk" + len(track).to_bytes(4, "big") + track)
        >>> print(recording)
        Controller 16 (General Purpose Controller 1) on channel 1: 2 positions of 7 bits, from 32 \
to 64, left at 64.
    """
    changes, remarks = control_changes(data)
    found, passed = controls(changes)
    return Recording(found, (*remarks, *passed))


def load_recording(path: str | os.PathLike[str]) -> Recording:
    """Read a recording from a file.

    Args:
        path: the file, at most 8 MB.

    Returns:
        What :func:`read_recording` makes of it.

    Raises:
        InputError: as :func:`read_recording`, with a note that names the file.
        FileError: the file cannot be read.
    """
    from knobpack.disk import read_bytes

    content = read_bytes(path)
    try:
        return read_recording(content)
    except InputError as error:
        error.add_note(f"in the file {os.fspath(path)!r}")
        raise
