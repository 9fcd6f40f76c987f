"""The command: one verb found, its words parsed and looked at, and only then its work imported."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import suppress
from importlib import import_module

from knobpack.command.streams import (
    DONE,
    EXIT_STATUSES,
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
from knobpack.command.verbs import MEANT, VERBS, told_elsewhere
from knobpack.text.columns import listing, paragraph

GROUPS = ("start", "lay out", "change", "look", "write")
"""What sorts of verbs there are, in the order in which one needs them."""

_FIRST = (
    ("knobpack demo", "an evening: two sources, a late one, a broken knob"),
    ("knobpack demo demo", "write its setups, to try all else on"),
    ("knobpack combine BASE SOURCE ...", "bring voices to a base"),
    ("knobpack VERB --help", "how a verb is used, with examples"),
    ("knobpack --help", "all verbs, and what they end with"),
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
    verb, rest = (words[0], words[1:]) if words else ("", [])
    if verb in {"help", "--help", "-h"} and rest[:1] and not rest[0].startswith("-"):
        verb, rest = rest[0], ["--help"]
    if verb in {"", "help", "--help", "-h"}:
        output().write(overview(width(sys.stdout)) if verb else first_words(width(sys.stdout)))
        return DONE
    if verb == "--version":
        from knobpack import __version__

        output().write(f"knobpack {__version__}\n")
        return DONE
    if verb not in VERBS:
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


def first_words(wide: int) -> str:
    """What is said where nothing was asked: ten lines, on a terminal of 80 columns or more."""
    verbs = ", ".join(VERBS)
    lines = paragraph("knobpack finds which knob drives what, when voices are combined.", page=wide)
    lines += listing(_FIRST, page=wide)
    return "\n".join([*lines, *paragraph(f"Verbs: {verbs}.", 0, 2, wide)]) + "\n"


def overview(wide: int) -> str:
    """All verbs, and what the command ends with."""
    lines = ["usage: knobpack VERB ...", ""]
    lines += paragraph(
        "Finds which knob drives what when layered voices are combined: proven best, checked, "
        "explained, and written as a sheet to program from.",
        page=wide,
    )
    for group in GROUPS:
        rows = [(name, each.told) for name, each in VERBS.items() if each.group == group]
        lines += ["", f"{group}:", *listing(rows, page=wide)]
    told = "knobpack VERB --help tells more, with examples. A file is a request or a setup, in JSON"
    lines += ["", *paragraph(f"{told}; - is standard input, or output.", page=wide)]
    rows = [(str(status), meaning) for status, meaning in EXIT_STATUSES]
    lines += ["", "exit status:", *listing(rows, page=wide)]
    return "\n".join(lines) + "\n"


def not_a_verb(word: str) -> str:
    """Why a word is no verb, and what comes close to it."""
    from knobpack.words.names import hint, near_to

    ways = told_elsewhere(word)
    if ways:
        return f"{word}: is no verb of its own; {' or '.join(ways)}"
    if word.startswith("-"):
        return f"{word}: a verb comes first; knobpack --help tells them all"
    if word.endswith(".json"):
        return f"{word}: a verb comes first, such as knobpack allocate {word}"
    near = hint([MEANT[word]]) if MEANT.get(word) in VERBS else near_to(word, VERBS)
    return f"{word}: is no verb{near}; knobpack --help tells them all"
