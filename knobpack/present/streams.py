"""Streams: what the command says on standard output and standard error, and how it fails."""

from __future__ import annotations

import errno
import json
import os
import sys
from contextlib import suppress
from typing import Any, TextIO

from knobpack.present.columns import NARROW, PAGE

DONE = 0
FAULT = 1
REFUSED = 2
IMPOSSIBLE = 3
NOTHING_FOUND = 4
ESSENTIAL_OUT = 5
INTERRUPTED = 130
READER_GONE = 141

EXIT_STATUSES = """\
exit status:
  0    there is a layout, or what was asked is answered; the text says what is
       proven
  1    a fault in knobpack itself; please report it
  2    wrong options, or a file that cannot be read, used or written
  3    no layout meets every demand; standard error, or the answer to --clashes,
       says why and what would help
  4    stopped before any layout was found; none was proven impossible
  5    there is a layout, and it leaves out what is essential (priority 1): the
       first line says what
  130  interrupted with Ctrl-C
  141  whoever read the output stopped reading
"""


def output() -> TextIO:
    """Standard output.

    Raises:
        OSError: there is none, as where a shell closed it.
    """
    if sys.stdout is None:
        raise OSError(errno.EBADF, os.strerror(errno.EBADF))
    return sys.stdout


def page(stream: TextIO | None) -> int | None:
    """Columns that a line may take: those of the terminal, from 79 to 100; None: it is no terminal.

    A terminal that does not say how wide it is counts as narrow.
    """
    if stream is None:
        return None
    with suppress(OSError, ValueError):
        return min(PAGE, max(NARROW, os.get_terminal_size(stream.fileno()).columns))
    return None


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
    # The field in which a file says what it holds is called as this command is: once is enough.
    tell(f"knobpack: {one_line(reason).removeprefix('knobpack: ')}")
    return status


def tell(text: str, end: str = "\n") -> None:
    """Say something on standard error, if anybody can hear it."""
    with suppress(OSError, AttributeError):
        sys.stderr.write(text + end)
        sys.stderr.flush()


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
