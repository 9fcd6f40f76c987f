"""Questions: what was asked of a layout or a request, made ready to be answered.

Names and files are looked up before anything is searched for: a wrong one is refused at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.held_names import RIGHT
from knobpack.command.names import part
from knobpack.command.streams import one_line
from knobpack.definition.phrases import many
from knobpack.errors import InputError
from knobpack.limits import Limits
from knobpack.present import answer_text as heads
from knobpack.setups.as_read import lies_within, read
from knobpack.words import Request, Setup, Travel
from knobpack.words.edits import with_knobs
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told

if TYPE_CHECKING:
    from knobpack.types import Outcome


@attrs.frozen
class Question:
    """A question that can be answered.

    Args:
        heading: what stands over its answer.
        of_layout: answers it for an allocation; None: it is not about a layout.
        of_request: answers it for a request, whether or not there is a layout for it.
        about: the layout that it is about; None: the one that all are about.
    """

    heading: str
    of_layout: Callable[[Allocation, Limits], Outcome] | None = None
    of_request: Callable[[Request, Limits], Outcome] | None = None
    about: Allocation | None = None


def question(
    name: str,
    values: tuple[str, ...],
    request: Request,
    options: argparse.Namespace,
    setup: Setup | None = None,
) -> Question:
    """What was asked, ready to be answered.

    Args:
        name: the question's word.
        values: what follows it.
        request: what it is about.
        options: say how much may be solved again.
        setup: the setup in use that the request is of; None: it is of none.

    Raises:
        InputError: a name, number or file that does not do.
    """
    solve = options.solve
    if name in _OF_REQUEST:
        return _OF_REQUEST[name]

    def knob() -> str:
        return check_named(name, values[-1], request.surface.knob_names, RIGHT["ask", "KNOB"][1])

    match name:
        case "why" | "why-not":
            right = RIGHT["ask", "NAME"][1]
            inner = check_named(name, values[0], request.destinations, right)
            if name == "why":
                return _why(inner, setup, solve=solve)
            heading = _head(heads.WHY_NOT, inner, knob())
            return _asked(heading, "why_not", inner, knob(), solve=solve)
        case "why-shared":
            return _asked(_head(heads.WHY_SHARED, knob()), "why_shared", knob(), solve=solve)
        case "what-if" | "without" | "more-knobs":
            told, other = _other(name, values, request, options)
            close = options.stay_close
            return _asked(heads.WHAT_IF.format(told), "what_if", other, stay_close=close)
    heading, method, deeper = _PLAIN[name]
    return _asked(heading, method, **{deeper: solve} if deeper else {})


_PLAIN: Mapping[str, tuple[str, str, str]] = {
    "knob-budget": (heads.BUDGET, "knob_budget", "each_knob"),
    "best-layouts": (heads.BEST_LAYOUTS, "best_layouts", "places"),
    "price-of-demands": (heads.PRICE_OF_DEMANDS, "price_of_demands", ""),
    "explain": (heads.EXPLAIN, "explain", "solve"),
}
"""Of questions about nothing in particular the heading, the method of an allocation, and what it
calls that more is to be solved again."""


def _asked(heading: str, method: str, *about: object, **how: object) -> Question:
    """A question that an allocation answers."""

    def answer(made: Allocation, limits: Limits) -> Outcome:
        found: Outcome = getattr(made, method)(*about, **how, limits=limits)
        return found

    return Question(heading, answer)


def _head(heading: str, *names: str) -> str:
    return heading.format(*names[:-1], knob_told(names[-1]))


def _why(name: str, setup: Setup | None, *, solve: bool) -> Question:
    def answer(made: Allocation, limits: Limits) -> Outcome:
        return made.why(name, own=_wish(setup, name), solve=solve, limits=limits)

    return Question(heads.WHY.format(name), answer)


def _wish(setup: Setup | None, name: str) -> Travel | None:
    """The travel that a destination wants by itself, as its setup in use says."""
    wish = None if setup is None else read(setup).destinations[name].travel
    return wish if setup and wish and lies_within(wish, setup.surface.top) else None


def _least_knobs(request: Request, limits: Limits) -> Outcome:
    try:
        return request.least_knobs(limits=limits)
    except ImpossibleDemands as error:
        return error.clash  # that no number of knobs is enough is an answer too


def _other(
    name: str, values: tuple[str, ...], request: Request, options: argparse.Namespace
) -> tuple[str, Request]:
    """What is otherwise, in words, and the request with that."""
    text = " ".join(values)
    if name == "without":
        gone = part(name, text, request)
        return f"without {gone.told}", gone.without(request)
    if name == "more-knobs":
        if not (text.isascii() and text.isdecimal() and len(text) < 10 and int(text)):
            raise InputError(name, text, "give a whole number, 1 or more")
        return many(int(text), "more knob"), with_knobs(request, int(text))
    other = inputs.word(text, options)
    if not isinstance(other, Request):
        raise InputError(name, text, "give a file that holds a request")
    return one_line(text), other


_OF_REQUEST: Mapping[str, Question] = {
    "least-knobs": Question(heads.LEAST_KNOBS, of_request=_least_knobs),
    "every-clash": Question(
        heads.EVERY_CLASH, of_request=lambda it, limits: it.every_clash(limits=limits)
    ),
}
"""The questions for which no layout is needed."""
