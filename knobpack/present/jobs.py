"""Jobs: what was asked to be done with setups, made ready to be done.

Files and names are looked up before anything is worked out: a wrong one is refused at once.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping, Sequence

import attrs

from knobpack.errors import InputError, Reason
from knobpack.files import load_setup
from knobpack.present.asked import Asked
from knobpack.present.combining import combining
from knobpack.present.editing import editing
from knobpack.present.job import Done, Job, Part
from knobpack.present.midi import check_midi, midi_part
from knobpack.present.names import known
from knobpack.words import Setup
from knobpack.words.fields import check_whole
from knobpack.words.snapshot import EVERYTHING

POINTS = 129
"""Positions of the master that a sweep goes through, at most: bottom, middle and top among them."""

SHEET_JOBS = ("--combine", "--difference", "--edit")
"""The jobs that a patch sheet comes of."""

MIDI_JOBS = ("--combine", "--controllers")
"""The jobs that MIDI files can come of."""

MOST_CHANNELS = 16
"""Channels of a MIDI file (MIDI 1.0)."""


def _either(options: Sequence[str]) -> str:
    """Options of which one is to be given: ``--a, --b or --c``."""
    *first, last = options
    return f"{', '.join(first)} or {last}"


def check_jobs(options: argparse.Namespace) -> None:
    """Refuse what does not go together, or does not go with what is to be done.

    Raises:
        InputError: something does not.
    """
    jobs = [each.option for each in options.jobs]
    if jobs and options.request is not None:
        right = f"{jobs[0]} takes all its files behind it; give a request by itself"
        raise InputError("REQUEST.json", options.request, right)
    searches = {"--combine", "--edit"} & set(jobs)
    if jobs and not searches and options.time_limit is not None:
        right = "use it with a request, with --combine or with --edit"
        raise InputError("--time-limit", Reason("nothing is searched for"), right)
    if sum(jobs.count(option) for option in SHEET_JOBS) > 1:
        right = f"give one {_either(SHEET_JOBS)}, once"
        raise InputError("--sheet", Reason("there is one patch sheet at a time"), right)
    if "--combine" not in jobs:
        _check_without_combine(options)
    if options.sheet is not None and not set(SHEET_JOBS) & set(jobs):
        right = f"use it with {_either(SHEET_JOBS)}"
        raise InputError("--sheet", Reason("there is nothing to make one of"), right)
    if options.edits and "--edit" not in jobs:
        right = "use it with --edit SETUP.json"
        raise InputError(options.edits[0].option, Reason("no setup is edited"), right)
    _check_midi(options, sum(jobs.count(option) for option in MIDI_JOBS))


def _check_midi(options: argparse.Namespace, setups: int) -> None:
    """Refuse files of no setup or of more than one; ``setups``: how many they could be of."""
    right = f"use it with one {_either(MIDI_JOBS)}"
    if options.midi is not None and setups != 1:
        why = "there is no setup to sweep" if not setups else "it is one setup at a time"
        raise InputError("--midi", Reason(why), right)
    if options.channel is not None:
        check_whole("--channel", options.channel, 1, MOST_CHANNELS)
        if options.midi is None and "--controllers" not in [each.option for each in options.jobs]:
            raise InputError(
                "--channel", Reason("nothing is sent"), "use it with --controllers or --midi"
            )
    if options.notes and options.midi is None:
        raise InputError("--notes", Reason("no file is written"), "use it with --midi")
    check_midi(options)


def _check_without_combine(options: argparse.Namespace) -> None:
    """Refuse what goes with a combination alone."""
    given = {
        "--only": options.only,
        "--free": options.free,
        "--clear": options.clear,
        "--take": options.take is not None,
        "--again": options.again,
        "--unreached": options.unreached,
        "--name": options.name is not None,
    }
    if options.setup is not None and "--edit" not in [each.option for each in options.jobs]:
        right = "use it with --combine or --edit"
        raise InputError("--setup", Reason("no setup is made"), right)
    for option, is_given in given.items():
        if is_given:
            raise InputError(option, Reason("nothing is combined"), "use it with --combine")
    if not options.jobs:
        return
    laid_out = [each.option for each in options.asked]
    laid_out += ["--graph"] if options.graph is not None else []
    if laid_out:
        right = "use it with a request, or with --combine"
        raise InputError(laid_out[0], Reason("nothing is laid out"), right)


def jobs(options: argparse.Namespace) -> tuple[Job, ...]:
    """What was asked to be done, in that order.

    Args:
        options: what :func:`knobpack.present.options.parser` made of the command line.

    Raises:
        InputError: a name or file does not do.
    """
    return tuple(_MADE[each.option](each, options) for each in options.jobs)


def _audit(asked: Asked, _: argparse.Namespace) -> Job:
    setups = {path: load_setup(path) for path in dict.fromkeys(asked.values)}

    def run() -> Done:
        from knobpack.auditing.audit import audit
        from knobpack.present.setup_text import audit_text

        def part(path: str, setup: Setup) -> Part:
            found = audit(setup)
            own = Asked(asked.option, (path,))
            return Part(str(own), found, lambda: audit_text(found, setup.surface.top))

        return Done(tuple(part(path, setup) for path, setup in setups.items()))

    return Job(asked, "auditing", run)


def _sweep(asked: Asked, _: argparse.Namespace) -> Job:
    path, *names = asked.values
    setup = load_setup(path)
    stored = [snapshot.name for snapshot in setup.snapshots] or [EVERYTHING]
    for name in names:
        known(asked.option, name, stored, f"name a snapshot of the setup in {path}")

    def run() -> Done:
        from knobpack.present.setup_text import sweep_text
        from knobpack.simulation import sweep

        def part(name: str) -> Part:
            found = sweep(setup, name, master=min(setup.surface.top + 1, POINTS))
            own = Asked(asked.option, (path, name))
            return Part(str(own), found, lambda: sweep_text(found))

        return Done(tuple(part(name) for name in dict.fromkeys(names or stored)))

    return Job(asked, "sweeping", run)


def _changes(asked: Asked, _: argparse.Namespace) -> Job:
    setup = load_setup(asked.values[0])

    def run() -> Done:
        from knobpack.present.setup_text import jumps_text
        from knobpack.simulation import worst_changes

        found = worst_changes(setup)
        return Done((Part(str(asked), found, lambda: jumps_text(setup, found)),))

    return Job(asked, "changing snapshots", run)


def _difference(asked: Asked, options: argparse.Namespace) -> Job:
    before, after = map(load_setup, asked.values)
    for field in attrs.fields(type(before.surface)):
        if getattr(before.surface, field.name) != getattr(after.surface, field.name):
            differ = field.name.replace("_", " ")
            right = (
                f"it must be of the same surface as {asked.values[0]}, and the {differ} of the two "
                f"differ; to bring the voices of one to the other, use {SHEET_JOBS[0]}"
            )
            raise InputError(asked.option, asked.values[1], right)
    printed = options.sheet in (None, "-")

    def run() -> Done:
        from knobpack.present.setup_text import sheet_text
        from knobpack.sheets import patch_sheet

        sheet = patch_sheet(before, after)
        part = Part(str(asked), sheet, lambda: sheet_text(sheet) if printed else "")
        return Done((part,), sheet=sheet)

    return Job(asked, "comparing", run)


def _controllers(asked: Asked, options: argparse.Namespace) -> Job:
    setup = load_setup(asked.values[0])

    def run() -> Done:
        part, files = midi_part(str(asked), setup, options)
        return Done((part,), midi=files)

    return Job(asked, "choosing controller numbers", run)


_MADE: Mapping[str, Callable[[Asked, argparse.Namespace], Job]] = {
    "--combine": combining,
    "--audit": _audit,
    "--sweep": _sweep,
    "--changes": _changes,
    "--difference": _difference,
    "--controllers": _controllers,
    "--edit": editing,
}
