"""Questions about an allocation or a request, each answered by a value that can be checked.

The questions about one allocation are methods of it as well, those about one request of that.
"""

from knobpack.clash.every import EveryClash, every_clash
from knobpack.clash.find import Clash, WayOut
from knobpack.explanation.best_layouts import BestLayouts, Place, best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.budget_answer import (
    Budget,
    FamilyBudget,
    FewerKnobs,
    KnobGivenUp,
    MoreKnobs,
)
from knobpack.explanation.budget_entry import Entry
from knobpack.explanation.company import Company, Differing
from knobpack.explanation.comparison import Comparison, TermChange
from knobpack.explanation.free_knob import KnobOffer
from knobpack.explanation.here import Here, why_here
from knobpack.explanation.least import Crowd, LeastKnobs, least_knobs
from knobpack.explanation.not_there import NotThere, why_not
from knobpack.explanation.shared import Shared, why_shared
from knobpack.explanation.unplaced import Unplaced, why_unplaced
from knobpack.explanation.ways import Way
from knobpack.explanation.what_if import Difference, Moved, what_if
from knobpack.explanation.whole import Explanation, explain
from knobpack.explanation.why import why
from knobpack.explanation.witness import Witness
from knobpack.explanation.worth import Worth, Worths, each_price, price_of_demands
from knobpack.reasons.answer_graph import Answer, Reasoned
from knobpack.reasons.facts import Fact, Obstacle
from knobpack.reasons.graph import clash_graph, layout_graph
from knobpack.words.demand import Demand

__all__ = [
    "Answer",
    "BestLayouts",
    "Budget",
    "Clash",
    "Company",
    "Comparison",
    "Crowd",
    "Demand",
    "Difference",
    "Differing",
    "Entry",
    "EveryClash",
    "Explanation",
    "Fact",
    "FamilyBudget",
    "FewerKnobs",
    "Here",
    "KnobGivenUp",
    "KnobOffer",
    "LeastKnobs",
    "MoreKnobs",
    "Moved",
    "NotThere",
    "Obstacle",
    "Place",
    "Reasoned",
    "Shared",
    "TermChange",
    "Unplaced",
    "Way",
    "WayOut",
    "Witness",
    "Worth",
    "Worths",
    "best_layouts",
    "clash_graph",
    "each_price",
    "every_clash",
    "explain",
    "knob_budget",
    "layout_graph",
    "least_knobs",
    "price_of_demands",
    "what_if",
    "why",
    "why_here",
    "why_not",
    "why_shared",
    "why_unplaced",
]
