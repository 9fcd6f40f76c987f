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
from knobpack.command.names import DESTINATION, KNOB, known, part
from knobpack.command.streams import one_line
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT
from knobpack.present import answer_text as heads
from knobpack.words import Request
from knobpack.words.edits import with_knobs
from knobpack.words.naming import knob_told

if TYPE_CHECKING:
    from knobpack.files.written import Answer


@attrs.frozen
class Question:
    """A question that can be answered.

    Args:
        heading: what stands over its answer.
        of_layout: answers it for an allocation; None: it is not about a layout.
        of_request: answers it for a request, whether or not there is a layout for it.
    """

    heading: str
    of_layout: Callable[[Allocation], Answer] | None = None
    of_request: Callable[[Request], Answer] | None = None


def question(
    name: str, values: tuple[str, ...], request: Request, options: argparse.Namespace
) -> Question:
    """What was asked, ready to be answered.

    Args:
        name: the question's word.
        values: what follows it.
        request: what it is about.
        options: say how much may be solved again.

    Raises:
        InputError: a name, number or file that does not do.
    """
    return _MADE[name](_Asked(name, values, request, options))


@attrs.frozen
class _Asked:
    name: str
    values: tuple[str, ...]
    request: Request
    options: argparse.Namespace

    @property
    def effort(self) -> float:
        return DEFAULT_EFFORT if self.options.effort is None else self.options.effort

    @property
    def destination(self) -> str:
        return known(self.name, self.values[0], self.request.destinations, DESTINATION)

    @property
    def knob(self) -> str:
        return known(self.name, self.values[-1], self.request.surface.knob_names, KNOB)


def _why(asked: _Asked) -> Question:
    name = asked.destination

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.here import why_here
        from knobpack.explanation.unplaced import why_unplaced

        if name not in allocation.unplaced:
            return why_here(allocation, name)
        return why_unplaced(allocation, name, solve=asked.options.solve, effort=asked.effort)

    return Question(heads.WHY.format(name), answer)


def _why_not(asked: _Asked) -> Question:
    name, knob = asked.destination, asked.knob

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.not_there import why_not

        return why_not(allocation, name, knob, solve=asked.options.solve, effort=asked.effort)

    return Question(heads.WHY_NOT.format(name, knob_told(knob)), answer)


def _why_shared(asked: _Asked) -> Question:
    knob = asked.knob

    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.shared import why_shared

        return why_shared(allocation, knob, solve=asked.options.solve, effort=asked.effort)

    return Question(heads.WHY_SHARED.format(knob_told(knob)), answer)


def _budget(asked: _Asked) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.budget import knob_budget

        return knob_budget(allocation, effort=asked.effort, each_knob=asked.options.solve)

    return Question(heads.BUDGET, answer)


def _least_knobs(asked: _Asked) -> Question:
    def answer(request: Request) -> Answer:
        from knobpack.explanation.least import least_knobs

        try:
            return least_knobs(request, effort=asked.effort)
        except ImpossibleDemands as error:
            # That no number of knobs is enough is an answer too.
            return error.clash

    return Question(heads.LEAST_KNOBS, of_request=answer)


def _ties(asked: _Asked) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.best_layouts import best_layouts

        return best_layouts(allocation, places=asked.options.solve, effort=asked.effort)

    return Question(heads.TIES, answer)


def _worth(asked: _Asked) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.worth import price_of_demands

        return price_of_demands(allocation, effort=asked.effort)

    return Question(heads.WORTH, answer)


def _what_if(asked: _Asked) -> Question:
    (path,) = asked.values
    other = inputs.word(path, asked.options)
    if not isinstance(other, Request):
        raise InputError(asked.name, path, "give a file that holds a request")
    return _change(asked, one_line(path), other)


def _without(asked: _Asked) -> Question:
    gone = part(asked.name, " ".join(asked.values), asked.request)
    return _change(asked, f"without {gone.told}", gone.without(asked.request))


def _more_knobs(asked: _Asked) -> Question:
    (text,) = asked.values
    if not (text.isascii() and text.isdecimal() and len(text) < 10 and int(text)):
        raise InputError(asked.name, text, "give a whole number, 1 or more")
    from knobpack.wording import many

    more = int(text)
    return _change(asked, many(more, "more knob"), with_knobs(asked.request, more))


def _change(asked: _Asked, told: str, other: Request) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.what_if import what_if

        close = asked.options.stay_close
        return what_if(allocation, other, stay_close=close, effort=asked.effort)

    return Question(heads.WHAT_IF.format(told), answer)


def _everything(asked: _Asked) -> Question:
    def answer(allocation: Allocation) -> Answer:
        from knobpack.explanation.whole import explain

        return explain(allocation, solve=asked.options.solve, effort=asked.effort)

    return Question(heads.EVERYTHING, answer)


def _clashes(asked: _Asked) -> Question:
    def answer(request: Request) -> Answer:
        from knobpack.clash.every import every_clash

        return every_clash(request, effort=asked.effort)

    return Question(heads.CLASHES, of_request=answer)


_MADE: Mapping[str, Callable[[_Asked], Question]] = {
    "why": _why,
    "why-not": _why_not,
    "why-shared": _why_shared,
    "budget": _budget,
    "least-knobs": _least_knobs,
    "ties": _ties,
    "worth": _worth,
    "what-if": _what_if,
    "without": _without,
    "more-knobs": _more_knobs,
    "everything": _everything,
    "clashes": _clashes,
}
