"""File names: one for each snapshot, that every system takes."""

from __future__ import annotations

import unicodedata

LONGEST = 120
"""Bytes of the snapshot's name that are kept, at most; file systems take 255 in all, or fewer."""

ENDING = ".mid"
"""How the name of a Standard MIDI File ends."""

_KEPT = " -_+(),"


def file_name(place: int, count: int, snapshot: str) -> str:
    """The name of the file of a snapshot: ``02 only Pad.mid``.

    The number in front is the snapshot's place. It keeps names apart that are the same to a file
    system, and any of them from standing for a device; files are sorted as the snapshots are.

    Args:
        place: of the snapshot in its setup, counted from 1.
        count: how many snapshots there are; so many digits the number has, but two at least.
        snapshot: its name. Letters and digits of any script are kept; what else there is and may
            mean something to a file system becomes ``_``.
    """
    composed = unicodedata.normalize("NFC", snapshot)
    safe = "".join(mark if _kept(mark) else "_" for mark in composed)
    cut = safe.encode()[:LONGEST].decode(errors="ignore").rstrip(" ")
    return f"{place:0{max(2, len(str(count)))}d} {cut}{ENDING}"


def _kept(mark: str) -> bool:
    return mark in _KEPT or unicodedata.category(mark)[0] in "LMN"
