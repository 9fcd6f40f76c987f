"""Travels: how far each knob of a setup goes."""

from __future__ import annotations

from knobpack.words import Setup, Travel


def travels_of(setup: Setup) -> dict[str, Travel]:
    """The travel of every knob of a setup; the full one where none is set."""
    full = Travel.full(setup.surface.bits)
    travels = dict.fromkeys(setup.surface.knob_names, full)
    return travels | {setting.knob: setting.travel for setting in setup.travels}


def within(travel: Travel, top: int) -> bool:
    """Whether a travel lies within the positions 0 to ``top``."""
    return max(travel.start, travel.end) <= top


def cut_off(travel: Travel, top: int) -> Travel:
    """A travel with its ends brought within the positions 0 to ``top``."""
    return Travel(min(travel.start, top), min(travel.end, top))
