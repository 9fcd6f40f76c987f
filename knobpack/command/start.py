"""The demo, and what other programs need to begin with."""

from __future__ import annotations

import argparse
import shlex
from collections.abc import Iterator
from typing import TYPE_CHECKING

from knobpack.command.streams import DONE, Refused, one_line, output, print_json, tell, width
from knobpack.file_shapes import schema_text
from knobpack.text.columns import headed, listing, paragraph, text_of

if TYPE_CHECKING:
    from knobpack.words import Setup

BROKEN = "K7"
"""The knob that breaks."""

DO_IT_YOURSELF = (
    ("knobpack demo demo", "writes these setups, and says how to combine them"),
    ("knobpack --help", "all else: audits, edits, sheets, MIDI, questions"),
)


def demo(options: argparse.Namespace) -> int:
    """``demo``: shown, or its files written."""
    if (options.folder, options.request, options.list) == (None, None, None):
        for chapter in evening(width(output())):
            if not options.quiet:
                output().write(f"{chapter}\n")
        return DONE
    from pathlib import Path

    from knobpack.command.written_files import write_all
    from knobpack.files import dumps, to_plain
    from knobpack.present.demo import TONIGHT, demo_list, demo_request, demo_setups

    contents = {}
    told = []
    if options.request == "-":
        print_json(to_plain(demo_request()))
    elif options.request is not None:
        contents[Path(options.request)] = dumps(demo_request()).encode()
        path = shlex.quote(options.request)
        told += [f"A request of six voices is in {path}; lay it out: knobpack allocate {path}"]
    if options.list is not None:
        contents[Path(options.list)] = demo_list()
        path = shlex.quote(options.list)
        told += [f"A controller list is in {path}; lay it out: knobpack lists {path}"]
    if options.folder is not None:
        folder = Path(options.folder)
        setups = {folder / name: setup for name, setup in demo_setups().items()}
        contents |= {path: dumps(setup).encode() for path, setup in setups.items()}
        *first, late = (shlex.quote(path.as_posix()) for path in setups)
        told += [
            f"The demo's setups are in {folder}; combine them, then bring the late one:",
            f"  knobpack combine {' '.join(first)} --setup {TONIGHT} --sheet sheet.html",
            f"  knobpack combine {TONIGHT} {late} --sheet late.html",
        ]
    write_all(contents, force=options.force)
    for line in told if not options.quiet else ():
        tell(one_line(line))
    return DONE


def evening(wide: int) -> Iterator[str]:
    """The text in lines of so many columns, a chapter at a time, each worked out when asked for."""
    from knobpack.combination.combiner import combine
    from knobpack.definition.phrases import CAUTION
    from knobpack.edits.editor import edit
    from knobpack.present.combination_text import combination_text
    from knobpack.present.demo import SETUPS, demo_setups
    from knobpack.present.setup_text import panel_lines
    from knobpack.words.setup_edits import OutOfUse

    def chapter(title: str, told: str, setup: Setup) -> str:
        parts = (paragraph(title, 0, 3, wide), told.splitlines(), panel_lines(setup, wide))
        return text_of(parts)

    base, *sources, late = (demo_setups()[name] for name in SETUPS)
    tonight = combine(base, *sources)
    told = combination_text(tonight, wide)
    yield chapter("1  Two sources come to the base", told, tonight.setup)
    more = combine(tonight.setup, late)
    told = combination_text(more, wide)
    yield chapter("2  A source comes late: nothing else moves", told, more.setup)
    mended = edit(more.setup, OutOfUse(BROKEN))
    told = text_of([headed(f"EDIT  {mended.setup.name}", mended.sentences, wide)])
    yield chapter(f"3  {BROKEN} breaks at the sound check", told, mended.setup)
    yield text_of((paragraph(CAUTION, 0, 0, wide), listing(DO_IT_YOURSELF, page=wide)))


def printing_schema(_: argparse.Namespace) -> int:
    """``schema``: the JSON Schema of the files."""
    output().write(schema_text())
    return DONE


def completion(options: argparse.Namespace) -> int:
    """``completion``: what a shell completes by."""
    try:
        import shtab
    except ImportError:
        told = "shtab is not installed; install it: pip install 'knobpack[completion]'"
        raise Refused(f"completion: {told}") from None
    from knobpack.command.parser import every_parser

    if options.shell not in shtab.SUPPORTED_SHELLS:
        raise Refused(
            f"completion: {options.shell!r} will not do; give {', '.join(shtab.SUPPORTED_SHELLS)}"
        )
    made = every_parser({"FILE": shtab.FILE, "FOLDER": shtab.DIRECTORY})
    output().write(shtab.complete(made, options.shell) + "\n")
    return DONE
