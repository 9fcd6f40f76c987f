"""Combining setups: voices from other setups brought to a base, and all allocated."""

from knobpack.combination.answer import Combination
from knobpack.combination.combine import combine, taking
from knobpack.combination.offer import Offer
from knobpack.combination.report import (
    Brought,
    Carried,
    IdleKnob,
    NotAsItWas,
    Played,
    Slip,
    Source,
    Unlayered,
)
from knobpack.combination.taken_away import without_source
from knobpack.missed_travels import MissedTravel
from knobpack.stored_positions import Overruled

__all__ = [
    "Brought",
    "Carried",
    "Combination",
    "IdleKnob",
    "MissedTravel",
    "NotAsItWas",
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
