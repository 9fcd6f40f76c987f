"""Meter: one line in a terminal that says what is going on, and how far a search is."""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO

import attrs

from knobpack.command.streams import width
from knobpack.limits import DEFAULT_EFFORT, Progress
from knobpack.text.columns import cells, wrapped

FIRST_SECONDS = 0.5
"""A search shorter than this shows no progress."""

BETWEEN_SECONDS = 0.1
"""Between two writings of the line."""


@contextmanager
def going_on(what: str, options: argparse.Namespace) -> Iterator[dict[str, Any]]:
    """Show a line on standard error while something goes on, and wipe it off.

    Args:
        what: what goes on.
        options: say what limits a search, and whether to show nothing.

    Yields:
        What every search takes: ``time_limit``, ``effort``, ``progress`` and ``cancel``.
    """
    meter = Meter(None if options.quiet else sys.stderr, what)
    try:
        yield {
            "time_limit": options.time_limit,
            "effort": DEFAULT_EFFORT if options.effort is None else options.effort,
            "progress": meter.tell,
            "cancel": meter.beat,
        }
    finally:
        meter.clear()


class Meter:
    """A line that is written over and over, and wiped off in the end.

    Args:
        stream: where to; nothing is shown unless it is a terminal.
        what: what goes on; shown at once.
    """

    def __init__(self, stream: TextIO | None, what: str) -> None:
        self._stream = stream if stream is not None and stream.isatty() else None
        # The last column stays free: a line that a terminal breaks in two cannot be wiped off.
        self._room = width(stream) - 1
        self._what = what
        self._started = time.monotonic()
        self._next = FIRST_SECONDS
        self._last: Progress | None = None
        self._shown = 0
        self._write(what)

    def tell(self, progress: Progress) -> None:
        """Take note of how far it is; the ``progress`` of :func:`knobpack.allocate`."""
        self._last = progress
        self.beat()

    def beat(self) -> bool:
        """Show that time goes by; never asks to stop. The ``cancel`` of :func:`allocate`."""
        seconds = time.monotonic() - self._started
        if self._stream is not None and seconds >= self._next:
            self._next = seconds + BETWEEN_SECONDS
            self._write(self._told(seconds))
        return False

    def clear(self) -> None:
        """Wipe the line off."""
        if self._shown:
            self._write("")

    def _told(self, seconds: float) -> str:
        if self._last is None:
            return f"{self._what} ({seconds:.1f} s)"
        # Imported here, because it takes its time and most searches are over before.
        from knobpack.present.text import progress_text

        return progress_text(attrs.evolve(self._last, seconds=seconds))

    def _write(self, text: str) -> None:
        if self._stream is None:
            return
        line = wrapped(text, self._room)[0]
        # Ctrl-C may come at any point: what is to be wiped off is noted before it is written.
        before, self._shown = self._shown, max(self._shown, cells(line))
        # That nobody can see the progress is no reason to give up the search.
        with suppress(OSError):
            end = "" if line else "\r"
            self._stream.write(f"\r{line}{' ' * max(0, before - cells(line))}{end}")
            self._stream.flush()
        self._shown = cells(line)
