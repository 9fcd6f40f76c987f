"""Grouped: what has the same key, together."""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from typing import TypeVar

_Key = TypeVar("_Key", bound=Hashable)
_Value = TypeVar("_Value")


def grouped(pairs: Iterable[tuple[_Key, _Value]]) -> dict[_Key, list[_Value]]:
    """The values under each key, keys and values in the order in which they come first."""
    found: dict[_Key, list[_Value]] = {}
    for key, value in pairs:
        found.setdefault(key, []).append(value)
    return found
