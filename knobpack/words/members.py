"""Members: what each name of a request stands for, groups within groups opened."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from graphlib import CycleError, TopologicalSorter

from knobpack.errors import InputError
from knobpack.words.voice import Group, Voice

MOST_HELD = 1_000_000
"""Destinations that the groups of a request hold, at most, counted once for each group."""


def members_of(
    voices: Iterable[Voice], groups: Iterable[Group], order: Mapping[str, int]
) -> dict[str, tuple[str, ...]]:
    """What each voice, group or destination name stands for: full names, in order.

    Args:
        voices: those of a request.
        groups: its groups, which may hold one another.
        order: the full name of each destination, with its place in the request.

    Raises:
        InputError: groups hold one another in a circle, or hold too much.
    """
    found: dict[str, tuple[str, ...]] = {name: (name,) for name in order}
    for voice in voices:
        found[voice.name] = tuple(voice.by_full_name)
    held_by = {group.name: group.members for group in groups}
    inner = {name: [each for each in held_by[name] if each in held_by] for name in held_by}
    try:
        innermost_first = tuple(TopologicalSorter(inner).static_order())
    except CycleError as circle:
        right = "these hold one another; break the circle"
        raise InputError("Request.groups", tuple(circle.args[1][1:]), right) from None
    held = 0
    for name in innermost_first:
        inside = {full for member in held_by[name] for full in found.get(member, ())}
        found[name] = tuple(sorted(inside, key=order.__getitem__))
        held += len(inside)
        if held > MOST_HELD:
            right = f"let the groups hold at most {MOST_HELD} destinations, added up"
            raise InputError("Request.groups", held, right)
    return found
