# What knobpack.combination offers, for type checkers; __init__.py loads each when asked for it.

from knobpack.combination.answer import Combination as Combination
from knobpack.combination.combiner import combine as combine
from knobpack.combination.combiner import taking as taking
from knobpack.combination.offer import Offer as Offer
from knobpack.combination.report import Brought as Brought
from knobpack.combination.report import Carried as Carried
from knobpack.combination.report import GaveWay as GaveWay
from knobpack.combination.report import IdleKnob as IdleKnob
from knobpack.combination.report import NotAsItWas as NotAsItWas
from knobpack.combination.report import Played as Played
from knobpack.combination.report import Slip as Slip
from knobpack.combination.report import Source as Source
from knobpack.combination.report import Unlayered as Unlayered
from knobpack.combination.taken_away import without_source as without_source
from knobpack.combination.wanted import ThereAlready as ThereAlready
from knobpack.setups.missed_travels import MissedTravel as MissedTravel
from knobpack.setups.stored_positions import Overruled as Overruled

__all__: list[str]
