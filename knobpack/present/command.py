"""Command: ``python -m knobpack`` lays out a request file, or the demo, and shows it as text."""

from __future__ import annotations

import argparse
import errno
import json
import math
import os
import sys
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn, TextIO

from knobpack.allocator import DEFAULT_EFFORT, allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError, KnobpackError, NoLayoutFound
from knobpack.files import load_request, save, schema, to_plain
from knobpack.present.demo import demo_request
from knobpack.present.meter import Meter
from knobpack.words import Request

if TYPE_CHECKING:
    from _typeshed import SupportsWrite

DONE = 0
FAULT = 1
REFUSED = 2
IMPOSSIBLE = 3
NOTHING_FOUND = 4
INTERRUPTED = 130
READER_GONE = 141

EXIT_STATUSES = """\
exit status:
  0    there is a layout; the text says whether it is proven best
  1    a fault in knobpack itself; please report it
  2    wrong options, or a file that cannot be read, used or written
  3    no layout meets every demand; standard error says why and what would help
  4    stopped before any layout was found; none was proven impossible
  130  interrupted with Ctrl-C
  141  whoever read the output stopped reading
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command.

    Args:
        argv: what follows ``python -m knobpack``; None: what this process was started with.

    Returns:
        The exit status: see :data:`EXIT_STATUSES`.
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
        status = _fail(REFUSED, "; ".join([str(error), *getattr(error, "__notes__", ())]))
    except ImpossibleDemands as error:
        from knobpack.present.text import clash_text

        _tell(f"knobpack: {clash_text(error.clash)}", end="")
        status = IMPOSSIBLE
    except NoLayoutFound as error:
        status = _fail(NOTHING_FOUND, str(error))
    except KeyboardInterrupt:
        status = _fail(INTERRUPTED, "interrupted")
    except BrokenPipeError:
        _forget_output()
        status = READER_GONE
    except OSError as error:
        _forget_output()
        status = _fail(REFUSED, f"the output cannot be written: {error.strerror or error}")
    except KnobpackError as error:
        status = _fail(FAULT, str(error))
    return status


class _Parser(argparse.ArgumentParser):
    """Refuses wrong options in one line, and does not hide that help cannot be written."""

    def error(self, message: str) -> NoReturn:
        sys.exit(_fail(REFUSED, f"{message}; --help tells more"))

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        (_output() if file is None else file).write(self.format_help())


def _parser() -> _Parser:
    parser = _Parser(
        prog="python -m knobpack",
        description="Find the best layout for a request: which knob drives what.",
        epilog=EXIT_STATUSES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    add = parser.add_argument
    add("request", nargs="?", metavar="REQUEST.json", help="a request file; without one, the demo")
    add("--json", metavar="FILE", help="write the layout as JSON too; - for JSON instead of text")
    add("--time-limit", type=_seconds, metavar="SECONDS", help="stop the search after so long")
    add(
        "--effort",
        type=_effort,
        default=DEFAULT_EFFORT,
        metavar="E",
        help="stop the search after so much effort, the same on every machine "
        "(default: %(default)g)",
    )
    add("--quiet", action="store_true", help="no text and no progress: only JSON and errors")
    other = parser.add_mutually_exclusive_group()
    other.add_argument(
        "--write-demo", metavar="FILE", help="write the request of the demo, as a start; no search"
    )
    other.add_argument(
        "--schema", action="store_true", help="print the JSON Schema of the files; no search"
    )
    return parser


def _run(argv: Sequence[str] | None) -> int:
    try:
        options = _parser().parse_args(argv)
    except SystemExit as end:
        return int(end.code or DONE)
    if options.request is not None and (options.schema or options.write_demo is not None):
        return _fail(REFUSED, "--schema and --write-demo take no request; --help tells more")
    if options.schema:
        _print_json(schema())
        return DONE
    if options.write_demo is not None:
        return _write_demo(options.write_demo, options.quiet)
    return _lay_out(options)


def _write_demo(path: str, quiet: bool) -> int:
    if path == "-":
        _print_json(to_plain(demo_request()))
        return DONE
    # What a player made of an earlier one must not be lost.
    if Path(path).exists():
        return _fail(REFUSED, f"{path} is there already; give another name")
    save(demo_request(), path)
    if not quiet:
        _tell(f"The request of the demo is in {path}; lay it out: python -m knobpack {path}")
    return DONE


def _lay_out(options: argparse.Namespace) -> int:
    request = _request(options.request, options.quiet)
    meter = Meter(None if options.quiet else sys.stderr)
    try:
        allocation = allocate_request(
            request,
            time_limit=options.time_limit,
            effort=options.effort,
            progress=meter.tell,
            cancel=meter.beat,
        )
    finally:
        meter.clear()
    refused = None
    if options.json not in (None, "-"):
        try:
            save(allocation, options.json)
        except InputError as error:
            # The layout took time to find: it is shown before the file is complained about.
            refused = error
    if options.json == "-":
        _print_json(to_plain(allocation))
        if not allocation.proven and not options.quiet:
            _tell(f"This layout is not proven best: stopped by {allocation.stopped}.")
    elif not options.quiet:
        from knobpack.present.text import layout_text

        _output().write(layout_text(allocation))
    if refused is not None:
        raise refused
    return DONE


def _request(path: str | None, quiet: bool) -> Request:
    if path is not None:
        return load_request(path)
    if not quiet:
        _tell("No request was given: this is the demo. Write it out as a start: --write-demo FILE")
    return demo_request()


def _print_json(plain: dict[str, Any]) -> None:
    """Print JSON that is right in whatever encoding the output has.

    Letters beyond ASCII stand as they are in UTF-8 (RFC 8259, 8.1), else as escapes (7).
    """
    stream = _output()
    utf_8 = (stream.encoding or "").lower().replace("-", "") == "utf8"
    text = json.dumps(plain, ensure_ascii=not utf_8, indent=2, allow_nan=False)
    stream.write(text + "\n")


def _output() -> TextIO:
    if sys.stdout is None:  # as where a shell closed it
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))
    return sys.stdout


def _seconds(text: str) -> float:
    seconds = _number(text)
    if not 0 <= seconds < math.inf:
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give seconds, 0 or more")
    return seconds


def _effort(text: str) -> float:
    effort = _number(text)
    if not 0 < effort < math.inf:
        raise argparse.ArgumentTypeError(f"{text!r} will not do; give a number above 0")
    return effort


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _fail(status: int, reason: str) -> int:
    """Say in one line why this ends, and give the exit status."""
    _tell(f"knobpack: {_one_line(reason)}")
    return status


def _tell(text: str, end: str = "\n") -> None:
    """Say something on standard error, if anybody can hear it."""
    with suppress(OSError, AttributeError):
        sys.stderr.write(text + end)
        sys.stderr.flush()


def _one_line(text: str) -> str:
    """Text with every character that breaks a line or cannot be shown as an escape."""
    return "".join(
        mark if mark.isprintable() else mark.encode("unicode_escape").decode() for mark in text
    )


def _forget_output() -> None:
    """Let nothing more be written, so that Python does not complain as it ends."""
    with suppress(OSError, AttributeError, ValueError):
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, sys.stdout.fileno())
        os.close(null)
