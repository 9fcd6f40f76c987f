"""The demo, and what other programs need to begin with."""

from __future__ import annotations

import argparse
import shlex

from knobpack.command.streams import DONE, Refused, one_line, output, print_json, tell, width
from knobpack.file_shapes import schema_text


def demo(options: argparse.Namespace) -> int:
    """``demo``: shown, or its files written."""
    if (options.folder, options.request, options.list) == (None, None, None):
        from knobpack.command.evening import evening

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
