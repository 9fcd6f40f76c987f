"""What the tests of questions share: layouts found but once, and a reader of their text."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.limits import DEFAULT_EFFORT
from knobpack.present.demo import demo_request
from knobpack.text.columns import PAGE, cells
from knobpack.words import Destination, Request, Surface, Voice

DEMO = demo_request()
CROWDED = Request(
    Surface.row(1), tuple(Voice(name, (Destination("level"),)) for name in ("明るい", "Drône №1"))
)
"""Two voices that are each played alone, on one knob: one of them is left out."""


@cache
def solved(request: Request, effort: float = DEFAULT_EFFORT) -> Allocation:
    """The best layout for a request; the same input always gives the same answer."""
    return allocate_request(request, effort=effort)


def told(text: str) -> dict[str, str]:
    """The sentences under each heading, in one line."""
    found = {}
    for part in text.rstrip("\n").split("\n\n"):
        lines = part.split("\n")
        body = next(at for at, line in enumerate(lines) if at and line.startswith("  "))
        found[joined(lines[:body])] = joined(lines[body:])
    return found


def joined(lines: Iterable[str]) -> str:
    """Lines as one, with one space wherever there is any."""
    return " ".join(" ".join(lines).split())


def fits(text: str) -> bool:
    """Whether no line is wider than a page."""
    return all(cells(line) <= PAGE for line in text.split("\n"))
