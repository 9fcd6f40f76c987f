"""Naming: names that are taken get the name of their setup added, and stay valid names."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from itertools import count

from knobpack.words.fields import LONGEST_NAME

LONGEST_LABEL = 60
"""Characters of a setup's name, at most, where it is added to another name."""


def unique(name: str, taken: Collection[str], label: str = "", longest: int = LONGEST_NAME) -> str:
    """A name that is not taken: itself, or with a label in brackets, or with a number as well.

    Args:
        name: the name wished for, not longer than ``longest``.
        taken: the names that others have.
        label: what is added to tell it apart; empty: a number alone.
        longest: characters it may have, at most; a longer one is cut short before its brackets.
    """
    if name not in taken:
        return name
    added = shortened(label, LONGEST_LABEL)
    for number in count(1 if added else 2):
        inside = f"{added} {number}".strip() if number > 1 else added
        found = shortened(name, longest - len(inside) - 3) + f" ({inside})"
        if found not in taken:
            return found
    raise AssertionError("unreachable: numbers do not end")


def distinct(names: Iterable[str], taken: Iterable[str], label: str) -> dict[str, str]:
    """A name for each of ``names`` that neither ``taken`` has nor another of them got."""
    own = tuple(names)
    return dict(zip(own, labels(own, taken, label), strict=True))


def labels(names: Iterable[str], taken: Iterable[str], label: str = "") -> tuple[str, ...]:
    """A name for each setup, in order: its own, or with a label or number where others have it."""
    used = set(taken)
    found: list[str] = []
    for name in names:
        found.append(unique(name, used, label))
        used.add(found[-1])
    return tuple(found)


def shortened(name: str, longest: int) -> str:
    """A name of at most ``longest`` characters; one that is cut ends in ``…``."""
    return name if len(name) <= longest else name[: longest - 1].rstrip() + "…"
