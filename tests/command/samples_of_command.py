"""What the tests of the command share."""

from __future__ import annotations

from io import StringIO

from knobpack.words import Destination, Request, Surface, Voice

SMALL = Request(Surface.row(2), (Voice("Drône №1", (Destination("höhe"), Destination("level"))),))


def screen(written: str) -> str:
    """What is left of one line on a terminal, carriage returns obeyed."""
    cells: list[str] = []
    place = 0
    for mark in written:
        if mark == "\r":
            place = 0
        else:
            cells[place : place + 1] = [mark]
            place += 1
    return "".join(cells).rstrip()


class Terminal(StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Whether it is."""
        return True
