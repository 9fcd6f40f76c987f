"""Members: what the groups of a setup hold, faulty ones as well."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from knobpack.setup_as_read import Reading
from knobpack.words import Setup


def holding(reading: Reading, picked: Collection[str]) -> dict[str, tuple[str, ...]]:
    """The groups that hold something of the picked voices, with their members that do.

    Members that are not there, or hold nothing, are left off. Each group of a circle holds all
    that the circle holds.

    Args:
        reading: the setup, which may be faulty.
        picked: names of voices.
    """
    groups = {group.name: group.members for group in reading.setup.groups}
    for circle in reading.circles:
        inside = (each for name in circle for each in groups[name] if each not in circle)
        groups |= dict.fromkeys(circle, tuple(dict.fromkeys(inside)))
    holders: dict[str, list[str]] = {}
    for name, members in groups.items():
        for each in members:
            holders.setdefault(each, []).append(name)
    there = leaves(reading.setup, picked)
    alive: set[str] = set()
    waiting = [name for each in there for name in holders.get(each, ())]
    while waiting:
        name = waiting.pop()
        if name not in alive:
            alive.add(name)
            waiting += holders.get(name, ())
    return {
        name: tuple(each for each in members if each in there or each in alive)
        for name, members in groups.items()
        if name in alive
    }


def leaves(setup: Setup, picked: Collection[str]) -> dict[str, str]:
    """The picked voices and their destinations by full name, each with its voice."""
    found = {}
    for voice in setup.voices:
        if voice.name in picked:
            found[voice.name] = voice.name
            found |= {voice.full_name(inner): voice.name for inner in voice.destinations}
    return found


def renamed(
    members: Iterable[str], there: dict[str, str], names: dict[str, str]
) -> tuple[str, ...]:
    """Members under their new names; those that are not brought are left off.

    Args:
        members: names of voices, groups or ``voice/destination``.
        there: what :func:`leaves` gives.
        names: the old and the new name of each voice and group.
    """
    found = []
    for member in members:
        if member in names:
            found.append(names[member])
        elif member in there:
            voice = there[member]
            found.append(names[voice] + member.removeprefix(voice))
    return tuple(found)
