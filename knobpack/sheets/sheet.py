"""patch_sheet(): what to program, step by step, to turn one setup into another."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.errors import InputError
from knobpack.sheets.difference import steps_between
from knobpack.sheets.page import sheet_page
from knobpack.sheets.steps import Step
from knobpack.sheets.text import markdown_of, sheet_text
from knobpack.text.columns import PAGE
from knobpack.text.shown import Told, counted
from knobpack.words import Setup
from knobpack.words.fields import MOST_ITEMS, check_kind, check_whole


@attrs.frozen
class PatchSheet(Told):
    """The written record that a setup is programmed from.

    Args:
        before: the setup that is in the instrument.
        after: the setup that is to be in it.
        steps: what to set, in this order; no fewer would do. Last, without ``sets``, what differs
            only in what is recorded.
        title: what it is called: the setup, and what was done to it where that is known.
    """

    question: ClassVar[str] = "patch sheet"

    before: Setup = attrs.field(repr=False)
    after: Setup = attrs.field(repr=False)
    steps: tuple[Step, ...] = attrs.field(repr=counted)
    title: str

    @property
    def sentences(self) -> tuple[str, ...]:
        """The steps as plain sentences."""
        return tuple(str(step) for step in self.steps)

    def text(self, page: int = PAGE) -> str:
        """Plain text: numbered steps, each with a box to tick.

        Args:
            page: columns that a line may take, at most, 40 to 10,000.

        Returns:
            The text, ending in a line break.

        Raises:
            InputError: ``page`` is no such number.
        """
        check_whole("PatchSheet.text.page", page, 40, MOST_ITEMS)
        return sheet_text(self, page)

    def markdown(self) -> str:
        """Markdown (CommonMark, with the task lists of GitHub Flavored Markdown).

        Returns:
            The Markdown, ending in a line break.
        """
        return markdown_of(self)

    def page(self) -> str:
        """One HTML page, complete in itself, for a tablet at the instrument and for paper.

        To be written to a file as UTF-8. It fetches nothing. Ticks are kept in the browser, under
        a key made of the steps, so that a page of other steps starts without any.

        Returns:
            The page as text.
        """
        return sheet_page(self)

    def __str__(self) -> str:
        return self.text()


def patch_sheet(before: Setup | None, after: Setup) -> PatchSheet:
    """The steps from one setup to another of the same surface, as few as there can be.

    Each thing that differs takes one step: a voice at a layer, a route, the travel of a knob, a
    group, a snapshot, the name of the setup. They come in an order that lets nothing be moved by
    the wrong knob or over a wrong travel: see :data:`knobpack.sheets.steps.STAGES`.

    Args:
        before: the setup that is in the instrument, faulty or not. None: nothing is programmed.
        after: the setup that is to be in it, such as what :func:`knobpack.combine` returns.

    Returns:
        The sheet: its steps, and the same as text, as Markdown and as a page.

    Raises:
        InputError: one of them is no Setup, or their surfaces differ.

    Example:
        >>> import attrs
        >>> from knobpack import Destination, Route, Setup, Surface, Voice, patch_sheet
        >>> piano = Voice("Felt piano", (Destination("level"), Destination("tone")), layer=1)
        >>> before = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ... )
        >>> after = attrs.evolve(before, routes=(*before.routes, Route("Felt piano/tone", "K2")))
        >>> for sentence in patch_sheet(before, after).sentences:
        ...     print(sentence)
        K2: route it to Felt piano/tone on layer 1.
    """
    check_kind("patch_sheet.after", after, Setup)
    if before is None:
        before = Setup(after.name, after.surface)
    check_kind("patch_sheet.before", before, Setup)
    if before.surface != after.surface:
        for name, new in attrs.asdict(after.surface, recurse=False).items():
            if getattr(before.surface, name) != new:
                right = (
                    f"both setups must be of one surface, and {name} differ: bring the one to the "
                    "surface of the other first, with combine(other, one), or build both on one"
                )
                raise InputError(f"patch_sheet.after.surface.{name}", new, right)
    return PatchSheet(before, after, steps_between(before, after), after.name)
