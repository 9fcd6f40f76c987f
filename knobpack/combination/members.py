"""Members: what groups and snapshots name, faulty ones as well, and in how few names."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading
from knobpack.words import Setup, Voice


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
    holders = grouped((each, name) for name, members in groups.items() for each in members)
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
            found |= dict.fromkeys(voice.by_full_name, voice.name)
    return found


def newly_named(
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


def said(
    moved: Collection[str], voices: Iterable[Voice], driven: Collection[str]
) -> tuple[str, ...]:
    """Names that stand for what is to move: of a voice whose driven inputs all do, its name alone.

    Args:
        moved: full names.
        voices: the voices that they are of, in order.
        driven: the full names of all that knobs drive; what none drives may be named or not.

    Returns:
        The names, voice by voice.
    """
    found: list[str] = []
    for voice in voices:
        inner = [(full, each.movable) for full, each in voice.by_full_name.items()]
        able = [name for name, movable in inner if movable and name in driven]
        if able and all(name in moved for name in able):
            found.append(voice.name)
        else:
            found += [name for name, movable in inner if movable and name in moved]
    return tuple(found)
