"""Groups: what stands together in the tree of paths (M2-117-UM, Table 5: related controls)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import takewhile

from knobpack.combination.naming import shortened, unique
from knobpack.words import Group, Voice
from knobpack.words.fields import LONGEST_NAME

MOST_LEVELS = 8
"""Levels of paths that groups are made of, at most."""

_HALF = (LONGEST_NAME - 1) // 2


def groups_of(
    voice: Voice, paths: Mapping[str, tuple[str, ...]], levels: int, taken: set[str]
) -> Iterator[Group]:
    """The groups of a voice: each holds two destinations or more, and not all there are.

    Levels are counted below what all its paths begin with. A group that would hold the same as
    the one around it is left out.

    Args:
        voice: the voice.
        paths: the parts of its path, for the name of each destination.
        levels: how many levels of paths become groups.
        taken: the names that voices and other groups have; new ones are added.
    """
    parents = {each.name: paths[each.name][:-1] for each in voice.destinations}
    steps = zip(*parents.values(), strict=False)
    root = sum(1 for _ in takewhile(lambda parts: len(set(parts)) == 1, steps))
    held: dict[tuple[str, ...], list[str]] = {(): list(parents)}
    for name, parent in parents.items():
        below = parent[root:]
        for depth in range(1, min(levels, len(below)) + 1):
            held.setdefault(below[:depth], []).append(name)
    for branch, names in held.items():
        if len(names) < 2 or not branch or len(names) == len(held[branch[:-1]]):
            continue
        called = f"{shortened(voice.name, _HALF)} {shortened(' '.join(branch), _HALF)}"
        name = unique(called, taken)
        taken.add(name)
        yield Group(name, tuple(f"{voice.name}/{each}" for each in names))
