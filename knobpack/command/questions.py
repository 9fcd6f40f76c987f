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
from knobpack.command.names import DESTINATION, KNOB, part
from knobpack.command.streams import one_line
from knobpack.errors import InputError
from knobpack.limits import Limits
from knobpack.phrases import many
from knobpack.present import answer_text as heads
from knobpack.setup_as_read import read, within
from knobpack.words import Request, Setup, Travel
from knobpack.words.edits import with_knobs
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told

if TYPE_CHECKING:
    from knobpack.types import Answer


@attrs.frozen
class Question:
    """A question that can be answered.

    Args:
        heading: what stands over its answer.
        of_layout: answers it for an allocation; None: it is not about a layout.
        of_request: answers it for a request, whether or not there is a layout for it.
    """

    heading: str
    of_layout: Callable[[Allocation, Limits], Answer] | None = None
    of_request: Callable[[Request, Limits], Answer] | None = None


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
    return _MADE[name](_Asked(name, values, request, options, setup))


@attrs.frozen
class _Asked:
    name: str
    values: tuple[str, ...]
    request: Request
    options: argparse.Namespace
    setup: Setup | None

    @property
    def own(self) -> Travel | None:
        """The travel that the destination wants by itself, as its setup in use says."""
        if self.setup is None:
            return None
        reading = read(self.setup)
        wish = reading.destinations[self.destination].travel
        return wish if wish is not None and within(wish, self.setup.surface.top) else None

    @property
    def destination(self) -> str:
        return check_named(self.name, self.values[0], self.request.destinations, DESTINATION)

    @property
    def knob(self) -> str:
        return check_named(self.name, self.values[-1], self.request.surface.knob_names, KNOB)


def _why(asked: _Asked) -> Question:
    name = asked.destination

    def answer(made: Allocation, limits: Limits) -> Answer:
        if name not in made.unplaced:
            return made.why(name, own=asked.own)
        return made.why_unplaced(name, solve=asked.options.solve, limits=limits)

    return Question(heads.WHY.format(name), answer)


def _why_not(asked: _Asked) -> Question:
    name, knob, solve = asked.destination, asked.knob, asked.options.solve
    heading = heads.WHY_NOT.format(name, knob_told(knob))
    return Question(heading, lambda it, limits: it.why_not(name, knob, solve=solve, limits=limits))


def _why_shared(asked: _Asked) -> Question:
    knob, solve = asked.knob, asked.options.solve
    heading = heads.WHY_SHARED.format(knob_told(knob))
    return Question(heading, lambda it, limits: it.why_shared(knob, solve=solve, limits=limits))


def _least_knobs(_: _Asked) -> Question:
    def answer(request: Request, limits: Limits) -> Answer:
        try:
            return request.least_knobs(limits=limits)
        except ImpossibleDemands as error:
            return error.clash  # that no number of knobs is enough is an answer too

    return Question(heads.LEAST_KNOBS, of_request=answer)


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
    return _change(asked, many(int(text), "more knob"), with_knobs(asked.request, int(text)))


def _change(asked: _Asked, told: str, other: Request) -> Question:
    close = asked.options.stay_close
    return Question(
        heads.WHAT_IF.format(told),
        lambda it, limits: it.what_if(other, stay_close=close, limits=limits),
    )


def _budget(asked: _Asked) -> Question:
    solve = asked.options.solve
    return Question(heads.BUDGET, lambda it, limits: it.knob_budget(each_knob=solve, limits=limits))


def _ties(asked: _Asked) -> Question:
    solve = asked.options.solve
    return Question(heads.TIES, lambda it, limits: it.best_layouts(places=solve, limits=limits))


def _worth(_: _Asked) -> Question:
    return Question(heads.WORTH, lambda it, limits: it.price_of_demands(limits=limits))


def _everything(asked: _Asked) -> Question:
    solve = asked.options.solve
    return Question(heads.EVERYTHING, lambda it, limits: it.explain(solve=solve, limits=limits))


def _clashes(_: _Asked) -> Question:
    return Question(heads.CLASHES, of_request=lambda it, limits: it.every_clash(limits=limits))


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
