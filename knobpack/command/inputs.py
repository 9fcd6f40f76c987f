"""Inputs: what a file holds, as what a verb needs: a request, a setup, or either."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from knobpack.clash import Clash, ImpossibleDemands
from knobpack.command.meter import going_on
from knobpack.command.streams import REFUSED, fail
from knobpack.errors import InputError
from knobpack.files import load, loads, save_graph
from knobpack.files.strict_json import MOST_BYTES
from knobpack.words import Request, Setup
from knobpack.words.layout import Layout

if TYPE_CHECKING:
    from knobpack.allocation import Allocation


def word(path: str, rest: Setup | None = None) -> Request | Setup:
    """What a file holds; ``-``: standard input.

    Args:
        path: the file; if its name ends in ``.csv``, a setup as a table.
        rest: the setup that says all that a table does not; None: nothing does.

    Raises:
        InputError: it cannot be read, or holds neither a request nor a setup.
    """
    if path.lower().endswith(".csv"):
        from knobpack import tables

        return tables.load(path, rest)
    try:
        found = loads(sys.stdin.buffer.read(MOST_BYTES + 1)) if path == "-" else load(path)
    except InputError as error:
        if path == "-":
            error.add_note("on standard input")
        raise
    if isinstance(found, Layout):
        raise InputError(path, "layout", "give a file that holds a request or a setup")
    return found


def setup(path: str, options: argparse.Namespace, rest: Setup | None = None) -> Setup:
    """What a file holds as a setup: a request is laid out first. The rest is as in :func:`word`.

    Raises:
        InputError: as :func:`word`.
        ImpossibleDemands: no layout meets every demand of the request.
        NoLayoutFound: the search was stopped before any layout was known.
    """
    found = word(path, rest)
    if isinstance(found, Setup):
        return found
    return laid_out(found, options).setup(name_of(path))


def name_of(path: str) -> str:
    """What the setup is called that a request in a file is laid out as."""
    return "Request" if path == "-" else Path(path).stem[:120] or "Request"


def laid_out(request: Request, options: argparse.Namespace) -> Allocation:
    """The best layout of a request.

    Raises:
        ImpossibleDemands: there is none.
        NoLayoutFound: the search was stopped before any was known.
    """
    from knobpack.allocator import allocate_request

    try:
        with going_on("searching", options) as limits:
            return allocate_request(request, **limits)
    except ImpossibleDemands as error:
        _write_clash(error.clash, request, options)
        raise


def _write_clash(clash: Clash, request: Request, options: argparse.Namespace) -> None:
    """Write the graph of what clashes, where that is a matter of who must be apart from whom."""
    if options.graph is None or not clash.rivals:
        return
    from knobpack.graph import clash_graph

    try:
        save_graph(clash_graph(request, clash.rivals), options.graph)
    except InputError as error:
        fail(REFUSED, str(error))  # what clashes is told all the same
