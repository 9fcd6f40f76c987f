# The names that questions.py offers, and what its methods take, for type checkers.

from knobpack import questions as _here  # noqa: PLW0406 - of one name are a function and a method
from knobpack import show as _show
from knobpack.clash.every import EveryClash as EveryClash
from knobpack.clash.every import every_clash as every_clash
from knobpack.clash.find import Clash as Clash
from knobpack.clash.find import WayOut as WayOut
from knobpack.explanation.best_layouts import BestLayouts as BestLayouts
from knobpack.explanation.best_layouts import Place as Place
from knobpack.explanation.best_layouts import best_layouts as best_layouts
from knobpack.explanation.budget import knob_budget as knob_budget
from knobpack.explanation.budget_answer import Budget as Budget
from knobpack.explanation.budget_answer import FamilyBudget as FamilyBudget
from knobpack.explanation.budget_answer import FewerKnobs as FewerKnobs
from knobpack.explanation.budget_answer import MoreKnobs as MoreKnobs
from knobpack.explanation.budget_entry import Entry as Entry
from knobpack.explanation.company import Company as Company
from knobpack.explanation.company import Differing as Differing
from knobpack.explanation.comparison import Comparison as Comparison
from knobpack.explanation.comparison import TermChange as TermChange
from knobpack.explanation.demand_prices import DemandPrice as DemandPrice
from knobpack.explanation.demand_prices import DemandPrices as DemandPrices
from knobpack.explanation.demand_prices import each_price as each_price
from knobpack.explanation.demand_prices import price_of_demands as price_of_demands
from knobpack.explanation.free_knob import KnobOffer as KnobOffer
from knobpack.explanation.here import Here as Here
from knobpack.explanation.here import why as why
from knobpack.explanation.here import why_here as why_here
from knobpack.explanation.instead import Instead as Instead
from knobpack.explanation.least import Crowd as Crowd
from knobpack.explanation.least import LeastKnobs as LeastKnobs
from knobpack.explanation.least import least_knobs as least_knobs
from knobpack.explanation.not_there import NotThere as NotThere
from knobpack.explanation.not_there import why_not as why_not
from knobpack.explanation.shared import Shared as Shared
from knobpack.explanation.shared import why_shared as why_shared
from knobpack.explanation.unplaced import Unplaced as Unplaced
from knobpack.explanation.unplaced import why_unplaced as why_unplaced
from knobpack.explanation.ways import Way as Way
from knobpack.explanation.what_if import Difference as Difference
from knobpack.explanation.what_if import Moved as Moved
from knobpack.explanation.what_if import what_if as what_if
from knobpack.explanation.whole import Explanation as Explanation
from knobpack.explanation.whole import explain as explain
from knobpack.explanation.witness import Witness as Witness
from knobpack.reasons.answer_graph import Answer as Answer
from knobpack.reasons.answer_graph import Reasoned as Reasoned
from knobpack.reasons.facts import Fact as Fact
from knobpack.reasons.facts import Obstacle as Obstacle
from knobpack.reasons.graph import layout_graph as layout_graph
from knobpack.words.demand import Demand as Demand

__all__: list[str]

class AskedOfAllocation:
    __slots__ = ()
    why = _here.why
    why_not = _here.why_not
    why_shared = _here.why_shared
    why_unplaced = _here.why_unplaced
    knob_budget = _here.knob_budget
    best_layouts = _here.best_layouts
    price_of_demands = _here.price_of_demands
    what_if = _here.what_if
    explain = _here.explain

class AskedOfRequest:
    __slots__ = ()
    least_knobs = _here.least_knobs
    every_clash = _here.every_clash

class AskedOfShow:
    __slots__ = ()
    as_laid_out = _show.as_laid_out
    what_if = _show.what_if_show
    why_elsewhere = _show.why_elsewhere
    one_more_knob = _show.one_more_knob
    odd_songs = _show.odd_songs
    worth_freeing = _show.worth_freeing
    with_song = _show.with_song
    without_song = _show.without_song
    in_order = _show.show_in_order
    with_voice = _show.with_voice
    on_panel = _show.on_panel

class AskedElsewhere:
    __slots__ = ()

def rows_of_help() -> str: ...
