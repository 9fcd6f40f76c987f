"""Places: the files that are given on the command line, looked at before anything is read."""

from __future__ import annotations

import argparse
import os

from knobpack.errors import InputError
from knobpack.files import graph_ending, sheet_ending
from knobpack.present.asked import Asked


def check_files(options: argparse.Namespace) -> None:
    """Refuse a file that cannot hold what goes to it, or that something else is to be found in.

    Raises:
        InputError: there is one.
    """
    if options.graph is not None:
        graph_ending(options.graph)
    if options.sheet not in (None, "-"):
        sheet_ending(options.sheet)
    asked = (*options.asked, *options.jobs, *options.edits)
    read = [path for each in asked for path in files_of(each)]
    taken = [place(path) for path in (options.request, *read)]
    for option, path in (
        ("--json", options.json),
        ("--graph", options.graph),
        ("--sheet", options.sheet),
        ("--setup", options.setup),
        ("--midi", options.midi),
    ):
        found = None if path == "-" else place(path)
        if found is not None and found in taken:
            right = "this file is given for something else too; give another name"
            raise InputError(option, path, right)
        taken.append(found)


def files_of(asked: Asked) -> tuple[str, ...]:
    """The files that a question or job reads."""
    match asked.option:
        case (
            "--combine"
            | "--audit"
            | "--changes"
            | "--difference"
            | "--controllers"
            | "--edit"
            | "--to-panel"
        ):
            return asked.values
        case "--what-if" | "--sweep":
            return asked.values[:1]
        case _:
            return ()


def place(path: str | None) -> str | None:
    """Where a file is, whatever it is called; None: that is no path, as will be said later."""
    try:
        return None if path is None else os.path.realpath(path)
    except ValueError:
        return None
