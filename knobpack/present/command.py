"""Command: ``python -m knobpack`` lays out a request, answers questions, and combines setups."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from contextlib import suppress

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import Clash, ImpossibleDemands
from knobpack.errors import InputError, KnobpackError, NoLayoutFound
from knobpack.files import load_request, save_graph, schema, to_plain
from knobpack.present.answering import answer
from knobpack.present.demo import demo_request, write_demo, write_demo_setups
from knobpack.present.evening import evening
from knobpack.present.jobs import check_jobs
from knobpack.present.meter import Meter
from knobpack.present.options import parser
from knobpack.present.places import check_files
from knobpack.present.questions import questions
from knobpack.present.show import show
from knobpack.present.streams import (
    DONE,
    ESSENTIAL_OUT,
    FAULT,
    IMPOSSIBLE,
    INTERRUPTED,
    NOTHING_FOUND,
    READER_GONE,
    REFUSED,
    fail,
    forget_output,
    one_line,
    output,
    page,
    print_json,
    tell,
)
from knobpack.present.working import work
from knobpack.words import Request


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command.

    Args:
        argv: what follows ``python -m knobpack``; None: what this process was started with.

    Returns:
        The exit status: see :data:`knobpack.present.streams.EXIT_STATUSES`.
    """
    for stream in (sys.stdout, sys.stderr):
        # A terminal that knows only ASCII shows question marks in names: better than nothing.
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status = _run(argv)
        if sys.stdout is not None:
            sys.stdout.flush()
    except InputError as error:
        status = fail(REFUSED, "; ".join([str(error), *getattr(error, "__notes__", ())]))
    except ImpossibleDemands as error:
        from knobpack.present.text import clash_text

        tell(f"knobpack: {clash_text(error.clash, page(sys.stderr))}", end="")
        status = IMPOSSIBLE
    except NoLayoutFound as error:
        status = fail(NOTHING_FOUND, str(error))
    except KeyboardInterrupt:
        status = fail(INTERRUPTED, "interrupted")
    except BrokenPipeError:
        forget_output()
        status = READER_GONE
    except OSError as error:
        forget_output()
        status = fail(REFUSED, f"the output cannot be written: {error.strerror or error}")
    except KnobpackError as error:
        status = fail(FAULT, str(error))
    return status


def _run(argv: Sequence[str] | None) -> int:
    if not (sys.argv[1:] if argv is None else argv):
        for chapter in evening():
            output().write(f"{chapter}\n")
        return DONE
    try:
        options = parser().parse_args(argv)
    except SystemExit as end:
        return int(end.code or DONE)
    if options.schema or (options.write_demo, options.demo_setups) != (None, None):
        return _instead(options)
    check_files(options)
    check_jobs(options)
    if options.jobs:
        return work(options)
    request = _request(options.request, options.quiet)
    asked = questions(request, options)
    if asked:
        return answer(asked, request, options, lambda: _search(request, options))
    allocation = _search(request, options)
    show(options, allocation, allocation, lambda: _layout_text(allocation))
    return ESSENTIAL_OUT if allocation.essential_out else DONE


def _instead(options: argparse.Namespace) -> int:
    """What takes no search, and goes with nothing else."""
    if options.request is not None or options.asked or options.jobs:
        told = "--schema, --write-demo and --demo-setups take no request, no question and no setup"
        return fail(REFUSED, f"{told}; --help tells more")
    check_jobs(options)
    if options.schema:
        print_json(schema())
    elif options.write_demo == "-":
        print_json(to_plain(demo_request()))
    elif options.write_demo is not None:
        path = options.write_demo
        write_demo(path)
        if not options.quiet:
            tell(f"The request of the demo is in {path}; lay it out: python -m knobpack {path}")
    else:
        commands = write_demo_setups(options.demo_setups)
        if not options.quiet:
            folder = one_line(options.demo_setups)
            lines = "".join(f"\n  {one_line(each)}" for each in commands)
            tell(
                f"The demo's setups are in {folder}; combine them, then bring the late one:{lines}"
            )
    return DONE


def _request(path: str | None, quiet: bool) -> Request:
    if path is not None:
        try:
            return load_request(path)
        except InputError as error:
            if (error.field, error.value) == ("knobpack", "setup"):
                error.add_note("for a setup there are --audit, --sweep, --changes and --combine")
            raise
    if not quiet:
        tell("No request was given: this is the demo. To start your own: --write-demo FILE")
    return demo_request()


def _search(request: Request, options: argparse.Namespace) -> Allocation:
    meter = Meter(None if options.quiet else sys.stderr)
    try:
        return allocate_request(
            request,
            time_limit=options.time_limit,
            effort=options.effort,
            progress=meter.tell,
            cancel=meter.beat,
        )
    except ImpossibleDemands as error:
        meter.clear()
        _save_clash(error.clash, request, options)
        raise
    finally:
        meter.clear()


def _save_clash(clash: Clash, request: Request, options: argparse.Namespace) -> None:
    """Write the graph of what clashes, where that is a matter of who must be apart from whom."""
    if options.graph is None or not clash.rivals:
        return
    from knobpack.graph import clash_graph

    try:
        save_graph(clash_graph(request, clash.rivals), options.graph)
    except InputError as error:
        # What clashes is told all the same.
        fail(REFUSED, str(error))


def _layout_text(allocation: Allocation) -> str:
    # Imported here, because JSON does without it.
    from knobpack.present.text import layout_text

    return layout_text(allocation, page(sys.stdout))
