# What knobpack offers, for type checkers; __init__.py loads each name when it is asked for.

from knobpack.allocation import Allocation as Allocation
from knobpack.allocation import Following as Following
from knobpack.allocation import NewLayer as NewLayer
from knobpack.allocation import Tier as Tier
from knobpack.allocator import DEFAULT_EFFORT as DEFAULT_EFFORT
from knobpack.allocator import Progress as Progress
from knobpack.allocator import allocate as allocate
from knobpack.allocator import allocate_request as allocate_request
from knobpack.allocator import fewest_knobs as fewest_knobs
from knobpack.checker import Breach as Breach
from knobpack.checker import Check as Check
from knobpack.checker import check as check
from knobpack.clash.find import Clash as Clash
from knobpack.clash.find import ImpossibleDemands as ImpossibleDemands
from knobpack.clash.find import WayOut as WayOut
from knobpack.errors import InputError as InputError
from knobpack.errors import KnobpackError as KnobpackError
from knobpack.errors import NoLayoutFound as NoLayoutFound
from knobpack.prices import TIERS as TIERS
from knobpack.prices import Prices as Prices
from knobpack.words import Alone as Alone
from knobpack.words import Apart as Apart
from knobpack.words import Barred as Barred
from knobpack.words import Destination as Destination
from knobpack.words import Fixed as Fixed
from knobpack.words import Group as Group
from knobpack.words import Knob as Knob
from knobpack.words import KnobTravel as KnobTravel
from knobpack.words import Layout as Layout
from knobpack.words import Request as Request
from knobpack.words import Route as Route
from knobpack.words import Rule as Rule
from knobpack.words import Setup as Setup
from knobpack.words import Snapshot as Snapshot
from knobpack.words import Surface as Surface
from knobpack.words import Together as Together
from knobpack.words import Travel as Travel
from knobpack.words import Voice as Voice
from knobpack.words import VoiceLayer as VoiceLayer
from knobpack.words import Weights as Weights

__version__: str
__all__: list[str]
