"""Combining: the whole job, from the files of a base and sources to a patch sheet."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from knobpack.errors import InputError, Reason
from knobpack.files import load_setup
from knobpack.present.asked import Asked
from knobpack.present.columns import NARROW
from knobpack.present.job import Done, Job, Part
from knobpack.present.meter import Meter
from knobpack.present.midi import midi_part
from knobpack.present.names import ambiguous, known
from knobpack.present.places import place
from knobpack.present.streams import one_line, tell
from knobpack.reading import read
from knobpack.words import Setup
from knobpack.words.fields import check_name

if TYPE_CHECKING:
    from knobpack.combination.answer import Combination
    from knobpack.combination.offer import Offer

AUDIT = "audit of the result"
JUMPS = "jumps in the result"
NUMBERS = "controller numbers of the result"
SHEET = "patch sheet from the base to the result"


def combining(asked: Asked, options: argparse.Namespace) -> Job:
    """Make ready to combine setups.

    Args:
        asked: the files: of the base, then of each source.
        options: what else was said.

    Raises:
        InputError: a file or name does not do, or there is no source.
    """
    first, *others = asked.values
    base = load_setup(first)
    paths = [path for path in others if place(path) != place(first)]
    if len(paths) < len(others) and not options.quiet:
        tell(f"{one_line(first)} is the base: it is not brought as a source too.")
    if not paths:
        right = "give the file of a base, then that of each source"
        raise InputError(asked.option, Reason("there is no source"), right)
    setups = [load_setup(path) for path in paths]
    if options.name is not None:
        check_name("--name", options.name)
    freeable = _freeable(base)
    for name in options.free:
        known("--free", name, freeable, "name a voice, group or destination of the base")
    idle = list(read(base).idle)
    for name in options.clear:
        known("--clear", name, idle, "name a knob of the base that does nothing, though routed")
    picks = _picked(setups, options.only)

    def run() -> Done:
        from knobpack.combination.combine import combine, taking
        from knobpack.combination.report import Source

        meter = Meter(None if options.quiet else sys.stderr)
        limits: dict[str, Any] = {
            "time_limit": options.time_limit,
            "effort": options.effort,
            "progress": meter.tell,
            "cancel": meter.beat,
        }
        try:
            found = combine(
                base,
                *(
                    setup if voices is None else Source(setup, voices)
                    for setup, voices in zip(setups, picks, strict=True)
                ),
                name=options.name,
                free=tuple(dict.fromkeys(options.free)),
                clear=tuple(dict.fromkeys(options.clear)),
                again=options.again,
                unreached=options.unreached,
                **limits,
            )
            if options.take is not None:
                found = taking(found, _offer(found, options.take), **limits)
        finally:
            meter.clear()
        done = _done(asked, base, found, printed=options.sheet == "-")
        if options.midi is None:
            return done
        part, files = midi_part(NUMBERS, found.setup, options)
        return done.and_then(Done((part,), midi=files))

    return Job(asked, f"combining {len(paths) + 1} setups", run)


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


def _freeable(base: Setup) -> list[str]:
    """What of the base can be named to be freed."""
    inner = [voice.full_name(each) for voice in base.voices for each in voice.destinations]
    return [*(v.name for v in base.voices), *(g.name for g in base.groups), *inner]


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
        known("--only", name, known_as, "name a voice of a source")
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


def _done(asked: Asked, base: Setup, found: Combination, *, printed: bool) -> Done:
    from knobpack.auditing.audit import audit
    from knobpack.present.combination_text import combination_text
    from knobpack.present.setup_text import audit_text, jumps_text, sheet_text
    from knobpack.present.text import layout_text
    from knobpack.sheets import patch_sheet
    from knobpack.simulation import worst_changes

    setup, allocation = found.setup, found.allocation
    checked, jumps = audit(setup), worst_changes(setup)
    sheet = patch_sheet(base, setup)
    top = setup.surface.top
    stored = {each.name for each in setup.snapshots} or None
    return Done(
        (
            Part(
                str(asked),
                found,
                lambda: f"{combination_text(found)}\n{layout_text(allocation, NARROW, stored)}",
            ),
            Part(AUDIT, checked, lambda: audit_text(checked, top, by_knob=False)),
            Part(JUMPS, jumps, lambda: jumps_text(setup, jumps)),
            Part(SHEET, sheet, lambda: sheet_text(sheet) if printed else ""),
        ),
        allocation=allocation,
        setup=setup,
        sheet=sheet,
        essential_out=found.essential_out,
    )
