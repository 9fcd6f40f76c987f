"""Stances: how what is held stands in snapshots, as far as a request says.

It is known of what is kept, or was driven before, where a snapshot stores the position of that
knob. Where a snapshot that holds it does not say where it stands, it stands as in all others that
do, if they agree. A level of which nothing is known is to be silent: it stands at 0. What can share
a knob is held by the same snapshots, but for those that may be broken.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

from knobpack.words.loudness import is_level
from knobpack.words.voice import Destination


def stances(
    destinations: Mapping[str, Destination],
    knob_of: Mapping[str, str],
    snapshots: Sequence[tuple[Mapping[str, int], Collection[str]]],
) -> tuple[frozenset[str], ...]:
    """What stands alike in the snapshots that hold it.

    Args:
        destinations: by their full names.
        knob_of: the knob that is kept for a destination, or that drove it before.
        snapshots: where each puts knobs, and the full names of what it moves.

    Returns:
        The full names of what stands alike, a set for each way to stand; none of what is not known
        to stand anywhere, and is no level.
    """
    storing = [(stored, moved) for stored, moved in snapshots if stored]
    alike: dict[tuple[int | None, ...], set[str]] = {}
    for name, inner in destinations.items() if storing else ():
        knob = knob_of.get(name, "")
        stands = [None if name in moved else stored.get(knob) for stored, moved in storing]
        known = set(stands) - {None}
        if known or is_level(inner.kind):
            wherever = next(iter(known), 0) if len(known) < 2 else None
            way = (
                wherever if at is None and name not in moved else at
                for at, (_, moved) in zip(stands, storing, strict=True)
            )
            alike.setdefault(tuple(way), set()).add(name)
    return tuple(map(frozenset, alike.values()))
