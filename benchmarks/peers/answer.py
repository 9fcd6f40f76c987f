"""What a peer is given and what it gives back."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol

import attrs

from knobpack.words import Layout, Request


class Tell(Protocol):
    """Is told each better layout as it is found, and bounds as they rise."""

    def __call__(self, layout: Layout | None, bounds: tuple[int, ...] = (), /) -> None:
        """Take a layout, bounds from the first tier on, or both."""


@attrs.frozen
class Answer:
    """What a peer ends with.

    Args:
        layout: the best it found; None: none.
        bounds: its own bounds, from the first tier on; none where it has none. A bound of a tier
            holds for the layouts that are best in every earlier tier.
        proven: how many tiers, from the first on, it claims to have proven best.
    """

    layout: Layout | None
    bounds: tuple[int, ...] = ()
    proven: int = 0


Solve = Callable[[Request, float, Tell], Answer]
"""Takes a request, the seconds there are, and whom to tell."""


@attrs.frozen
class Clock:
    """Seconds until a moment.

    Args:
        end: that moment, in monotonic seconds.
    """

    end: float

    @classmethod
    def of(cls, seconds: float) -> Clock:
        """So many seconds from now."""
        return cls(time.monotonic() + seconds)

    @property
    def left(self) -> float:
        """Seconds left, never below zero."""
        return max(0.0, self.end - time.monotonic())
