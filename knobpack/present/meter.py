"""Meter: one line in a terminal that says how far a search is, or what is going on."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import TextIO

import attrs

from knobpack.limits import Progress
from knobpack.present.columns import NARROW, cells, wrapped
from knobpack.present.streams import tell

FIRST_SECONDS = 0.5
"""A search shorter than this shows no progress."""

BETWEEN_SECONDS = 0.1
"""Between two writings of the line."""


class Meter:
    """A line that is written over and over, and wiped off in the end.

    Args:
        stream: where to; nothing is shown unless it is a terminal.
    """

    def __init__(self, stream: TextIO | None) -> None:
        self._stream = stream if stream is not None and stream.isatty() else None
        self._started = time.monotonic()
        self._next = FIRST_SECONDS
        self._last: Progress | None = None
        self._shown = ""

    def tell(self, progress: Progress) -> None:
        """Take note of how far it is; the ``progress`` of :func:`knobpack.allocate`."""
        self._last = progress
        self._show()

    def beat(self) -> bool:
        """Show that time goes by; never asks to stop. The ``cancel`` of :func:`allocate`."""
        self._show()
        return False

    def clear(self) -> None:
        """Wipe the line off."""
        if self._shown:
            self._write(f"\r{' ' * len(self._shown)}\r")
            self._shown = ""

    def _show(self) -> None:
        seconds = time.monotonic() - self._started
        if self._stream is None or seconds < self._next:
            return
        # Imported here, because it takes its time and most searches are over before.
        from knobpack.present.text import progress_text

        self._next = seconds + BETWEEN_SECONDS
        if self._last is None:
            line = f"searching ({seconds:.1f} s)"
        else:
            line = progress_text(attrs.evolve(self._last, seconds=seconds))[:NARROW]
        # Ctrl-C may come at any point: what is to be wiped off is noted before it is written.
        self._shown = line.ljust(len(self._shown))
        self._write(f"\r{self._shown}")
        self._shown = line

    def _write(self, text: str) -> None:
        if self._stream is not None:
            # That nobody can see the progress is no reason to give up the search.
            with suppress(OSError):
                self._stream.write(text)
                self._stream.flush()


@contextmanager
def told_while(line: str, *, quiet: bool) -> Iterator[None]:
    """Shows a line on standard error while something goes on, and wipes it off.

    Args:
        line: what is going on.
        quiet: whether to show nothing; nor is anything shown unless it is a terminal.
    """
    shown = not quiet and sys.stderr is not None and sys.stderr.isatty()
    line = wrapped(line, NARROW)[0] if shown else ""
    if line:
        tell(f"\r{line}", end="")
    try:
        yield
    finally:
        if line:
            tell(f"\r{' ' * cells(line)}\r", end="")
