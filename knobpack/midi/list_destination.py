"""List destination: what an entry of a list makes, or the reason why it makes nothing.

Its kind is what the standards, the path or the name say; its steps come from a CtrlMapList, where
that names the values to choose from (M2-117-UM, section 4).
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from knobpack.errors import InputError
from knobpack.midi.control_change_table import ASSIGNABLE, TABLE
from knobpack.midi.imported import ListedController
from knobpack.midi.list_entry import PER_NOTE, ListEntry, check_map_id, worded
from knobpack.midi.list_keys import Keys, Remarks, noted, objects
from knobpack.positions.resolution import scaled, top, zero_extended
from knobpack.positions.steps import step_at
from knobpack.words import Destination, Travel
from knobpack.words.loudness import level_like
from knobpack.words.travel import HIGHEST_POSITION

_ALL: Final = 32
_LAST_OF_A_UNIT: Final = 31
"""Registered parameters of an LSB up to this one hold a number with a unit (M2-115-U, 3.1)."""

_ON_OFF: Final = frozenset({"toggle", "momentary"})
"""Hints of two states. That momentary is one of them is common practice, no source."""

_LEVEL: Final = "level"

_LOUDNESS: Final = frozenset({7, 11})
"""Channel volume and expression: the decibels of both are added up (GM2 3.3.4 and 3.3.6)."""

_NO_MEANING: Final = frozenset({12, 13, 79})
"""Effect controls and the tenth sound controller: defined, with a meaning each device chooses."""

_WITHOUT_INDEX: Final = {
    "chPress": "channel pressure",
    "pPress": "key pressure",
    "pBend": "pitch bend",
    "pnp": "pitch",
}

_PARAMETERS: Final = {
    (0, 0): "pitch bend sensitivity",
    (0, 1): "fine tuning",
    (0, 2): "coarse tuning",
    (0, 3): "tuning program",
    (0, 4): "tuning bank",
    (0, 5): "modulation depth range",
}
"""Registered parameters, MSB and LSB (association table of RPNs; GM2)."""

_NUMBERS: Final = {
    row.number: _LEVEL if row.number in _LOUDNESS else worded(row.name)
    for row in TABLE
    if row.number in ASSIGNABLE
    and row.number not in _NO_MEANING
    and not (row.undefined or row.general)
}
"""What the standards say that a controller controls, by its number."""


class _LeftOut(Exception):  # noqa: N818 - it never leaves this file
    """There is nothing to drive; its text says why."""


def destination_of(
    entry: ListEntry, name: str, maps: Mapping[str, tuple[int, ...]], bits: int
) -> Destination | None:
    """What a knob may drive.

    Args:
        entry: what is recognized; its remarks are told what is tolerated, and why there is nothing.
        name: its name, unique in the voice.
        maps: the values of each map.
        bits: the resolution of the surface.

    Returns:
        The destination; None where no knob could do anything to it.
    """
    try:
        steps, travel = _steps(entry, maps, bits), _travel(entry, bits)
    except _LeftOut as why:
        entry.remark(f"it is left out: {why}")
        return None
    if entry.listed.recognize == "relative":
        entry.remark("it takes changes alone, so that a travel moves it from wherever it stands")
    if entry.listed.ctrl_type in PER_NOTE:
        entry.remark("it is of one note: a knob is to be sent to every note that sounds")
    return Destination(name, _kind(entry), entry.priority, travel=travel, steps=steps)


def _steps(entry: ListEntry, maps: Mapping[str, tuple[int, ...]], bits: int) -> int | None:
    mapped, on_off = _mapped(entry, maps), entry.hint in _ON_OFF
    if entry.span is not None and mapped is None and on_off:
        return None  # two states within a range: steps are counted over all positions
    steps = entry.steps or mapped or (2 if on_off else None)
    if entry.steps and mapped and entry.steps != mapped:
        entry.remark("its stepCount is not the number of values in its map; the stepCount is taken")
    if steps is not None and 2 * steps > 1 << bits:
        half = f"half the positions of {bits} bits"
        entry.remark(f"it has more steps than {half}, which M2-115-U (5) warns of")
    return steps


def _mapped(entry: ListEntry, maps: Mapping[str, tuple[int, ...]]) -> int | None:
    """How many values its map has, where they are all the values that there are."""
    if entry.map_id is None or entry.hint == "continuous":
        return None
    values = maps.get(entry.map_id)
    if values is None:
        entry.remark(f"its map {entry.map_id} was not given; its values are not counted")
        return None
    if len(values) < 2:
        raise _LeftOut("its map has no two values to choose from")
    if entry.span is not None:
        entry.remark("its map has values within a range; they are not counted")
        return None
    steps = len(values)
    if steps > 2 and len({step_at(value, steps, _ALL) for value in values}) < steps:
        entry.remark("the values of its map are not spread evenly; they are taken for even steps")
    return steps


def _travel(entry: ListEntry, bits: int) -> Travel | None:
    """Its range, scaled down to the positions of the surface; None: the full travel."""
    if entry.span is None:
        return None
    unit = entry.listed.ctrl_type == "rpn" and entry.listed.ctrl_index[1] <= _LAST_OF_A_UNIT
    scale = zero_extended if unit else scaled
    low, high = (scale(end, _ALL, bits) for end in entry.span)
    if low == high:
        raise _LeftOut(f"its range lies within one position of {bits} bits")
    return None if (low, high) == (0, top(bits)) else Travel(low, high)


def _standard_kind(controller: ListedController) -> str:
    """What the standards say that a controller controls; empty where they leave it open."""
    index = controller.ctrl_index
    match controller.ctrl_type:
        case "cc":
            return _NUMBERS.get(index[0], "")
        case "rpn":
            return _PARAMETERS.get((index[0], index[1]), "")
        # Registered per-note controllers keep the numbers 7 and 11 (M2-104-UM; from memory).
        case "pnrc" if index[0] in _LOUDNESS:
            return _LEVEL
        case other:
            return _WITHOUT_INDEX.get(other, "")


def _kind(entry: ListEntry) -> str:
    """The kind of a destination.

    The last part of its path that is more than a number says it, else the standard meaning of its
    controller, else its name. But if one of these can change how loud a voice is, that one: a
    caution too many is better than one too few.
    """
    name = entry.listed.title
    last = next((part for part in reversed(entry.path) if not part.isdecimal()), "")
    said = [each for each in (last, _standard_kind(entry.listed), worded(name)) if each]
    return next(filter(level_like, said), said[0] if said else name)


def maps_of(given: object, remarks: Remarks) -> dict[str, tuple[int, ...]]:
    """The values of each map that was given, under its id.

    Args:
        given: a mapping from ctrlMapId to a CtrlMapList, each as text, bytes, path or list; None:
            none.
        remarks: told what is tolerated.

    Returns:
        For each id its values, of 32 bits, ascending, each once.

    Raises:
        InputError: it is no such mapping, or an entry holds a value it cannot hold.
    """
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        raise InputError("maps", given, "give a mapping from ctrlMapId to CtrlMapList, or None")
    found = {}
    for map_id, listed in given.items():
        check_map_id("maps", map_id)
        where = f'maps["{map_id}"]'
        with noted(where, listed):
            values = [_value(keys) for keys in objects(where, listed, ("value", "title"), remarks)]
        if len(set(values)) < len(values):
            remarks.add(where, "a value is in it twice, and counts once")
        found[map_id] = tuple(sorted(set(values)))
    return found


def _value(keys: Keys) -> int:
    keys.required("value")
    keys.text("title", needed=True)
    return keys.whole("value", 0, HIGHEST_POSITION) or 0
