"""Which demands clash, minimally, and the cheapest ways out."""

from knobpack.clash.find import Clash, ImpossibleDemands, WayOut, find_clash, is_possible

__all__ = [
    "Clash",
    "ImpossibleDemands",
    "WayOut",
    "find_clash",
    "is_possible",
]
