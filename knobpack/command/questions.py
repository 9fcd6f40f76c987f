"""Questions: what was asked of a layout or a request, made ready to be answered.

Names and files are looked up before anything is searched for: a wrong one is refused at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence
from inspect import signature
from typing import TYPE_CHECKING, Final

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.names import part
from knobpack.command.streams import one_line
from knobpack.command.verbs import QUESTIONS
from knobpack.definition.phrases import many
from knobpack.errors import InputError
from knobpack.limits import Limits
from knobpack.present.answer_text import heading
from knobpack.words import Request
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
        request: the request that it is about; None: that is not known yet.
        about: the layout that it is about; None: likewise.
    """

    heading: str
    of_layout: Callable[[Allocation, Limits], Outcome] | None = None
    of_request: Callable[[Request, Limits], Outcome] | None = None
    request: Request | None = None
    about: Allocation | None = None


def question(
    name: str,
    values: tuple[str, ...],
    request: Request,
    options: argparse.Namespace,
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
    if name in ("what-if", "without", "more-knobs"):
        told, other = _other(name, values, request, options)
        return _asked("what-if", [told], [other], {})
    takes = next(each.values for each in QUESTIONS if each.name == name)
    held = {"NAME": request.by_full_name, "KNOB": request.surface.knob_names}
    about = [
        check_named(name, value, held[kind], _RIGHT[kind])
        for kind, value in zip(takes, values, strict=True)
    ]
    names = [knob_told(each) if takes[at] == "KNOB" else each for at, each in enumerate(about)]
    return _asked(name, names, about, dict.fromkeys(_SOLVED_AGAIN, options.solve))


_RIGHT: Final = {
    "NAME": "name a voice/destination that the file holds",
    "KNOB": "name a knob of the panel",
}
"""What is right for each sort of value."""

_SOLVED_AGAIN: Final = ("solve", "places")
"""What questions call that more is to be solved again."""


def _asked(
    word: str, names: Sequence[str], about: Sequence[object], how: Mapping[str, object]
) -> Question:
    """A question as the method asks it whose name is the word.

    Args:
        word: the word.
        names: what its heading names.
        about: what the method is given.
        how: what it is given by name, as far as it takes that.
    """
    method = word.replace("-", "_")

    def answer(asked_of: Allocation | Request, limits: Limits) -> Outcome:
        function = getattr(asked_of, method)
        taken = signature(function).parameters
        given = {key: value for key, value in (*how.items(), ("limits", limits)) if key in taken}
        try:
            found: Outcome = function(*about, **given)
        except ImpossibleDemands as error:
            return error.clash  # that no number of knobs is enough is an answer too
        return found

    head = heading(word, *names)
    if hasattr(Request, method):
        return Question(head, of_request=answer)
    return Question(head, answer)


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
