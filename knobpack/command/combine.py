"""The whole job, from the files of a base and sources to a patch sheet."""

from __future__ import annotations

import argparse
import re
import shlex
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from knobpack.command import inputs
from knobpack.command.look import audited, jumped
from knobpack.command.meter import going_on
from knobpack.command.names import ambiguous
from knobpack.command.outcome import ShownAnswer, VerbOutcome
from knobpack.command.outputs import give
from knobpack.command.paths import place
from knobpack.command.streams import Refused, one_line, tell
from knobpack.errors import InputError
from knobpack.words import Setup
from knobpack.words.fields import check_named

if TYPE_CHECKING:
    from knobpack.combination.answer import Combination
    from knobpack.combination.offer import Offer


def combining(options: argparse.Namespace) -> int:
    """``combine``: voices of sources brought to a base."""
    first, *others = options.files
    paths = [path for path in others if place(path) != place(first)]
    if not paths:
        raise Refused("combine: there is no source; give the file of a base, then each source's")
    if len(paths) < len(others) and not options.quiet:
        tell(f"{one_line(first)} is the base: it is not brought as a source too.")
    base, *sources = (inputs.setup(path, options) for path in (first, *paths))
    picks = _picked(sources, options.only)
    with going_on(f"combining {len(paths) + 1} setups", options) as limits:
        from knobpack.combination.combiner import combine, taking
        from knobpack.combination.report import Source

        try:
            found = combine(
                base,
                *(
                    setup if voices is None else Source(setup, voices)
                    for setup, voices in zip(sources, picks, strict=True)
                ),
                name=options.name,
                free=tuple(dict.fromkeys(options.free)),
                clear=tuple(dict.fromkeys(options.clear)),
                again=options.again,
                unreached=options.unreached,
                **limits,
            )
        except InputError as error:
            raise _of_file(error, first, paths) from None
        for number in options.take:
            found = taking(found, _offer(found, number), **limits)
        outcome = _outcome(base, found, options)
    return give(outcome, options)


def _of_file(error: InputError, base: str, sources: Sequence[str]) -> InputError:
    """A refusal, as said of the file or the option that it is about."""
    from knobpack.combination.wanted import ThereAlready

    if isinstance(error, ThereAlready):
        away = f"knobpack edit {shlex.quote(base)} away {shlex.quote(str(error.value))}"
        right = f"{error.there}; take it away first ({away} --in-place), or bring it once more"
        error = InputError(error.field, error.value, f"{right} (--again)")
    option = re.fullmatch(r"combine\.(name|free|clear)(\[\d+\])?", error.field)
    if option:
        return InputError(f"--{option[1]}", error.value, error.right)
    files = {"combine.base": base}
    files |= {f"combine.sources[{at}]": path for at, path in enumerate(sources)}
    for field, path in files.items():
        if error.field.startswith(field):
            return InputError(path + error.field.removeprefix(field), error.value, error.right)
    return error


def _offer(found: Combination, number: int) -> Offer:
    """The offer of a number, as it is told."""
    if not 0 < number <= len(found.offers):
        right = "all has a knob, so there is no offer; leave it out"
        if found.offers:
            right = f"give the number of an offer, 1 to {len(found.offers)}"
        elif found.without_knob:
            right = "no offer would place anything; leave it out"
        raise InputError("--take", number, right)
    return found.offers[number - 1]


def _picked(setups: Sequence[Setup], only: Iterable[str]) -> list[tuple[str, ...] | None]:
    """The voices to bring of each source; None: all of them."""
    names = tuple(dict.fromkeys(only))
    if not names:
        return [None] * len(setups)
    voices = [(at, each.name) for at, setup in enumerate(setups) for each in setup.voices]
    called = [f"{setups[at].name}: {voice}" for at, voice in voices]
    known_as = [*dict.fromkeys(voice for _, voice in voices), *called]
    picked: list[list[str]] = [[] for _ in setups]
    for name in names:
        check_named("--only", name, known_as, "name a voice of a source")
        found = [at for at, full in enumerate(called) if full == name]
        if not found:
            found = [at for at, (_, voice) in enumerate(voices) if voice == name]
            ways = dict.fromkeys(called[at] for at in found)
            if len(ways) > 1:
                raise ambiguous("--only", name, ways)
        for at in found:
            source, voice = voices[at]
            picked[source].append(voice)
    return [tuple(dict.fromkeys(each)) for each in picked]


def _outcome(base: Setup, found: Combination, options: argparse.Namespace) -> VerbOutcome:
    from knobpack.present.combination_text import combination_text, offers_text
    from knobpack.present.text import layout_text

    setup, allocation, details = found.setup, found.allocation, options.details

    def text(wide: int) -> str:
        told = combination_text(found, wide, details=details)
        offers = offers_text(found, wide, taken=options.take)
        return f"{told}\n{layout_text(allocation, wide, setup, details=details)}{offers}"

    return VerbOutcome(
        (
            ShownAnswer("combination", found, text),
            audited("audit of the result", setup, aside=True),
            jumped("jumps in the result", setup, aside=True),
        ),
        allocation=allocation,
        setup=setup,
        before=base,
        essential_out=found.essential_out,
        offers=len(found.offers),
    )
