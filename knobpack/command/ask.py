"""Every question that was asked of one layout, one after the other."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Mapping, Sequence
from functools import partial
from shlex import quote
from typing import TYPE_CHECKING

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.names import name_of_file
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.command.paths import set_list_in
from knobpack.command.questions import Question, question
from knobpack.command.streams import DONE, IMPOSSIBLE, Refused, fail
from knobpack.command.verbs import QUESTIONS, SHOW_QUESTIONS
from knobpack.errors import InputError, NoLayoutFound
from knobpack.explanation.not_there import NotThere
from knobpack.limits import Limits, begun
from knobpack.present.answer_text import answer_text
from knobpack.setups.as_read import read
from knobpack.text.columns import paragraph
from knobpack.words import Request, Setup
from knobpack.words.setup_edits import OnKnob

if TYPE_CHECKING:
    from knobpack.types import Outcome as Answer


BUDGETS = frozenset({"knob-budget", "more-knobs"})
"""The questions about how many knobs there are."""

OF_ROOM = BUDGETS | {"why-shared"}
"""The questions that an edit would seem to answer otherwise, as it may move more."""

OF_PLACES = frozenset({"why", "why-not", "why-shared", "explain"})
"""The questions about what is where, as it stands."""

AS_IT_STANDS = "AS IT STANDS"

AFTER_EDITS = (
    "An edit puts first that little moves and that what one knob drives stays together; here both"
    " count less."
)

FROM_THERE = "The answer reckons from there; what goes elsewhere is told from as it stands."


def asking(options: argparse.Namespace) -> int:
    """``ask``: questions about the layout of a request, or about a setup or a show as it is."""
    asking_for = {takes.name for takes, _ in options.steps}
    (path,) = options.files
    if _of_show(path, asking_for, options):
        from knobpack.command.ask_show import asking_show

        return asking_show(options)
    return _of_layout(path, options)


def _of_layout(path: str, options: argparse.Namespace) -> int:
    found = inputs.word(path, options)
    asked, wrong = _ready(found, options)
    better: Mapping[str, tuple[str, ...]] = {}
    impossible = None
    if isinstance(found, Setup):
        asked, better = _standing(asked, options)
        asked = _as_edited(found, asked, options)
        better = _beside_torn(found, better, options)
    elif isinstance(found, Request) and _needs_layout(asked.values(), options):
        try:
            made = inputs.laid_out(found, options)
            asked = {words: attrs.evolve(each, about=made) for words, each in asked.items()}
        except ImpossibleDemands as error:
            if all(each.of_request is None for each in asked.values()):
                raise
            impossible = error
    allocation = next(each.about for each in asked.values())
    answers, missing = _answers(asked, options)
    missing = wrong or missing
    lost = () if allocation is None else allocation.essential_out
    parts = []
    told_last: tuple[str, ...] = ()
    for words, answer in answers.items():
        if words in better and better[words] != told_last:
            told_last = better[words]
            told = text_below(AS_IT_STANDS, told_last)
            parts.append(ShownAnswer(f"as it stands, {words}", None, told))
        heading = asked[words].heading
        edited = _as_edit(path, found, answer, options) if isinstance(found, Setup) else ()
        parts.append(ShownAnswer(words, answer, partial(_told, heading, answer, edited)))
    if lost and parts:
        parts[0] = attrs.evolve(parts[0], text=partial(_under_loss, parts[0], lost))
    setup = found if isinstance(found, Setup) else None
    if allocation is not None and setup is None:
        setup = allocation.setup(name_of_file(path))
    status, unanswered = _ending(answers, missing, impossible)
    outcome = VerbOutcome(tuple(parts), allocation, setup, None, lost, "panel", status, unanswered)
    given = give(outcome, options)
    if given == IMPOSSIBLE and impossible is not None:
        fail(given, "no layout meets every demand, so nothing else can be answered")
    return given


def _ready(
    found: Request | Setup | Allocation, options: argparse.Namespace
) -> tuple[dict[str, Question], InputError | None]:
    """Each question, and the first refusal of one: the others are answered all the same.

    Of a setup each is about what it takes to be free to move, or left out, and no other counts.

    Raises:
        InputError: all are refused.
    """
    asked: dict[str, Question] = {}
    refused: InputError | None = None
    for takes, values in options.steps:
        about = _in_question(found, takes.name, values) if isinstance(found, Setup) else found
        request = about if isinstance(about, Request) else about.request
        try:
            own = question(takes.name, values, request, options)
        except InputError as error:
            refused = refused or error
            continue
        layout = about if isinstance(about, Allocation) else None
        asked[" ".join((takes.name, *values))] = attrs.evolve(own, request=request, about=layout)
    if refused is not None and not asked:
        raise refused
    return asked, refused


def _in_question(setup: Setup, name: str, values: Sequence[str]) -> Allocation:
    """A setup as it stands, as a question takes it."""
    from knobpack.edits.in_question import as_it_stands

    counting = name in BUDGETS
    about = _about(setup, name, values)
    return as_it_stands(setup, about, everything=counting, left_out=counting)


def _as_edited(
    setup: Setup, asked: Mapping[str, Question], options: argparse.Namespace
) -> dict[str, Question]:
    """Questions about a setup; those of why the last edit put something there about that edit."""
    from knobpack.edits.in_question import last_edited

    found = {**asked}
    for takes, values in options.steps:
        words = " ".join((takes.name, *values))
        if takes.name in ("why", "why-not") and words in asked:
            with going_on("editing again", options) as limits:
                again = last_edited(setup, values[:1], **limits)
            if again is not None:
                found[words] = attrs.evolve(asked[words], about=again)
    return found


def _about(setup: Setup, name: str, values: Sequence[str]) -> Sequence[str]:
    """The destinations that a question is about; none: all alike."""
    if name == "why-shared":
        return read(setup).carries.get(values[0], ())
    return values[:1] if name in ("why", "why-not") else ()


def _standing(
    asked: Mapping[str, Question], options: argparse.Namespace
) -> tuple[dict[str, Question], dict[str, tuple[str, ...]]]:
    """Questions about a setup, their layouts proven as far as they are the best.

    And what would be better, by the first of the questions for which it would. What is reckoned, as
    the worth of a knob, is reckoned from there: else it would be told what is had without it.
    """
    from knobpack.edits.in_question import in_question

    about = {each.request: each.about for each in asked.values() if each.about is not None}
    with going_on("reading", options) as limits:
        run = begun("ask", limits=Limits(**limits))
        known = {each: in_question(about[each], own) for each, own in run.in_turn(about)}
    ready, better = {}, {}
    for words, each in asked.items():
        at = known[each.request]
        reckons = words.partition(" ")[0] not in OF_PLACES
        ready[words] = attrs.evolve(each, about=at.best if reckons else at.allocation)
        if at.sentences:
            better[words] = at.sentences
            if reckons:
                better[words] += (FROM_THERE,)
                ready[words] = _moved_from(at.allocation, ready[words])
    return ready, better


def _beside_torn(
    setup: Setup, better: Mapping[str, tuple[str, ...]], options: argparse.Namespace
) -> dict[str, tuple[str, ...]]:
    """What would be better, by question, after what may move, became of it and takes no more."""
    from knobpack.edits.in_question import footing_told, past_told, torn_knobs_told

    at, found = read(setup).knobs_of, {**better}
    for takes, values in options.steps:
        words, told = " ".join((takes.name, *values)), list[str]()
        if takes.name in OF_ROOM:
            told += footing_told(setup, _about(setup, takes.name, values))
        if takes.name in OF_PLACES:
            knobs = {knob for value in values for knob in at.get(value, (value,))}
            told += (*past_told(setup, {*values, *knobs}), *torn_knobs_told(setup, knobs))
        told += better.get(words, ())
        if words in better and (setup.edits or setup.home):
            told.append(AFTER_EDITS)
        found |= {words: tuple(told)} if told else {}
    return found


def _moved_from(standing: Allocation, asked: Question) -> Question:
    """A question about a better layout whose answer tells what moves from the one that stands."""
    from knobpack.explanation.what_if import Difference, moved_between

    ask = asked.of_layout
    if ask is None:
        return asked

    def answer(made: Allocation, limits: Limits) -> Answer:
        found = ask(made, limits)
        if isinstance(found, Difference) and found.allocation is not None:
            return attrs.evolve(found, moved=moved_between(standing, found.allocation))
        return found

    return attrs.evolve(asked, of_layout=answer)


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


def _needs_layout(asked: Iterable[Question], options: argparse.Namespace) -> bool:
    made = ("graph", "midi", "page", "picture", "setup", "sheet")
    of_it = (getattr(options, kind) for kind in made)
    return any(each is not None for each in of_it) or any(each.of_layout for each in asked)


def _as_edit(
    path: str, setup: Setup, answer: Answer, options: argparse.Namespace
) -> tuple[str, ...]:
    """The edit that lets go what a setup keeps in the way, and what would move for it."""
    if not (isinstance(answer, NotThere) and answer.may_yield):
        return ()
    from knobpack.edits import edit

    line = f"knobpack edit {quote(path)} on {quote(answer.knob)} {quote(answer.destination)}"
    try:
        with going_on("editing", options) as limits:
            done = edit(setup, OnKnob((answer.destination,), answer.knob), **limits)
    except (ImpossibleDemands, NoLayoutFound):
        return (f"{line} tells what stands in its way.",)
    return (f"{line} would do it:", *(f"  {told}" for told in done.headlines))


def _told(heading: str, answer: Answer, edited: Sequence[str], wide: int) -> str:
    """An answer, above the edit that changes it."""
    lines = [line for told in edited for line in paragraph(told, 2, 4, wide)]
    return "\n".join([answer_text(heading, answer, wide).removesuffix("\n"), *lines, ""])


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
    asked: Mapping[str, Question], options: argparse.Namespace
) -> tuple[dict[str, Answer], NoLayoutFound | InputError | None]:
    """The answers, and why the first of those that are missing has none."""
    found: dict[str, Answer] = {}
    missing: NoLayoutFound | InputError | None = None
    for number, (words, each) in enumerate(asked.items(), 1):
        line = f"answering {number} of {len(asked)}: {each.heading}"
        try:
            with going_on(line, options) as limits:
                if each.of_request is not None and each.request is not None:
                    found[words] = each.of_request(each.request, Limits(**limits))
                elif each.of_layout is not None and each.about is not None:
                    found[words] = each.of_layout(each.about, Limits(**limits))
        except NoLayoutFound as error:
            missing = missing or error
        except InputError as error:
            refused = InputError(words.partition(" ")[0], error.value, error.right)
            refused.add_note(f"asked by {words}")
            missing = missing or refused
    return found, missing
