"""Questions: what was asked of a layout or a request, made ready to be answered.

Names and files are looked up before anything is searched for: a wrong one is refused at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.names import DESTINATION, KNOB, known, part
from knobpack.command.streams import one_line
from knobpack.errors import InputError
from knobpack.limits import DEFAULT_EFFORT
from knobpack.present import answer_text as heads
from knobpack.wording import many
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
    def again(self) -> dict[str, Any]:
        """What is said of solving again."""
        return {"solve": self.options.solve, "effort": self.effort}

    @property
    def destination(self) -> str:
        return known(self.name, self.values[0], self.request.destinations, DESTINATION)

    @property
    def knob(self) -> str:
        return known(self.name, self.values[-1], self.request.surface.knob_names, KNOB)


def _why(asked: _Asked) -> Question:
    name = asked.destination

    def answer(made: Allocation) -> Answer:
        return made.why_unplaced(name, **asked.again) if name in made.unplaced else made.why(name)

    return Question(heads.WHY.format(name), answer)


def _why_not(asked: _Asked) -> Question:
    name, knob = asked.destination, asked.knob
    heading = heads.WHY_NOT.format(name, knob_told(knob))
    return Question(heading, lambda made: made.why_not(name, knob, **asked.again))


def _why_shared(asked: _Asked) -> Question:
    knob = asked.knob
    heading = heads.WHY_SHARED.format(knob_told(knob))
    return Question(heading, lambda made: made.why_shared(knob, **asked.again))


def _least_knobs(asked: _Asked) -> Question:
    def answer(request: Request) -> Answer:
        try:
            return request.least_knobs(effort=asked.effort)
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
    close, effort = asked.options.stay_close, asked.effort
    return Question(
        heads.WHAT_IF.format(told),
        lambda made: made.what_if(other, stay_close=close, effort=effort),
    )


_MADE: Mapping[str, Callable[[_Asked], Question]] = {
    "why": _why,
    "why-not": _why_not,
    "why-shared": _why_shared,
    "budget": lambda asked: Question(
        heads.BUDGET,
        lambda made: made.knob_budget(each_knob=asked.options.solve, effort=asked.effort),
    ),
    "least-knobs": _least_knobs,
    "ties": lambda asked: Question(
        heads.TIES, lambda made: made.best_layouts(places=asked.options.solve, effort=asked.effort)
    ),
    "worth": lambda asked: Question(
        heads.WORTH, lambda made: made.price_of_demands(effort=asked.effort)
    ),
    "what-if": _what_if,
    "without": _without,
    "more-knobs": _more_knobs,
    "everything": lambda asked: Question(
        heads.EVERYTHING, lambda made: made.explain(**asked.again)
    ),
    "clashes": lambda asked: Question(
        heads.CLASHES, of_request=lambda request: request.every_clash(effort=asked.effort)
    ),
}
