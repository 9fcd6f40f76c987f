"""Combining setups: voices from other setups brought to a base, and all allocated."""

from knobpack.combination.answer import Combination
from knobpack.combination.combine import combine, taking
from knobpack.combination.leaving import without_source
from knobpack.combination.offer import Offer
from knobpack.combination.report import (
    Brought,
    Carried,
    IdleKnob,
    Left,
    Played,
    Slip,
    Source,
    Unlayered,
)
from knobpack.missed_travels import MissedTravel
from knobpack.stored_positions import Overruled

__all__ = [
    "Brought",
    "Carried",
    "Combination",
    "IdleKnob",
    "Left",
    "MissedTravel",
    "Offer",
    "Overruled",
    "Played",
    "Slip",
    "Source",
    "Unlayered",
    "combine",
    "taking",
    "without_source",
]
