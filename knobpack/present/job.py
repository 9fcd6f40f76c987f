"""Job: one thing to be done with setups, and what it gave."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import attrs

from knobpack.present.asked import Asked

if TYPE_CHECKING:
    from knobpack.allocation import Allocation
    from knobpack.audition import SweepFile
    from knobpack.files.written import Written
    from knobpack.sheets import PatchSheet
    from knobpack.words import Setup


@attrs.frozen
class Part:
    """One answer.

    Args:
        asked: what it answers; no two parts of one command answer the same.
        answer: the answer.
        text: makes its text; empty: it is not printed.
    """

    asked: str
    answer: Written
    text: Callable[[], str]


@attrs.frozen
class Done:
    """What a job gave.

    Args:
        parts: its answers, in the order in which they are read.
        allocation: the layout of the result, which questions are about; None: there is none.
        setup: the result; None: there is none.
        sheet: the patch sheet; None: there is none.
        midi: a Standard MIDI File for each snapshot, if they were asked for.
        essential_out: the full names of what is essential and left out of the result.
    """

    parts: tuple[Part, ...] = ()
    allocation: Allocation | None = None
    setup: Setup | None = None
    sheet: PatchSheet | None = None
    midi: tuple[SweepFile, ...] = ()
    essential_out: tuple[str, ...] = ()

    def and_then(self, other: Done) -> Done:
        """What both gave; of one thing that both gave, the later."""
        return Done(
            parts=(*self.parts, *other.parts),
            allocation=other.allocation or self.allocation,
            setup=other.setup or self.setup,
            sheet=other.sheet or self.sheet,
            midi=other.midi or self.midi,
            essential_out=other.essential_out or self.essential_out,
        )


@attrs.frozen
class Job:
    """A job that can be done.

    Args:
        asked: how it was asked for.
        going_on: what is told while it is done.
        run: does it.
    """

    asked: Asked
    going_on: str
    run: Callable[[], Done]
