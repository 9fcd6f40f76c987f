"""Outcome: what a verb gave, whatever it is shown as and written to."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from knobpack.command.streams import DONE
from knobpack.text.columns import headed, text_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from knobpack.allocation import Allocation
    from knobpack.midi import Listening
    from knobpack.types import Written
    from knobpack.words import Setup


@attrs.frozen
class ShownAnswer:
    """One answer.

    Args:
        asked: what it answers; no two parts of one outcome answer the same.
        answer: the answer; None: it is text alone.
        text: makes its text, from the columns that a line may take; empty: it is not shown.
        detail: whether it is shown only where details are asked for.
    """

    asked: str
    answer: Written | Allocation | None
    text: Callable[[int], str]
    detail: bool = False


def text_below(heading: str, sentences: Iterable[str]) -> Callable[[int], str]:
    """What makes the text of sentences below a heading."""
    said = tuple(sentences)
    return lambda wide: text_of([headed(heading, said, wide)])


@attrs.frozen
class VerbOutcome:
    """What a verb gave.

    Args:
        parts: its answers, in the order in which they are read.
        allocation: the layout; None: there is none.
        setup: the result; None: there is none.
        before: what the patch sheet to the result starts from; None: nothing but the panel.
        essential_out: the full names of what is essential and left out.
        picture: draws the result on Axes; None: as the panel.
        status: the exit status where nothing essential is left out.
        error: what is raised once all this is shown and written; None: nothing.
        offers: how many ways out are offered.
        listening: what voices listen to already: no knob is given these controller numbers.
        page: makes the page of it; None: that of the reasons for the layout.
        drawn: draws it; None: the setup is drawn, as ``picture`` says.
        files: what is written besides, by its path, and what is told of that.
        title: what the patch sheet is called; None: as the setup.
    """

    parts: tuple[ShownAnswer, ...] = ()
    allocation: Allocation | None = None
    setup: Setup | None = None
    before: Setup | None = None
    essential_out: tuple[str, ...] = ()
    picture: str = "panel"
    status: int = DONE
    error: Exception | None = None
    offers: int = 0
    listening: tuple[Listening, ...] = ()
    page: Callable[[], str] | None = None
    drawn: Callable[[], Axes] | None = None
    files: tuple[Mapping[Path, bytes], str] = ({}, "")
    title: str | None = None
