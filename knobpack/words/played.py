"""The snapshots of a request that gives none: everything, then each group and each voice alone."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence

from knobpack.words.bundle import merged_sets
from knobpack.words.fields import LONGEST_NAME
from knobpack.words.names import listed
from knobpack.words.snapshot import EVERYTHING, ONLY, Snapshot


def default_snapshots(
    voices: Mapping[str, Sequence[str]],
    groups: Mapping[str, Sequence[str]],
    bound: Iterable[Collection[str]],
    moved: Callable[[Snapshot], frozenset[str]],
) -> tuple[Snapshot, ...]:
    """One in which everything moves, and one for each group and voice alone.

    None of them parts what is bound: voices that it joins count as one, and a group takes in the
    rest of what it holds a part of. A voice that groups take in whole has none of its own. Of two
    that move the same the first stands.

    Args:
        voices: the destinations of each voice, by full name.
        groups: those of each group.
        bound: sets of destinations that belong together, bundles say.
        moved: what a snapshot moves.
    """
    parts: list[Collection[str]] = list(merged_sets(map(tuple, bound)))
    named = {EVERYTHING: tuple(voices)}
    for group, inside in groups.items():
        # What is not movable cannot be named by itself.
        movable = moved(Snapshot(EVERYTHING, tuple(_completed(inside, parts))))
        more = movable - set(inside)
        named[ONLY + group] = (group, *sorted(more, key=_order(voices).__getitem__))
    grouped = {full for inside in groups.values() for full in inside}
    voice_of = {full: voice for voice, inside in voices.items() for full in inside}
    for own in merged_sets(map(tuple, (*filter(None, voices.values()), *parts))):
        together = [voice for voice in voices if any(voice_of[full] == voice for full in own)]
        if not grouped.issuperset(own):
            named[_name(together, {*named, *(ONLY + voice for voice in voices)})] = tuple(together)
    found = [Snapshot(name, moves) for name, moves in named.items()]
    first: dict[frozenset[str], Snapshot] = {}
    for snapshot in found:
        first.setdefault(moved(snapshot), snapshot)
    return tuple(snapshot for snapshot in found if first[moved(snapshot)] is snapshot)


def _order(voices: Mapping[str, Sequence[str]]) -> dict[str, int]:
    every = (full for inside in voices.values() for full in inside)
    return {full: position for position, full in enumerate(every)}


def _completed(names: Collection[str], parts: Iterable[Collection[str]]) -> set[str]:
    """Some names, with all of every part that they hold some of."""
    found = set(names)
    for part in parts:
        if not found.isdisjoint(part):
            found.update(part)
    return found


def _name(voices: Sequence[str], taken: Collection[str]) -> str:
    """``only Bass and Organ``: at most three named, fewer where that is too long or taken."""
    for most in (3, 2, 1) if len(voices) > 1 else ():
        name = ONLY + listed(voices, most)
        if len(name) <= LONGEST_NAME + len(ONLY) and name not in taken:
            return name
    return ONLY + voices[0]
