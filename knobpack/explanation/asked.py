"""Asked: the questions about an allocation and about a request, as methods of it.

Each is a function of :mod:`knobpack.questions`, whose first argument is what it is asked about. The
rooms that answer are loaded by the first question: nothing here imports them before.
"""

from __future__ import annotations

from importlib import import_module
from types import MethodType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from knobpack.clash.every import every_clash
    from knobpack.explanation.best_layouts import best_layouts
    from knobpack.explanation.budget import knob_budget
    from knobpack.explanation.least import least_knobs
    from knobpack.explanation.not_there import why_not
    from knobpack.explanation.shared import why_shared
    from knobpack.explanation.unplaced import why_unplaced
    from knobpack.explanation.what_if import what_if
    from knobpack.explanation.whole import explain
    from knobpack.explanation.why import why
    from knobpack.explanation.worth import price_of_demands


class BoundQuestion:
    """A function as a method, loaded when it is first asked for.

    Args:
        room: the module within knobpack that it stands in.
        name: its name there; empty: that of the method.
    """

    def __init__(self, room: str, name: str = "") -> None:
        self.room, self.name = room, name

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
        what_if = what_if
        price_of_demands = price_of_demands
        explain = explain
    else:
        why = BoundQuestion("explanation.why")
        why_not = BoundQuestion("explanation.not_there")
        why_shared = BoundQuestion("explanation.shared")
        why_unplaced = BoundQuestion("explanation.unplaced")
        knob_budget = BoundQuestion("explanation.budget")
        best_layouts = BoundQuestion("explanation.best_layouts")
        what_if = BoundQuestion("explanation.what_if")
        price_of_demands = BoundQuestion("explanation.worth")
        explain = BoundQuestion("explanation.whole")


class AskedOfRequest:
    """The questions about one request."""

    __slots__ = ()

    if TYPE_CHECKING:
        least_knobs = least_knobs
        every_clash = every_clash
    else:
        least_knobs = BoundQuestion("explanation.least")
        every_clash = BoundQuestion("clash.every")
