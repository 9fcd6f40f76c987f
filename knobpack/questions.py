"""Questions about an allocation, a request or a show, each answered by a value that can be checked.

What answers is loaded when it is first asked for, and nothing before: ``questions.pyi`` says where
each name stands. Here are the methods by which it is asked, each with the line that tells of it at
the terminal.
"""

from __future__ import annotations

from typing import Any

from knobpack.heavy_imports import BoundQuestion, on_demand

__getattr__, __dir__ = on_demand(__name__)


class AskedOfAllocation:
    """The questions about one allocation."""

    __slots__ = ()

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
    explain = BoundQuestion("explain  all of this about every destination and every shared knob")


class AskedOfRequest:
    """The questions about one request."""

    __slots__ = ()

    least_knobs = BoundQuestion(
        "least-knobs  how many knobs it takes to keep every snapshot, and to share none"
    )
    every_clash = BoundQuestion(
        "every-clash  where no layout is possible: every smallest set of demands that clash, "
        "and every way out"
    )


class AskedOfShow:
    """The questions about a show that is laid out."""

    __slots__ = ()

    as_laid_out = BoundQuestion(room="show")
    what_if = BoundQuestion(room="show", name="what_if_show")
    why_elsewhere = BoundQuestion(room="show")
    one_more_knob = BoundQuestion(room="show")
    odd_songs = BoundQuestion(room="show")
    worth_freeing = BoundQuestion(room="show")
    with_song = BoundQuestion(room="show")
    without_song = BoundQuestion(room="show")
    in_order = BoundQuestion(room="show", name="show_in_order")
    with_voice = BoundQuestion(room="show")
    on_panel = BoundQuestion(room="show")


_HOLDERS = "request", "setup", "allocation"
"""The fields of what is laid out that hold what is sought in it."""


class AskedElsewhere:
    """What is not asked a question itself: it says what is."""

    __slots__ = ()

    def __getattr__(self, name: str) -> Any:
        told = f"{type(self).__name__!r} object has no attribute {name!r}"
        for kind, word in (
            (AskedOfAllocation, "an Allocation"),
            (AskedOfRequest, "the request of an Allocation"),
        ):
            if name in vars(kind) and not name.startswith("_"):
                told += f"; this is asked of {word}, such as that of combine(…), edit(…) or a song"
        for holder in _HOLDERS if name not in _HOLDERS and not name.startswith("_") else ():
            if hasattr(type(self), holder) and hasattr(getattr(self, holder), name):
                told += f"; its {holder} has it"
        raise AttributeError(told, name=name, obj=self)


def rows_of_help() -> str:
    """What can be asked at the terminal, a row each."""
    asked = (*vars(AskedOfAllocation).values(), *vars(AskedOfRequest).values())
    return "\n".join(each.told for each in asked if isinstance(each, BoundQuestion) and each.told)
