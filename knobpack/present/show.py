"""Show: what was found, as text or JSON, on the screen and in files."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files import save, save_graph, to_plain
from knobpack.present.streams import output, print_json, tell

if TYPE_CHECKING:
    from knobpack.files.written import Answer


def show(
    options: argparse.Namespace,
    found: Allocation | Mapping[str, Answer],
    allocation: Allocation | None,
    text: Callable[[], str],
) -> None:
    """Write the files that were asked for, and print the rest.

    Args:
        options: says which files, and whether text or JSON is printed.
        found: what is written as JSON.
        allocation: what the graph is of; None: there is none, and no file of it.
        text: makes the text.

    Raises:
        InputError: a file cannot be written.
        OSError: standard output cannot be written to.
    """
    refused = []
    # What was found took time: it is shown before a file is complained about.
    try:
        if options.json not in (None, "-"):
            save(found, options.json)
    except InputError as error:
        refused.append(error)
    try:
        if options.graph is not None and allocation is not None:
            save_graph(allocation.graph, options.graph)
    except InputError as error:
        refused.append(error)
    shows_proof = found is allocation and options.json != "-"
    if allocation is not None and not (allocation.proven or shows_proof or options.quiet):
        tell(f"This layout is not proven best: stopped by {allocation.stopped}.")
    if options.json == "-":
        print_json(to_plain(found))
    elif not options.quiet:
        output().write(text())
    if refused:
        raise refused[0]
