"""Streams: what the command says on standard output and standard error, and how it fails.

Nothing here takes time to import: a wrong word is refused before anything else is loaded.
"""

from __future__ import annotations

import errno
import json
import os
import sys
from collections.abc import Iterator
from contextlib import suppress
from typing import Any, TextIO

from knobpack.text.columns import paragraph

DONE = 0
FAULT = 1
REFUSED = 2
IMPOSSIBLE = 3
NOTHING_FOUND = 4
ESSENTIAL_OUT = 5
INTERRUPTED = 130
READER_GONE = 141

EXIT_STATUSES = (
    (DONE, "done, or answered; the text says what is proven"),
    (FAULT, "a fault in knobpack itself; please report it"),
    (REFUSED, "wrong words, or a file that cannot be read, used or written"),
    (IMPOSSIBLE, "no layout meets every demand; the answer says why and what would help"),
    (NOTHING_FOUND, "stopped before any layout was found; none was proven impossible"),
    (ESSENTIAL_OUT, "done, but what is essential (priority 1) is left out: the first line"),
    (INTERRUPTED, "interrupted with Ctrl-C"),
    (READER_GONE, "whoever read the output stopped reading"),
)
"""Each exit status, and what it means."""

LEAST_WIDE, MOST_WIDE, UNKNOWN_WIDE = 40, 100, 80
"""Columns of a line: no fewer, no more, and where nobody says how many there are."""


class Refused(Exception):  # noqa: N818 - it is no error of the program's
    """What was typed will not do; says why in one line."""


def output() -> TextIO:
    """Standard output.

    Raises:
        OSError: there is none, as where a shell closed it.
    """
    if sys.stdout is None:
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))
    return sys.stdout


def width(stream: TextIO | None) -> int:
    """Columns that a line may take, 40 to 100: as COLUMNS says, else the terminal, else 80."""
    told = os.environ.get("COLUMNS", "")
    wide = int(told) if told.isascii() and told.isdecimal() and len(told) < 9 else 0
    if not wide and stream is not None:
        with suppress(OSError, ValueError, AttributeError):
            wide = os.get_terminal_size(stream.fileno()).columns
    return min(MOST_WIDE, max(LEAST_WIDE, wide or UNKNOWN_WIDE))


def print_json(plain: dict[str, Any]) -> None:
    """Print JSON that is right in whatever encoding the output has.

    Letters beyond ASCII stand as they are in UTF-8 (RFC 8259, 8.1), else as escapes (7).
    """
    stream = output()
    utf_8 = (stream.encoding or "").lower().replace("-", "") == "utf8"
    text = json.dumps(plain, ensure_ascii=not utf_8, indent=2, allow_nan=False)
    stream.write(text + "\n")


def fail(status: int, reason: str) -> int:
    """Say in one line why this ends, and give the exit status."""
    told = one_line(reason)
    if told.startswith("knobpack: "):  # the key in which a file says what it holds
        told = f'the key "knobpack": {told.removeprefix("knobpack: ")}'
    tell(f"knobpack: {told}")
    return status


def tell(text: str, end: str = "\n") -> None:
    """Say something on standard error, if anybody hears it: in lines that its terminal can show."""
    with suppress(OSError, AttributeError):
        if sys.stderr.isatty():
            text = "\n".join(_fitted(text, width(sys.stderr)))
        sys.stderr.write(text + end)
        sys.stderr.flush()


def _fitted(text: str, wide: int) -> Iterator[str]:
    for line in text.split("\n"):
        told = line.lstrip(" ")
        yield from paragraph(told, len(line) - len(told), 2, wide)


def one_line(text: str) -> str:
    """Text with every character that breaks a line or cannot be shown as an escape."""
    return "".join(
        mark if mark.isprintable() else mark.encode("unicode_escape").decode() for mark in text
    )


def forget_output() -> None:
    """Let nothing more be written, so that Python does not complain as it ends."""
    with suppress(OSError, AttributeError, ValueError):
        null = os.open(os.devnull, os.O_WRONLY)
        os.dup2(null, sys.stdout.fileno())
        os.close(null)
