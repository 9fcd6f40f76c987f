"""Questions: what was asked on the command line, made ready to be answered.

Names and files are looked up before anything is searched for: a wrong one is refused at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError, Reason
from knobpack.files import load_request
from knobpack.present.answer_text import (
    BUDGET,
    CLASHES,
    EVERYTHING,
    LEAST_KNOBS,
    TIES,
    WHAT_IF,
    WHY,
    WHY_NOT,
    WHY_SHARED,
    WORTH,
)
from knobpack.present.asked import Asked
from knobpack.present.names import DESTINATION, KNOB, known, part
from knobpack.present.streams import one_line
from knobpack.words import Request
from knobpack.words.edits import with_knobs

if TYPE_CHECKING:
    from knobpack.files.written import Answer


@attrs.frozen
class Question:
    """A question that can be answered.

    Args:
        asked: how it was asked.
        heading: what stands over its answer.
        of_layout: answers it for an allocation; None: it is not about a layout.
        of_request: answers it for a request, whether or not there is a layout for it.
    """

    asked: Asked
    heading: str
    of_layout: Callable[[Allocation], Answer] | None = None
    of_request: Callable[[Request], Answer] | None = None


def questions(request: Request, options: argparse.Namespace) -> tuple[Question, ...]:
    """What was asked, in that order.

    Args:
        request: what it is about.
        options: what :func:`knobpack.present.options.parser` made of the command line.

    Raises:
        InputError: a name, number or file that does not do, or an option that goes with a
            question that was not asked.
    """
    changes = {"--what-if", "--without", "--more-knobs"}
    if options.stay_close and changes.isdisjoint(each.option for each in options.asked):
        right = "use it with --what-if, --without or --more-knobs"
        raise InputError("--stay-close", Reason("nothing is changed"), right)
    if options.solve and not options.asked:
        raise InputError("--solve", Reason("nothing is asked"), "use it with a question")
    return tuple(_MADE[each.option](request, each, options) for each in options.asked)


def _why(request: Request, asked: Asked, options: argparse.Namespace) -> Question:
    name = known(asked.option, asked.values[0], request.destinations, DESTINATION)

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.here import why_here
        from knobpack.explanation.unplaced import why_unplaced

        if name not in allocation.unplaced:
            return why_here(allocation, name)
        return why_unplaced(allocation, name, solve=options.solve, effort=options.effort)

    return Question(asked, WHY.format(name), answer)


def _why_not(request: Request, asked: Asked, options: argparse.Namespace) -> Question:
    name = known(asked.option, asked.values[0], request.destinations, DESTINATION)
    knob = known(asked.option, asked.values[1], request.surface.knob_names, KNOB)

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.not_there import why_not

        return why_not(allocation, name, knob, solve=options.solve, effort=options.effort)

    return Question(asked, WHY_NOT.format(name, knob), answer)


def _why_shared(request: Request, asked: Asked, options: argparse.Namespace) -> Question:
    knob = known(asked.option, asked.values[0], request.surface.knob_names, KNOB)

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.shared import why_shared

        return why_shared(allocation, knob, solve=options.solve, effort=options.effort)

    return Question(asked, WHY_SHARED.format(knob), answer)


def _budget(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.budget import knob_budget

        return knob_budget(allocation, effort=options.effort, each_knob=options.solve)

    return Question(asked, BUDGET, answer)


def _least_knobs(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(request: Request) -> Answer:
        from knobpack.explanation.least import least_knobs

        try:
            return least_knobs(request, effort=options.effort)
        except ImpossibleDemands as error:
            # That no number of knobs is enough is an answer too.
            return error.clash

    return Question(asked, LEAST_KNOBS, of_request=answer)


def _ties(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.best_layouts import best_layouts

        return best_layouts(allocation, places=options.solve, effort=options.effort)

    return Question(asked, TIES, answer)


def _worth(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.worth import price_of_demands

        return price_of_demands(allocation, effort=options.effort)

    return Question(asked, WORTH, answer)


def _what_if(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    path = asked.values[0]
    return _change(asked, one_line(path), load_request(path), options)


def _without(request: Request, asked: Asked, options: argparse.Namespace) -> Question:
    gone = part(asked.option, asked.values[0], request)
    return _change(asked, f"without {gone.told}", gone.without(request), options)


def _more_knobs(request: Request, asked: Asked, options: argparse.Namespace) -> Question:
    text = asked.values[0]
    if not (text.isascii() and text.isdecimal() and len(text) < 10 and int(text)):
        raise InputError(asked.option, text, "give a whole number, 1 or more")
    more = int(text)
    # To import wording is to import networkx, which a refusal need not wait for.
    from knobpack.wording import many

    return _change(asked, many(more, "more knob"), with_knobs(request, more), options)


def _change(asked: Asked, told: str, other: Request, options: argparse.Namespace) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.what_if import what_if

        return what_if(allocation, other, stay_close=options.stay_close, effort=options.effort)

    return Question(asked, WHAT_IF.format(told), answer)


def _explain(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.whole import explain

        return explain(allocation, solve=options.solve, effort=options.effort)

    return Question(asked, EVERYTHING, answer)


def _clashes(_: Request, asked: Asked, options: argparse.Namespace) -> Question:
    def answer(request: Request) -> Answer:
        from knobpack.clash.every import every_clash

        return every_clash(request, effort=options.effort)

    return Question(asked, CLASHES, of_request=answer)


_Maker = Callable[[Request, Asked, argparse.Namespace], Question]
_MADE: Mapping[str, _Maker] = {
    "--why": _why,
    "--why-not": _why_not,
    "--why-shared": _why_shared,
    "--budget": _budget,
    "--least-knobs": _least_knobs,
    "--ties": _ties,
    "--worth": _worth,
    "--what-if": _what_if,
    "--without": _without,
    "--more-knobs": _more_knobs,
    "--explain": _explain,
    "--clashes": _clashes,
}
