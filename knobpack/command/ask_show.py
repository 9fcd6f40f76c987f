"""Every question that was asked of a show, one after the other."""

from __future__ import annotations

import argparse

from knobpack.command.meter import going_on
from knobpack.command.outcome import Outcome, ShownAnswer, text_below
from knobpack.command.outputs import give
from knobpack.errors import InputError
from knobpack.files.shows import load_show
from knobpack.limits import Limits
from knobpack.show import OddSongs, ShowAllocation, WorthFreeing, allocate_show


def asking_show(options: argparse.Namespace) -> int:
    """``ask``, of a set list: its songs stay as they are unless a question is about them."""
    show = load_show(options.files[0])
    with going_on("reading the songs", options) as limits:
        found = allocate_show(show, **limits)
    parts = dict[str, ShownAnswer]()
    for number, (takes, values) in enumerate(options.steps, 1):
        asked = " ".join((takes.name, *values))
        try:
            with going_on(f"answering {number} of {len(options.steps)}: {asked}", options) as given:
                answer = _answer(takes.name, found, Limits(**given))
        except InputError as error:
            raise InputError(takes.name, error.value, error.right) from None
        heading = takes.name.replace("-", " ").upper()
        text = text_below(f"{heading}  {' '.join(values)}".rstrip(), answer.sentences)
        parts[asked] = ShownAnswer(asked, answer, text)
    return give(Outcome(tuple(parts.values())), options)


def _answer(name: str, found: ShowAllocation, limits: Limits) -> WorthFreeing | OddSongs:
    """What answers a question."""
    if name == "worth-freeing":
        return found.worth_freeing(limits=limits)
    return found.odd_songs()
