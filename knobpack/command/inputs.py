"""Inputs: what a file holds, as what a verb needs: a request, a setup, or either."""

from __future__ import annotations

import argparse
import os
from typing import TYPE_CHECKING, cast

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.command.meter import going_on
from knobpack.command.names import name_of_file
from knobpack.command.paths import SET_LIST_FILE, in_file, set_list_in
from knobpack.command.streams import REFUSED, fail, one_line
from knobpack.errors import InputError, Reason
from knobpack.files import from_plain, load, save
from knobpack.tables.grid import Grid
from knobpack.words import Layout, Request, Setup, Surface

if TYPE_CHECKING:
    from knobpack.show import Show, ShowAllocation


def word(
    path: str, options: argparse.Namespace, rest: Setup | None = None
) -> Request | Setup | Allocation:
    """What a file holds.

    Args:
        path: the file; if its name ends in ``.csv``, a setup as a table.
        options: hold what was read of it already.
        rest: the setup that says all that a table does not; None: nothing does.

    Raises:
        InputError: it holds neither a request, a layout of one, nor a setup, or no table.
    """
    plain = options.plain[path]
    if isinstance(plain, Grid):
        from knobpack.tables.delimited import setup_in_file

        return setup_in_file(path, plain, rest)
    if (songs := set_list_in(plain)) is not None:
        right = "write its songs to files of their own with: knobpack songs FILE --into FOLDER"
        named = next((each["file"] for each in songs["songs"] if "file" in each), None)
        if named is not None:
            song = os.path.join(os.path.dirname(path), named)  # noqa: PTH118, PTH120
            right = f"give the file of one song, such as {song!r}"
        right += "; songs, ask and jumps take a set list"
        raise InputError(one_line(path), Reason("holds a show"), right)
    try:
        found = cast("Request | Setup | Allocation | Layout", from_plain(plain))
    except InputError as error:
        error.add_note(in_file(path))
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
    found = word(path, options, rest)
    if isinstance(found, Setup):
        return found
    allocation = laid_out(found, options) if isinstance(found, Request) else found
    return allocation.setup(name_of_file(path))


def surface(path: str, options: argparse.Namespace) -> Surface:
    """The panel of what a file holds."""
    found = word(path, options)
    return found.request.surface if isinstance(found, Allocation) else found.surface


def show_as_it_is(options: argparse.Namespace) -> ShowAllocation:
    """The show of a set list; its songs stay as they are.

    Raises:
        InputError: the set list came on standard input, or will not do.
    """
    from knobpack.show import ShowAllocation, allocate_show

    (path,) = options.files
    found = show(path, options)
    if isinstance(found, ShowAllocation):
        return found
    with going_on("reading the songs", options) as limits:
        return allocate_show(found, **limits)


def show(path: str, options: argparse.Namespace) -> Show | ShowAllocation:
    """The show that a file or standard input holds, which is known to hold one.

    Raises:
        InputError: it will not do, or a file that it names; one on standard input names files.
    """
    plain = options.plain[path]
    if path != "-":
        return cast("Show | ShowAllocation", load(path))
    if any("file" in song for song in (set_list_in(plain) or {})["songs"]):
        raise InputError(path, Reason("holds a show"), SET_LIST_FILE)
    return cast("Show | ShowAllocation", from_plain(plain))


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
        try:
            if options.graph is not None:
                save(options.graph, error.clash.graph)
        except InputError as refused:
            fail(REFUSED, str(refused))  # what clashes is told all the same
        raise
