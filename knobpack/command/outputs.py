"""An outcome shown as text or JSON, and written to every file that was asked for."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Iterator, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import attrs

from knobpack.allocation import Allocation
from knobpack.command.meter import going_on
from knobpack.command.outcome import ShownAnswer, VerbOutcome
from knobpack.command.paths import targets
from knobpack.command.streams import DONE, ESSENTIAL_OUT, one_line, output, print_json, tell, width
from knobpack.command.written_files import write_all
from knobpack.definition.phrases import essential_told
from knobpack.errors import InputError, Reason, ended
from knobpack.files import dumps, to_plain
from knobpack.files.contents import contents
from knobpack.files.written import Answers
from knobpack.limits import Limits
from knobpack.words import Setup
from knobpack.words.names import listed

if TYPE_CHECKING:
    from knobpack.midi import ControllerNumbers, Listening, SweepFile
    from knobpack.sheets import PatchSheet

FINE_BITS = 8
"""From so many bits on, a position is sent in 14 bits: 7 would be coarser than the surface."""


MAKING = frozenset({"allocate", "combine", "edit", "listen", "lists", "move", "songs"})
"""The verbs of which something new comes."""

KEPT = frozenset({"setup", "sheet", "table", "midi"})
"""What is programmed from, or gone on with."""


def give(outcome: VerbOutcome, options: argparse.Namespace) -> int:
    """Write the files that were asked for, and show the rest.

    Args:
        outcome: what a verb gave.
        options: what was said after it.

    Returns:
        The exit status.

    Raises:
        InputError: a file cannot be made or written; then none is written that was not there, and
            what was found is shown all the same.
        OSError: standard output cannot be written to.
    """
    refused = None
    try:
        _check_whole(outcome, options)
        outcome, told = _written(outcome, options)
    except InputError as error:
        refused, told = error, []
    _show(outcome, options)
    if not options.quiet:
        for line in [*told, *_hints(options)]:
            tell(line)
    missing = refused or outcome.error
    if missing is not None:
        raise missing
    if outcome.status == DONE and outcome.essential_out:
        return ESSENTIAL_OUT
    return outcome.status


def _check_whole(outcome: VerbOutcome, options: argparse.Namespace) -> None:
    """Refuse to write what is programmed or gone on with where something essential is left out.

    Whoever opens the file later, or programs from it, sees no sign of what went missing.

    Raises:
        InputError: it is so, and nobody said that it may be.
    """
    if not outcome.essential_out or options.force or options.verb not in MAKING:
        return
    written = {kind for kind, path in targets(options) if path != "-"}
    if not (options.in_place or outcome.files[0] or written & KEPT):
        return
    lost = listed(outcome.essential_out, 4)
    are = "is" if len(outcome.essential_out) == 1 else "are"
    there = Reason(f"{lost} {are} essential and left out, so nothing is written")
    take = "take an offer (--take N), or " if outcome.offers else ""
    right = f"{take}write it all the same with --force"
    raise InputError(one_line(options.files[0]), there, right)


def _hints(options: argparse.Namespace) -> Iterator[str]:
    """What somebody at a terminal may want next."""
    if sys.stderr is None or not sys.stderr.isatty() or options.verb not in MAKING:
        return
    writes = "--into FOLDER" if options.verb == "songs" else "--setup FILE"
    if not any(targets(options)) and (options.verb != "songs" or options.into is None):
        yield f"Nothing is kept of this: {writes} writes it."
    if not options.details:
        yield "--details tells more."


def _show(outcome: VerbOutcome, options: argparse.Namespace) -> None:
    found = outcome.allocation
    streamed = [kind for kind, path in targets(options) if path == "-"]
    told = not streamed and any(part.answer is found for part in outcome.parts)
    if found is not None and found.stopped is not None and not (told or options.quiet):
        tell(f"This layout is not proven best: {ended(found.stopped)}.")
    if KEPT.intersection(streamed) and not options.quiet:
        for line in essential_told(outcome.essential_out):
            tell(line)
    if streamed == ["json"]:
        print_json(to_plain(_plain(outcome)))
    elif streamed == ["setup"] and outcome.setup is not None:
        print_json(to_plain(outcome.setup))
    elif streamed == ["sheet"]:
        output().write(_sheet(outcome).text(width(sys.stdout)))
    elif streamed == ["table"]:
        from knobpack.tables import dumps

        output().write(dumps(_setup(outcome, "table")).replace("\r\n", "\n"))
    elif not streamed and not options.quiet:
        wide = width(sys.stdout)
        shown = (each for each in outcome.parts if options.details or not each.detail)
        output().write("\n".join(filter(None, (each.text(wide) for each in shown))))


def _plain(outcome: VerbOutcome) -> Any:
    """What is written as JSON: the layout alone, all answers, or the result where there is none."""
    parts = outcome.parts
    if len(parts) == 1 and isinstance(parts[0].answer, Allocation):
        return parts[0].answer
    answers = {
        part.asked: part.answer
        for part in parts
        if part.answer is not None and not isinstance(part.answer, Allocation)
    }
    if not answers and outcome.setup is not None:
        return outcome.setup
    return Answers(answers, outcome.essential_out) if outcome.essential_out else answers


def _written(outcome: VerbOutcome, options: argparse.Namespace) -> tuple[VerbOutcome, list[str]]:
    """Make what stands in every file, then write all; with what is told of each."""
    besides, what = outcome.files
    contents, told = {**besides}, [what] if what else []
    if options.midi is not None or options.verb == "midi":
        part, files = sent(_setup(outcome, "midi"), options, outcome.listening)
        outcome = attrs.evolve(outcome, parts=(*outcome.parts, part))
        contents |= {Path(options.midi) / each.file_name: each.data for each in files}
        if files:
            what = (
                "The MIDI file of the one snapshot is"
                if len(files) == 1
                else f"{len(files)} MIDI files are"
            )
            told.append(f"{what} in {one_line(options.midi)}.")
    for kind, path in targets(options):
        if path == "-":
            _made(kind, outcome, path)  # refused before anything is written
        elif kind == "page":
            contents[Path(path)] = _page(outcome, options)
            what = "The page" if outcome.page else "The page of reasons"
            told.append(f"{what} is in {one_line(path)}.")
        elif kind != "midi":
            content, what = _made(kind, outcome, path)
            contents[Path(path)] = content
            told.append(f"{what} in {one_line(path)}.")
    if options.table is not None:
        from knobpack.tables import not_held

        told += not_held(_setup(outcome, "table"), order=False)
    write_all(contents, force=options.force or options.in_place)
    return outcome, told


def _setup(outcome: VerbOutcome, kind: str) -> Setup:
    if outcome.setup is None:
        right = "leave it out, or name one file"
        if outcome.page is not None:
            right = "leave it out; --into FOLDER writes one for each song"
        raise InputError(f"--{kind}", Reason("there is no one setup to write"), right)
    return outcome.setup


def _sheet(outcome: VerbOutcome) -> PatchSheet:
    from knobpack.sheets import patch_sheet

    after = _setup(outcome, "sheet")
    before = outcome.before
    sheet = patch_sheet(before if before and before.surface == after.surface else None, after)
    return attrs.evolve(sheet, title=outcome.title or sheet.title)


def _made(kind: str, outcome: VerbOutcome, path: str) -> tuple[bytes, str]:
    """What stands in a file of a kind, and what is told of that."""
    match kind:
        case "json":
            return dumps(_plain(outcome)).encode(), "All that is told is"
        case "setup":
            return dumps(_setup(outcome, kind)).encode(), "The result is"
        case "sheet":
            from knobpack.definition.phrases import many

            sheet = _sheet(outcome)
            written = b"" if path == "-" else contents(path, sheet, str)
            return (
                written,
                f"The patch sheet, {many(sum(step.sets for step in sheet.steps), 'step')}, is",
            )
        case "table":
            from knobpack import tables

            return tables.dumps(_setup(outcome, kind)).encode("utf-8-sig"), "The table is"
        case "picture":
            return _picture(outcome, path), "The picture is"
    if outcome.allocation is None:
        right = "use it with a verb that lays out"
        raise InputError(f"--{kind}", Reason("nothing is laid out"), right)
    graph = outcome.allocation.graph
    return contents(path, graph, partial(dumps, graph)), "The network of facts is"


def _page(outcome: VerbOutcome, options: argparse.Namespace) -> bytes:
    """The page of reasons: of what was explained, or what is explained for it."""
    from knobpack.explanation.whole import Explanation

    if outcome.page is not None:
        return outcome.page().encode()
    if outcome.allocation is None:
        raise InputError("--page", Reason("nothing is laid out"), "use it with a verb that does")
    told = [each.answer for each in outcome.parts]
    first = next((said for each in told if (said := getattr(each, "headlines", ()))), ())
    explained = next((each for each in told if isinstance(each, Explanation)), None)
    if explained is None:
        with going_on("explaining", options) as limits:
            explained = outcome.allocation.explain(limits=Limits(**limits))
    return explained.page(outcome.setup, first).encode()


def _picture(outcome: VerbOutcome, path: str) -> bytes:
    if outcome.drawn is None:
        _setup(outcome, "picture")  # refused before matplotlib takes its time
    import matplotlib as mpl

    mpl.use("agg")
    from matplotlib import pyplot

    from knobpack import pictures

    draw: Mapping[str, Callable[[Setup], Any]] = {
        "panel": pictures.draw_surface,
        "routes": pictures.draw_routes,
        "snapshots": pictures.draw_snapshots,
    }
    axes: Any = (
        outcome.drawn() if outcome.drawn else draw[outcome.picture](_setup(outcome, "picture"))
    )
    drawn = contents(path, axes, str)
    pyplot.close(axes.figure)
    return drawn


def sent(
    setup: Setup, options: argparse.Namespace, listening: tuple[Listening, ...] = ()
) -> tuple[ShownAnswer, tuple[SweepFile, ...]]:
    """Choose the numbers of a setup, and make its files where they are to be written.

    Args:
        setup: the setup.
        options: what was said after the verb.
        listening: what voices listen to already.

    Raises:
        InputError: the setup cannot be sent.
    """
    from knobpack.midi import controller_numbers
    from knobpack.present.setup_text import midi_text

    channel = options.channel
    fine = setup.surface.bits >= FINE_BITS
    found: ControllerNumbers = controller_numbers(
        setup, channel=channel, listening=listening, fine=fine
    )
    files: tuple[SweepFile, ...] = ()
    if options.midi is not None:
        from knobpack.midi import sweep_files

        files = sweep_files(setup, found, channel=channel, notes=options.notes)
    text = partial(midi_text, found, files, details=options.details)
    return ShownAnswer("controller numbers", found, text), files
