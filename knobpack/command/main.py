"""The command: one verb found, its words parsed and looked at, and only then its work imported."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module

from knobpack.command.streams import (
    DONE,
    FAULT,
    IMPOSSIBLE,
    INTERRUPTED,
    NOTHING_FOUND,
    READER_GONE,
    REFUSED,
    Refused,
    fail,
    forget_output,
    output,
    tell,
    width,
)


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command.

    Args:
        argv: what follows ``knobpack``; None: what this process was started with.

    Returns:
        The exit status: see :data:`knobpack.command.streams.EXIT_STATUSES`.
    """
    for stream in (sys.stdout, sys.stderr):
        # A terminal that knows only ASCII shows question marks in names: better than nothing.
        with suppress(AttributeError, ValueError, OSError):
            stream.reconfigure(errors="replace")  # type: ignore[union-attr]
    try:
        status = _run(list(sys.argv[1:] if argv is None else argv))
        if sys.stdout is not None:
            sys.stdout.flush()
    except KeyboardInterrupt:
        return fail(INTERRUPTED, "interrupted")
    except BrokenPipeError:
        forget_output()
        return READER_GONE
    except Refused as refused:
        return fail(REFUSED, str(refused))
    except Exception as error:
        ended = _ended(error)
        if ended is None:
            raise
        return ended
    return status


def _run(words: list[str]) -> int:
    from knobpack.command.verbs import VERBS

    verb, rest = (words[0], words[1:]) if words else ("", [])
    if verb in {"help", "--help", "-h"} and rest[:1] and not rest[0].startswith("-"):
        verb, rest = rest[0], ["--help"]
    if verb in {"", "help", "--help", "-h"}:
        from knobpack.command.overview import first_words, overview

        output().write(overview(width(sys.stdout)) if verb else first_words(width(sys.stdout)))
        return DONE
    if verb == "--version":
        from knobpack import __version__

        output().write(f"knobpack {__version__}\n")
        return DONE
    if verb not in VERBS:
        from knobpack.command.overview import not_a_verb

        raise Refused(not_a_verb(verb))
    from knobpack.command.parser import parsed, split

    try:
        options = parsed(verb, rest)
    except SystemExit:  # help was printed
        return DONE
    options.verb = verb
    if VERBS[verb].shared:
        from knobpack.command.paths import check_paths

        check_paths(options)
    if VERBS[verb].words:
        options.steps = split(options.words, VERBS[verb].words, f"knobpack {verb}")
    module, _, function = VERBS[verb].run.partition(":")
    work = getattr(import_module(f"knobpack.command.{module}"), function)
    status: int = work(options)
    return status


def _ended(error: Exception) -> int | None:
    """The exit status of an error that is told in words; None: it is a fault."""
    from knobpack.errors import InputError, KnobpackError, MissingExtra, NoLayoutFound

    if hasattr(error, "clash"):
        from knobpack.present.text import clash_text

        tell(f"knobpack: {clash_text(error.clash, width(sys.stderr))}", end="")
        return IMPOSSIBLE
    told = "; ".join([str(error), *getattr(error, "__notes__", ())])
    status = None
    match error:
        case InputError() | MissingExtra():
            status = REFUSED
        case NoLayoutFound():
            status = NOTHING_FOUND
        case KnobpackError():
            status = FAULT
        case OSError():
            forget_output()
            status, told = REFUSED, f"the output cannot be written: {error.strerror or error}"
    return None if status is None else fail(status, told)
