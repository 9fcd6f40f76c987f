"""Palette: looks that tell voices apart, for every eye and in grey.

The colours are those of M. Okabe and K. Ito, "Color Universal Design" (2008, from memory), chosen
so that colour-blind people can tell them apart. Neighbours in this order differ in lightness, and
each has a hatching of its own, so that nothing depends on colour; names stand beside everything.
"""

from __future__ import annotations

from typing import Final

import attrs


@attrs.frozen
class Look:
    """How something is filled.

    Args:
        colour: as ``#rrggbb``.
        hatch: a hatching of matplotlib.
    """

    colour: str
    hatch: str


COLOURS: Final = ("#0072b2", "#f0e442", "#d55e00", "#56b4e9", "#009e73", "#e69f00", "#cc79a7")
"""Blue, yellow, vermilion, sky blue, bluish green, orange, reddish purple."""

HATCHES: Final = ("", "////", "....", "\\\\\\\\", "xxxx", "----", "||||", "oo", "++")
"""As many as have nothing in common with the number of colours: all pairs come up in turn."""

LINES: Final = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)), (0, (1, 3)), (0, (8, 3)))
"""Ways of dashing a line."""

MARKS: Final = ("o", "s", "^", "v", "D", "P", "X", "<", ">")
"""Marks on a line."""

GREY: Final = "#6b6b6b"
PALE: Final = "#e6e6e6"


def look_of(number: int) -> Look:
    """The look of the voice with a number from 0 on."""
    return Look(COLOURS[number % len(COLOURS)], HATCHES[number % len(HATCHES)])
