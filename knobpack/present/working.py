"""Working: every job that was asked for, one after the other, then all of it shown and written."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from functools import partial

from knobpack.allocation import Allocation
from knobpack.errors import InputError, NoLayoutFound
from knobpack.files import save, save_sheet
from knobpack.present.answer_text import answer_text
from knobpack.present.answering import answers_to
from knobpack.present.columns import NARROW
from knobpack.present.job import Done, Job, Part
from knobpack.present.jobs import jobs
from knobpack.present.meter import told_while
from knobpack.present.midi import save_midi
from knobpack.present.questions import questions
from knobpack.present.show import show
from knobpack.present.streams import DONE, ESSENTIAL_OUT, one_line


def work(options: argparse.Namespace) -> int:
    """Do all jobs, and show and write what they gave.

    Args:
        options: what :func:`knobpack.present.options.parser` made of the command line, found
            right by :func:`knobpack.present.jobs.check_jobs`.

    Returns:
        The exit status.

    Raises:
        InputError: a file or name does not do, or a file cannot be written.
        ImpossibleDemands: no layout of what is to be combined meets every demand.
        NoLayoutFound: a search was stopped before any layout was known. If it was only that of
            a question, all else is shown all the same.
        OSError: standard output cannot be written to.
    """
    result = Done()
    missing: NoLayoutFound | None = None
    for job in jobs(options):
        done = _done(job, quiet=options.quiet)
        result = result.and_then(done)
        if done.allocation is not None:
            answers, missing = _answers(done.allocation, options)
            result = result.and_then(Done(answers))
    show(
        options,
        {part.asked: part.answer for part in result.parts},
        result.allocation,
        lambda: "\n".join(filter(None, (part.text() for part in result.parts))),
        _files(result, options),
        essential_out=result.essential_out,
    )
    if missing is not None:
        raise missing
    return ESSENTIAL_OUT if result.essential_out else DONE


def _done(job: Job, *, quiet: bool) -> Done:
    try:
        with told_while(job.going_on, quiet=quiet):
            return job.run()
    except InputError as error:
        error.add_note(f"asked by {job.asked}")
        raise


def _answers(
    allocation: Allocation, options: argparse.Namespace
) -> tuple[tuple[Part, ...], NoLayoutFound | None]:
    """What was asked of the layout of a combination."""
    asked = questions(allocation.request, options)
    found, missing = answers_to(asked, allocation.request, allocation, quiet=options.quiet)
    parts = (
        Part(str(each.asked), answer, partial(answer_text, each.heading, answer, NARROW))
        for each, answer in found.items()
    )
    return tuple(parts), missing


def _files(done: Done, options: argparse.Namespace) -> list[tuple[Callable[[], None], str]]:
    """What writes the files of a result, and what is told of each."""
    found: list[tuple[Callable[[], None], str]] = []
    if done.sheet is not None and options.sheet not in (None, "-"):
        path = options.sheet
        from knobpack.wording import many

        told = f"The patch sheet is in {one_line(path)}: {many(len(done.sheet.steps), 'step')}."
        found.append((partial(save_sheet, done.sheet, path), told))
    if done.setup is not None and options.setup is not None:
        told = f"The result is in {one_line(options.setup)}, as a setup."
        found.append((partial(save, done.setup, options.setup), told))
    if done.midi:
        count = len(done.midi)
        what = "The MIDI file of the one snapshot is" if count == 1 else f"{count} MIDI files are"
        told = f"{what} in {one_line(options.midi)}."
        found.append((partial(save_midi, done.midi, options.midi), told))
    return found
