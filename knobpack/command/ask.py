"""Every question that was asked of one layout, one after the other."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.held_names import name_of
from knobpack.command.meter import going_on
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.command.paths import set_list_in
from knobpack.command.questions import Question, question
from knobpack.command.streams import DONE, IMPOSSIBLE, Refused, fail, one_line
from knobpack.command.verbs import QUESTIONS, SHOW_QUESTIONS
from knobpack.errors import InputError, NoLayoutFound
from knobpack.limits import Limits, begun
from knobpack.present.answer_text import JOINED, answer_text
from knobpack.words import Request, Setup

if TYPE_CHECKING:
    from knobpack.types import Outcome as Answer


CHANGES = frozenset({"more-knobs", "what-if", "without"})
"""The questions about another request."""

BUDGETS = frozenset({"knob-budget", "more-knobs"})
"""The questions about how many knobs there are."""

MOST_JOINED = 3
"""Uses of one more knob that are told, at most."""


def asking(options: argparse.Namespace) -> int:
    """``ask``: questions about the layout of a request, or about a setup or a show as it is."""
    asking_for = {takes.name for takes, _ in options.steps}
    if options.stay_close and CHANGES.isdisjoint(asking_for):
        raise Refused(f"--stay-close: nothing is changed; use it with {', '.join(CHANGES)}")
    (path,) = options.files
    if _of_show(path, asking_for, options):
        from knobpack.command.ask_show import asking_show

        return asking_show(options)
    return _of_layout(path, asking_for, options)


def _of_layout(path: str, asking_for: set[str], options: argparse.Namespace) -> int:
    found = inputs.word(path, options)
    allocation: Allocation | None = None
    if isinstance(found, Request):
        request = found
    else:
        allocation = found if isinstance(found, Allocation) else _in_use(found, options)
        request = allocation.request
    used = found if isinstance(found, Setup) else None
    asked, wrong = _ready(request, used, options)
    impossible = None
    if allocation is None and _needs_layout(asked.values(), options):
        try:
            allocation = inputs.laid_out(request, options)
        except ImpossibleDemands as error:
            if all(each.of_request is None for each in asked.values()):
                raise
            impossible = error
    answers, missing = _answers(asked, request, allocation, options)
    missing = wrong or missing
    lost = () if allocation is None else allocation.essential_out
    parts = [
        ShownAnswer(each, answer, partial(answer_text, asked[each].heading, answer))
        for each, answer in answers.items()
    ]
    if used is not None and not BUDGETS.isdisjoint(asking_for):
        parts += _joined(used, one_line(path))
    if lost and parts:
        parts[0] = attrs.evolve(parts[0], text=partial(_under_loss, parts[0], lost))
    setup = used
    if allocation is not None and setup is None:
        setup = allocation.setup(name_of(path))
    status, unanswered = _ending(answers, missing, impossible)
    outcome = VerbOutcome(tuple(parts), allocation, setup, None, lost, "panel", status, unanswered)
    given = give(outcome, options)
    if given == IMPOSSIBLE and impossible is not None:
        fail(given, "no layout meets every demand, so nothing else can be answered")
    return given


def _ready(
    request: Request,
    setup: Setup | None,
    options: argparse.Namespace,
) -> tuple[dict[str, Question], InputError | None]:
    """Each question, and the first refusal of one: the others are answered all the same.

    Raises:
        InputError: all are refused.
    """
    asked: dict[str, Question] = {}
    refused: InputError | None = None
    for takes, values in options.steps:
        about = None if setup is None else _with_left_out(setup, takes.name, values)
        try:
            own = question(takes.name, values, about.request if about else request, options, setup)
        except InputError as error:
            refused = refused or error
            continue
        asked[" ".join((takes.name, *values))] = attrs.evolve(own, about=about)
    if refused is not None and not asked:
        raise refused
    return asked, refused


def _with_left_out(setup: Setup, name: str, values: Sequence[str]) -> Allocation | None:
    """A setup with what is left out of it, where a question is about that; None: it is not.

    That is what its source drove, and what the question names: no other question counts.
    """
    from knobpack.edits.left_out import as_it_is

    whole = as_it_is(setup, values)
    about = whole is not None and (name in BUDGETS or not {*values}.isdisjoint(whole.unplaced))
    return whole if about else None


def _of_show(path: str, asked: Iterable[str], options: argparse.Namespace) -> bool:
    """Whether a file holds a show.

    Raises:
        Refused: something is asked that what it holds cannot be asked.
    """
    of_show = set_list_in(options.plain.get(path)) is not None
    right = [each.name for each in (SHOW_QUESTIONS if of_show else QUESTIONS)]
    for wrong in sorted({*asked}.difference(right)):
        told = "a request or setup" if of_show else "a set list"
        raise Refused(f"{wrong}: this is asked of {told}; here give one of {', '.join(right)}")
    return of_show


def _joined(setup: Setup, path: str) -> list[ShownAnswer]:
    """What one more knob could take of what was joined in a setup in use."""
    from knobpack.explanation.joined import joined

    uses: list[str] = []
    for each in joined(setup)[:MOST_JOINED]:
        command = shlex.join(("knobpack", "edit", path, "own", *each.names))
        at_a_price = "  No knob is free, so other routes must move for it"
        there = at_a_price if each.free is None else "  There it comes with"
        uses += [str(each), f"{there}: {command}"]
    return [ShownAnswer("what was joined", None, text_below(JOINED, uses))] if uses else []


def _in_use(setup: Setup, options: argparse.Namespace) -> Allocation:
    """A setup as it is, as the best layout of what it asks for."""
    from knobpack.edits.solution import Wish, solved

    with going_on("reading", options) as limits:
        run = begun("ask", limits=Limits(**limits))
        return solved(setup, setup, Wish(setup.name), run).allocation


def _needs_layout(asked: Iterable[Question], options: argparse.Namespace) -> bool:
    made = ("graph", "midi", "page", "picture", "setup", "sheet")
    of_it = (getattr(options, kind) for kind in made)
    return any(each is not None for each in of_it) or any(each.of_layout for each in asked)


def _under_loss(part: ShownAnswer, lost: Sequence[str], wide: int) -> str:
    """An answer under what is essential and left out."""
    from knobpack.present.text import essential_lines

    return "\n".join([*essential_lines(lost, wide), "", part.text(wide)])


def _ending(
    answers: Mapping[str, Answer],
    missing: NoLayoutFound | InputError | None,
    impossible: ImpossibleDemands | None,
) -> tuple[int, Exception | None]:
    """The exit status, and what is raised once all is shown."""
    from knobpack.clash.every import EveryClash

    told = [answer.possible for answer in answers.values() if isinstance(answer, EveryClash)]
    possible = told[0] if told else True
    if missing is not None or possible is None:
        return DONE, missing or NoLayoutFound("effort")
    if impossible is not None and possible:
        return DONE, impossible  # no answer told why
    return (DONE if possible else IMPOSSIBLE), None


def _answers(
    asked: Mapping[str, Question],
    request: Request,
    allocation: Allocation | None,
    options: argparse.Namespace,
) -> tuple[dict[str, Answer], NoLayoutFound | InputError | None]:
    """The answers, and why the first of those that are missing has none."""
    found: dict[str, Answer] = {}
    missing: NoLayoutFound | InputError | None = None
    for number, (words, each) in enumerate(asked.items(), 1):
        line = f"answering {number} of {len(asked)}: {each.heading}"
        try:
            with going_on(line, options) as limits:
                if each.of_request is not None:
                    found[words] = each.of_request(request, Limits(**limits))
                elif each.of_layout is not None and allocation is not None:
                    found[words] = each.of_layout(each.about or allocation, Limits(**limits))
        except NoLayoutFound as error:
            missing = missing or error
        except InputError as error:
            refused = InputError(words.partition(" ")[0], error.value, error.right)
            refused.add_note(f"asked by {words}")
            missing = missing or refused
    return found, missing
