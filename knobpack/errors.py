"""What knobpack raises.

::

    KnobpackError
    ├── InputError(ValueError)    a field holds a value it cannot hold
    ├── ImpossibleDemands         the demands clash (it stands in knobpack.clash, by its Clash)
    └── NoLayoutFound             stopped before any layout was known; nothing is proven
"""

from __future__ import annotations

import re
from typing import Literal, TypeAlias

import attrs


class KnobpackError(Exception):
    """The root of everything knobpack raises on purpose."""


Stopped: TypeAlias = Literal["time limit", "cancelled", "effort"]
"""What can cut a search short."""


class Reason(str):
    """Why a file cannot be used: told in place of a value."""

    __slots__ = ()


class InputError(KnobpackError, ValueError):
    """A field holds a value that it cannot hold.

    Args:
        field: where the value stood, such as ``Surface.bits`` or ``voices[2].layer``. What a
            word refuses is named from that word: ``Request.voices[2].destinations[0].travel.end``.
        value: the value that was found there; ``attrs.NOTHING`` where there was none.
        right: what would be right, in words.
    """

    def __init__(self, field: str, value: object, right: str) -> None:
        super().__init__(field, value, right)
        self.field = field
        self.value = value
        self.right = right

    def __str__(self) -> str:
        if isinstance(self.value, Reason):
            return f"{self.field}: {self.value}; {self.right}"
        if self.value is attrs.NOTHING:
            return f"{self.field}: is missing; {self.right}"
        return f"{self.field}: {_brief(self.value)} will not do; {self.right}"

    def under(self, path: str) -> InputError:
        """The same error, its field named from ``path``: where the word stands that refused.

        ``Travel.start`` under ``Destination.travel`` is ``Destination.travel.start``.

        Args:
            path: where the word stands that refused, such as ``Destination.travel``.

        Returns:
            A new error, with the same value and the same ``right``.
        """
        inner = re.sub(r"^\w+", "", self.field)
        return InputError((path + inner).lstrip("."), self.value, self.right)


class NoLayoutFound(KnobpackError):
    """The search was stopped before it knew any layout. Nothing was proven impossible.

    Args:
        stopped: what stopped it, such as ``time limit``.
    """

    def __init__(self, stopped: Stopped) -> None:
        super().__init__(stopped)
        self.stopped = stopped

    def __str__(self) -> str:
        return (
            f"stopped by {self.stopped} before any layout that meets every demand was found; "
            "none was proven impossible: give more time"
        )


def _brief(value: object, most: int = 80) -> str:
    """``repr``, cut short: a hostile value must not fill a screen."""
    if isinstance(value, int) and abs(value) >= 10**most:
        return "a number of more digits than fit here"  # repr itself refuses above 4,300
    try:
        text = repr(value)
    except Exception:  # whatever its repr does, it must not hide this error
        text = f"a {type(value).__name__}"
    return text if len(text) <= most else f"{text[: most - 1]}…"
