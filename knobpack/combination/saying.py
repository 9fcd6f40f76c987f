"""Saying: what a snapshot moves, in as few names as will do."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from knobpack.words import Voice


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
        inner = [(voice.full_name(each), each.movable) for each in voice.destinations]
        able = [name for name, movable in inner if movable and name in driven]
        if able and all(name in moved for name in able):
            found.append(voice.name)
        else:
            found += [name for name, movable in inner if movable and name in moved]
    return tuple(found)
