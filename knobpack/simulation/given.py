"""Given: what a caller names of a setup, looked up."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.errors import InputError
from knobpack.reading import Reading
from knobpack.words import Snapshot, fields
from knobpack.words.naming import listed


def snapshot_named(where: str, reading: Reading, name: str) -> Snapshot:
    """The snapshot of that name; where none is stored, there is ``everything``.

    Raises:
        InputError: there is none; ``where`` says where the name was given.
    """
    for snapshot in reading.snapshots:
        if snapshot.name == name:
            return snapshot
    known = listed([repr(snapshot.name) for snapshot in reading.snapshots])
    raise InputError(where, name, f"name a snapshot of the setup: {known}")


def placed(where: str, reading: Reading, start: Mapping[str, int] | None) -> dict[str, int]:
    """Where every knob stands before anything moves: the start of its travel if not given.

    Raises:
        InputError: ``start`` names no knob of the surface, or a position outside its range.
    """
    found = {knob: travel.start for knob, travel in reading.goes.items()}
    if start is not None and not isinstance(start, Mapping):
        raise InputError(where, start, "give a position for each name of a knob")
    for knob, position in (start or {}).items():
        if knob not in found:
            raise InputError(where, knob, "name a knob of the surface")
        fields.check_whole(f"{where}[{knob!r}]", position, 0, reading.setup.surface.top)
        found[knob] = position
    return found
