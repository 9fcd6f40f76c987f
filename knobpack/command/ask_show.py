"""Every question that was asked of a show, one after the other."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from shlex import quote

from knobpack.command import inputs
from knobpack.command.meter import going_on
from knobpack.command.names import song_meant
from knobpack.command.outcome import ShownAnswer, VerbOutcome, text_below
from knobpack.command.outputs import give
from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.limits import Limits
from knobpack.show import OddSongs, ShowAllocation, ShowDifference, WorthFreeing
from knobpack.text.columns import sentence
from knobpack.words.names import knob_told, knobs_told, quoted


def asking_show(options: argparse.Namespace) -> int:
    """``ask``, of a set list: its songs stay as they are unless a question is about them.

    What cannot be answered is refused once all else is answered.

    Raises:
        InputError: it is no set list, or all are refused.
    """
    found = inputs.show_as_it_is(options)
    parts = dict[str, ShownAnswer]()
    refused: InputError | None = None
    for number, (takes, values) in enumerate(options.steps, 1):
        asked = " ".join((takes.name, *values))
        try:
            with going_on(f"answering {number} of {len(options.steps)}: {asked}", options) as given:
                answer, above = _answer(takes.name, values, found, Limits(**given))
        except InputError as error:
            value = values[-1] if error.value is None else error.value
            refused = refused or InputError(takes.name, value, error.right)
            continue
        heading = takes.name.replace("-", " ").upper()
        text = text_below(f"{heading}  {' '.join(values)}".rstrip(), [*above, *answer.sentences])
        parts[asked] = ShownAnswer(asked, answer, text)
    if refused is not None and not parts:
        raise refused
    return give(VerbOutcome(tuple(parts.values()), error=refused), options)


def _answer(
    name: str, values: Sequence[str], found: ShowAllocation, limits: Limits
) -> tuple[ShowDifference | WorthFreeing | OddSongs, list[str]]:
    """What answers a question, and what is told before it."""
    if name == "worth-freeing":
        return found.worth_freeing(limits=limits), []
    if name == "odd-songs":
        return found.odd_songs(), []
    song = song_meant(name, values[0], [each.name for each in found.show.songs])
    answer = found.why_elsewhere(song, *values[1:], limits=limits)
    told = _places(found, song, values[1])
    broken = [each.knob for each in found.setup(song).broken]
    if broken:
        are = "is" if len(broken) == 1 else "are"
        told.append(f"{sentence(knobs_told(broken))} {are} out of use in '{song}'.")
    if answer.freed:
        told.append(
            f"'{song}' is programmed as the set list has it (the verb songs lays it out anew, "
            f"with --free {quote(song)}); here all else of it may move, and the other songs stay."
        )
    return answer, told


def _places(found: ShowAllocation, song: str, destination: str) -> list[str]:
    """Where a destination of one song is in all songs, knob by knob."""
    thing = next(
        each
        for each in found.things
        if any((at.song, at.destination) == (song, destination) for at in each.found)
    )
    songs = grouped((at.knob, at.song) for at in thing.found if at.knob is not None)
    told = (f"{knob_told(knob)} in {quoted(names)}" for knob, names in songs.items())
    return [f"{thing.role}/{thing.name} is on {'; '.join(told) or 'no knob'}."]
