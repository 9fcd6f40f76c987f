"""Questions about an allocation or a request, each answered by a value that can be checked.

Here each is told of once: what offers it, and in the methods by which it is asked the line that
tells of it at the terminal. What answers is loaded when it is first asked for, and nothing before.
"""

from __future__ import annotations

from importlib import import_module
from types import MethodType
from typing import TYPE_CHECKING, Any

from knobpack.heavy_imports import on_demand

# ruff: noqa: PLC0414 - "as" tells type checkers that a name is offered here

if TYPE_CHECKING:
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
    from knobpack.explanation.budget_answer import KnobGivenUp as KnobGivenUp
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
    from knobpack.explanation.why import why as why
    from knobpack.explanation.witness import Witness as Witness
    from knobpack.reasons.answer_graph import Answer as Answer
    from knobpack.reasons.answer_graph import Reasoned as Reasoned
    from knobpack.reasons.facts import Fact as Fact
    from knobpack.reasons.facts import Obstacle as Obstacle
    from knobpack.reasons.graph import clash_graph as clash_graph
    from knobpack.reasons.graph import layout_graph as layout_graph
    from knobpack.words.demand import Demand as Demand

_OFFERED = {
    "clash.every": "EveryClash every_clash",
    "clash.find": "Clash WayOut",
    "explanation.best_layouts": "BestLayouts Place best_layouts",
    "explanation.budget": "knob_budget",
    "explanation.budget_answer": "Budget FamilyBudget FewerKnobs KnobGivenUp MoreKnobs",
    "explanation.budget_entry": "Entry",
    "explanation.company": "Company Differing",
    "explanation.comparison": "Comparison TermChange",
    "explanation.free_knob": "KnobOffer",
    "explanation.here": "Here why_here",
    "explanation.instead": "Instead",
    "explanation.least": "Crowd LeastKnobs least_knobs",
    "explanation.not_there": "NotThere why_not",
    "explanation.shared": "Shared why_shared",
    "explanation.unplaced": "Unplaced why_unplaced",
    "explanation.ways": "Way",
    "explanation.what_if": "Difference Moved what_if",
    "explanation.whole": "Explanation explain",
    "explanation.why": "why",
    "explanation.witness": "Witness",
    "explanation.demand_prices": "DemandPrice DemandPrices each_price price_of_demands",
    "reasons.answer_graph": "Answer Reasoned",
    "reasons.facts": "Fact Obstacle",
    "reasons.graph": "clash_graph layout_graph",
    "words.demand": "Demand",
}

__all__ = sorted(" ".join(_OFFERED.values()).split())  # noqa: PLE0605 - ruff reads literals alone

__getattr__, __dir__ = on_demand(__name__, _OFFERED)


class BoundQuestion:
    """A function as a method, loaded when it is first asked for.

    Args:
        told: its row in the help of the command: its word and what follows that, two spaces, what
            it is for; empty: the command does not ask it.
        room: the module within knobpack that offers it.
        name: its name there; empty: that of the method.
    """

    def __init__(self, told: str = "", room: str = "questions", name: str = "") -> None:
        self.told, self.room, self.name = told, room, name

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = self.name or name

    def __get__(self, about: object, owner: type | None = None) -> Any:
        """The function; of what is asked about, with that as its first argument."""
        function = getattr(import_module(f"knobpack.{self.room}"), self.name)
        return function if about is None else MethodType(function, about)


class AskedOfAllocation:
    """The questions about one allocation."""

    __slots__ = ()

    if TYPE_CHECKING:  # the functions themselves, so that type checkers know what they take
        why = why
        why_not = why_not
        why_shared = why_shared
        why_unplaced = why_unplaced
        knob_budget = knob_budget
        best_layouts = best_layouts
        price_of_demands = price_of_demands
        what_if = what_if
        explain = explain
    else:
        why = BoundQuestion("why NAME  why it is on its knob, or why it is left out")
        why_not = BoundQuestion(
            "why-not NAME KNOB  why it is not on that knob, and what that would cost"
        )
        why_shared = BoundQuestion(
            "why-shared KNOB  why all that is on it must share it, and what that costs"
        )
        why_unplaced = BoundQuestion()
        knob_budget = BoundQuestion(
            "knob-budget  what one knob more or fewer would be worth, and to whom"
        )
        best_layouts = BoundQuestion(
            "best-layouts  whether other layouts are as good, and what all of them have in common"
        )
        price_of_demands = BoundQuestion(
            "price-of-demands  what each rule, snapshot, kept route and limit costs the layout"
        )
        what_if = BoundQuestion("what-if FILE  what another request would change")
        explain = BoundQuestion(
            "explain  all of this about every destination and every shared knob"
        )


class AskedOfRequest:
    """The questions about one request."""

    __slots__ = ()

    if TYPE_CHECKING:
        least_knobs = least_knobs
        every_clash = every_clash
    else:
        least_knobs = BoundQuestion(
            "least-knobs  how many knobs it takes to keep every snapshot, and to share none"
        )
        every_clash = BoundQuestion(
            "every-clash  where no layout is possible: every smallest set of demands that clash, "
            "and every way out"
        )


class AskedElsewhere:
    """What is not asked a question itself: it says what is."""

    __slots__ = ()

    if not TYPE_CHECKING:  # type checkers say what is not there by themselves

        def __getattr__(self, name: str) -> Any:
            told = f"{type(self).__name__!r} object has no attribute {name!r}"
            for kind, word in (
                (AskedOfAllocation, "an Allocation"),
                (AskedOfRequest, "the request of an Allocation"),
            ):
                if name in vars(kind) and not name.startswith("_"):
                    told += f"; this is asked of {word}, such as that of combine(…) or edit(…)"
            raise AttributeError(told, name=name, obj=self)


def rows_of_help() -> str:
    """What can be asked at the terminal, a row each."""
    asked = (*vars(AskedOfAllocation).values(), *vars(AskedOfRequest).values())
    return "\n".join(each.told for each in asked if isinstance(each, BoundQuestion) and each.told)
