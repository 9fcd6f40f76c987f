"""Bombs: small files of which a careless reader makes something huge."""

from __future__ import annotations

from collections.abc import Callable

from knobpack.storage.strict_json import MOST_BYTES


def filled(head: str, unit: str, tail: str) -> str:
    """Text of as many bytes as a file may have."""
    return head + unit * ((MOST_BYTES - len(head) - len(tail)) // len(unit)) + tail


def nested(unit: str) -> str:
    """Lists as long as they may be, as many as there may be values."""
    inner = "[" + ",".join([unit] * 9_999) + "]"
    return "[" + ",".join([inner] * 39) + "]"


BOMBS: dict[str, Callable[[], str]] = {
    "blanks": lambda: " " * MOST_BYTES,
    "numbers": lambda: filled("[", "0,", "0]"),
    "lists": lambda: filled("[", "[],", "0]"),
    "objects": lambda: filled("[", '{"":0},', "0]"),
    "fractions": lambda: filled("[", "0.1,", "0]"),
    "one number": lambda: filled("[", "1", "]"),
    "one fraction": lambda: filled("[0.", "1", "]"),
    "one string": lambda: filled('["', "\\u0041", '"]'),
    "quotes": lambda: '"' * MOST_BYTES,
    "backslashes": lambda: '"' + "\\" * (MOST_BYTES - 1),
    "opened": lambda: "[" * MOST_BYTES,
    "closed": lambda: "[" + "]" * (MOST_BYTES - 1),
    "one key": lambda: filled("{", '"a":0,', '"a":0}'),
    "keys": lambda: "{" + ",".join(f'"{at}":0' for at in range(600_000)) + "}",
    "lists of numbers": lambda: nested("0"),
    "lists of lists": lambda: nested("[]")[: MOST_BYTES // 2] + "]]",
    "depths": lambda: "[" + ",".join(["[" * 30 + "]" * 30] * 13_000) + "]",
}

HEAVY = ("objects", "one string", "keys", "depths")
