"""What an edit names, looked up in the setup that it edits."""

from __future__ import annotations

from collections.abc import Iterable

from knobpack.errors import InputError
from knobpack.setup_as_read import Reading
from knobpack.words.fields import check_named


def named_destinations(reading: Reading, where: str, names: Iterable[str]) -> tuple[str, ...]:
    """The full names of all that is named, in the order of the setup.

    Args:
        reading: the setup.
        where: the field that they were given in.
        names: each a destination, voice or group, or a knob, which stands for what it drives.

    Raises:
        InputError: one names nothing that is there, or nothing at all is named.
    """
    found: set[str] = set()
    for position, name in enumerate(names):
        if name in reading.known:
            inside = reading.named((name,))
        else:
            voices = (each.name for each in reading.setup.voices)
            groups = (each.name for each in reading.setup.groups)
            known = [*voices, *groups, *reading.destinations, *reading.carries]
            right = "name a voice/destination, a voice, a group or a knob of the setup"
            check_named(f"{where}[{position}]", name, known, right)
            inside = frozenset(reading.carries[name])
        if not inside:
            raise InputError(f"{where}[{position}]", name, "name something that can be driven")
        found |= inside
    return tuple(name for name in reading.destinations if name in found)


def usable(reading: Reading, where: str, knob: str) -> str:
    """A knob of the panel that is not broken.

    Raises:
        InputError: there is no such knob, or it is broken.
    """
    check_knob(reading, where, knob)
    if knob in reading.broken:
        raise InputError(where, knob, "it is broken; name another knob, or have it back in use")
    return knob


def check_knob(reading: Reading, where: str, knob: str) -> None:
    """Refuse what is no knob of the panel.

    Raises:
        InputError: it is none.
    """
    check_named(where, knob, reading.setup.surface.knob_names, "name a knob of the setup's surface")
