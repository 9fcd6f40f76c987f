"""Show: what was found, as text or JSON, on the screen and in files."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files import save, save_graph, to_plain
from knobpack.files.written import Answers
from knobpack.present.streams import output, print_json, tell

if TYPE_CHECKING:
    from knobpack.files.written import Written

    Found: TypeAlias = Allocation | Mapping[str, Written] | Answers


def show(
    options: argparse.Namespace,
    found: Allocation | Mapping[str, Written],
    allocation: Allocation | None,
    text: Callable[[], str],
    besides: Sequence[tuple[Callable[[], None], str]] = (),
    *,
    essential_out: tuple[str, ...] = (),
) -> None:
    """Write the files that were asked for, and print the rest.

    Args:
        options: says which files, and whether text or JSON is printed.
        found: what is written as JSON.
        allocation: what the graph is of; None: there is none, and no file of it.
        text: makes the text.
        besides: what writes other files that were asked for, each with what is told of it then.
        essential_out: what answers say first in JSON: what is essential and left out.

    Raises:
        InputError: a file cannot be written.
        OSError: standard output cannot be written to.
    """
    plain: Found = found
    if isinstance(found, Mapping) and essential_out:
        plain = Answers(found, essential_out)
    refused = list(_write(options, plain, allocation, besides))
    shows_proof = found is allocation and options.json != "-"
    if allocation is not None and not (allocation.proven or shows_proof or options.quiet):
        tell(f"This layout is not proven best: stopped by {allocation.stopped}.")
    if options.json == "-":
        print_json(to_plain(plain))
    elif not options.quiet:
        output().write(text())
    if refused:
        raise refused[0]


def _write(
    options: argparse.Namespace,
    found: Found,
    allocation: Allocation | None,
    besides: Sequence[tuple[Callable[[], None], str]],
) -> Iterator[InputError]:
    """Write each file; why one could not be is said after what was found, which took time."""
    writes: list[tuple[Callable[[], None], str]] = []
    if options.json not in (None, "-"):
        writes.append((partial(save, found, options.json), ""))
    if options.graph is not None and allocation is not None:
        graph = allocation.graph
        writes.append((partial(save_graph, graph, options.graph), ""))
    for write, told in (*writes, *besides):
        try:
            write()
        except InputError as error:
            yield error
        else:
            if told and not options.quiet:
                tell(told)
