"""Which demands clash, minimally, and the cheapest ways out."""

from knobpack.clash.find import Clash as Clash
from knobpack.clash.find import ImpossibleDemands as ImpossibleDemands
from knobpack.clash.find import WayOut as WayOut
from knobpack.clash.find import find_clash as find_clash
from knobpack.clash.find import is_possible as is_possible
