"""Made: a destination from an entry, or the reason why there is none."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import attrs

from knobpack.exchange.entry import PER_NOTE, Entry
from knobpack.exchange.meanings import kind_of
from knobpack.exchange.remarks import Remarks
from knobpack.positions.scaling import scaled, top, zero_extended
from knobpack.positions.steps import step_at
from knobpack.words import Destination, Travel

_ALL: Final = 32
_LAST_OF_A_UNIT: Final = 31
"""Registered parameters of an LSB up to this one hold a number with a unit (M2-115-U, 3.1)."""

_ON_OFF: Final = frozenset({"toggle", "momentary"})
"""Hints of two states. That momentary is one of them is common practice, no source."""


@attrs.frozen
class _Nothing:
    """Why there is nothing to drive."""

    why: str


def destination_of(
    entry: Entry, name: str, maps: Mapping[str, tuple[int, ...]], bits: int, remarks: Remarks
) -> Destination | None:
    """What a knob may drive.

    Args:
        entry: what is recognized.
        name: its name, unique in the voice.
        maps: the values of each map.
        bits: the resolution of the surface.
        remarks: told what is tolerated, and why there is nothing.

    Returns:
        The destination; None where no knob could do anything to it.
    """
    steps = _steps(entry, maps, bits, remarks)
    travel = _travel(entry, bits)
    for found in (steps, travel):
        if isinstance(found, _Nothing):
            remarks.add(entry.place, f"it is left out: {found.why}")
            return None
    if entry.recognize == "relative":
        told = "it takes changes alone, so that a travel moves it from wherever it stands"
        remarks.add(entry.place, told)
    if entry.ctrl_type in PER_NOTE:
        remarks.add(
            entry.place, "it is of one note: a knob is to be sent to every note that sounds"
        )
    return Destination(
        name,
        kind_of(entry.name, entry.path, entry.ctrl_type, entry.index),
        entry.priority,
        travel=travel if isinstance(travel, Travel) else None,
        steps=steps if isinstance(steps, int) else None,
    )


def _steps(
    entry: Entry, maps: Mapping[str, tuple[int, ...]], bits: int, remarks: Remarks
) -> int | _Nothing | None:
    mapped = _mapped(entry, maps, remarks)
    if isinstance(mapped, _Nothing):
        return mapped
    if entry.span is not None and mapped is None and entry.hint in _ON_OFF:
        return None  # two states within a range: steps are counted over all positions
    steps = entry.steps or mapped or (2 if entry.hint in _ON_OFF else None)
    if entry.steps and mapped and entry.steps != mapped:
        told = "its stepCount is not the number of values in its map; the stepCount is taken"
        remarks.add(entry.place, told)
    if steps is not None and steps > 2 and 2 * steps > 1 << bits:
        told = (
            f"it has more steps than half the positions of {bits} bits, which M2-115-U (5) warns of"
        )
        remarks.add(entry.place, told)
    return steps


def _mapped(
    entry: Entry, maps: Mapping[str, tuple[int, ...]], remarks: Remarks
) -> int | _Nothing | None:
    """How many values its map has, where they are all the values that there are."""
    if entry.map_id is None or entry.hint == "continuous":
        return None
    values = maps.get(entry.map_id)
    if values is None:
        told = f"its map {entry.map_id} was not given; its values are not counted"
        remarks.add(entry.place, told)
        return None
    if len(values) < 2:
        return _Nothing("its map has no two values to choose from")
    if entry.span is not None:
        remarks.add(entry.place, "its map has values within a range; they are not counted")
        return None
    steps = len(values)
    if steps > 2 and len({step_at(value, steps, _ALL) for value in values}) < steps:
        told = "the values of its map are not spread evenly; they are taken for even steps"
        remarks.add(entry.place, told)
    return steps


def _travel(entry: Entry, bits: int) -> Travel | _Nothing | None:
    """Its range, scaled down to the positions of the surface; None: the full travel."""
    if entry.span is None:
        return None
    unit = entry.ctrl_type == "rpn" and entry.index[1] <= _LAST_OF_A_UNIT
    scale = zero_extended if unit else scaled
    low, high = (scale(end, _ALL, bits) for end in entry.span)
    if low == high:
        return _Nothing(f"its range lies within one position of {bits} bits")
    return None if (low, high) == (0, top(bits)) else Travel(low, high)
