"""Answering: every question that was asked, one after the other, then all answers shown."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError, NoLayoutFound
from knobpack.present.answer_text import answer_text
from knobpack.present.meter import told_while
from knobpack.present.questions import Question
from knobpack.present.show import show
from knobpack.present.streams import DONE, ESSENTIAL_OUT, IMPOSSIBLE, fail, page
from knobpack.words import Request

if TYPE_CHECKING:
    from knobpack.files.written import Answer


def answer(
    asked: Sequence[Question],
    request: Request,
    options: argparse.Namespace,
    search: Callable[[], Allocation],
) -> int:
    """Answer questions and show the answers.

    Args:
        asked: the questions, one or more.
        request: what they are about.
        options: how to show the answers.
        search: finds the layout, if one is needed.

    Returns:
        The exit status.

    Raises:
        InputError: a question does not fit the layout, or a file cannot be written.
        ImpossibleDemands: there is no layout to answer a question about.
        NoLayoutFound: a search was stopped before any layout was known. As with impossible
            demands, what can be answered is shown all the same.
        OSError: standard output cannot be written to.
    """
    allocation, impossible = None, None
    if options.graph is not None or any(each.of_layout is not None for each in asked):
        try:
            allocation = search()
        except ImpossibleDemands as error:
            if all(each.of_request is None for each in asked):
                raise
            impossible = error
    answers, missing = answers_to(asked, request, allocation, quiet=options.quiet)
    lost = () if allocation is None else allocation.essential_out
    show(
        options,
        {str(question.asked): found for question, found in answers.items()},
        allocation,
        lambda: _text(answers, lost),
        essential_out=lost,
    )
    if missing is not None:
        raise missing
    possible = _possible(answers.values())
    if possible is None:
        raise NoLayoutFound("effort")
    if impossible is not None and possible:
        # No answer told why.
        raise impossible
    if impossible is not None:
        return fail(IMPOSSIBLE, "no layout meets every demand, so nothing else can be answered")
    if not possible:
        return IMPOSSIBLE
    return ESSENTIAL_OUT if lost else DONE


def _text(answers: Mapping[Question, Answer], lost: Sequence[str]) -> str:
    """The answers as text, under what is essential and left out."""
    # Imported here, because JSON does without it.
    from knobpack.present.text import essential_lines

    width = page(sys.stdout)
    first = "\n".join([*essential_lines(lost, width), ""]) if lost else ""
    found = (answer_text(each.heading, answer, width) for each, answer in answers.items())
    return "\n".join([*filter(None, [first]), *found])


def _possible(answers: Iterable[Answer]) -> bool | None:
    """What the answers tell of whether there is a layout; True if that was not asked."""
    from knobpack.clash.every import EveryClash

    told = [answer.possible for answer in answers if isinstance(answer, EveryClash)]
    return told[0] if told else True


def answers_to(
    asked: Sequence[Question], request: Request, allocation: Allocation | None, *, quiet: bool
) -> tuple[dict[Question, Answer], NoLayoutFound | None]:
    """The answers, and why the first of those that are missing has none.

    Args:
        asked: the questions.
        request: what they are about.
        allocation: the layout they are about; None: there is none, and no answer about it.
        quiet: whether to show nothing while they are answered.

    Raises:
        InputError: a question does not fit the layout.
    """
    found: dict[Question, Answer] = {}
    missing: NoLayoutFound | None = None
    for number, question in enumerate(asked, 1):
        line = f"answering {number} of {len(asked)}: {question.heading}"
        try:
            with told_while(line, quiet=quiet):
                if question.of_request is not None:
                    found[question] = question.of_request(request)
                elif question.of_layout is not None and allocation is not None:
                    found[question] = question.of_layout(allocation)
        except NoLayoutFound as error:
            missing = missing or error
        except InputError as error:
            error.add_note(f"asked by {question.asked}")
            raise
    return found, missing
