"""Torn: what a broken knob drives, of which a snapshot moves a part, taken as one.

What is torn already is no reason against anything else: as a whole it may go to a knob that follows
in that snapshot, or to one that does not, if nothing else does another thing there for it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product

import attrs

from knobpack.allocation import Allocation
from knobpack.setups.as_read import Reading
from knobpack.words import Request

MOST_EACH_ITS_WAY = 3
"""Torn knobs and snapshots, at most, of which each may move or be held; of more all, or none."""

Way = Mapping[str, tuple[frozenset[str], frozenset[str]]]
"""For each snapshot what it is to move besides, and what it is to hold, by full names."""


def ways_as_one(reading: Reading) -> Iterator[Way]:
    """The ways to take as one what knobs out of use drive and firm snapshots tear."""
    torn = [
        (each.play.snapshot.name, frozenset((*each.moved, *each.held)))
        for each in reading.torn
        if each.knob in reading.broken and each.firm
    ]
    if not torn:
        return
    few = len(torn) <= MOST_EACH_ITS_WAY
    sides = (
        product((True, False), repeat=len(torn))
        if few
        else ((side,) * len(torn) for side in (True, False))
    )
    for moving in sides:
        way: dict[str, tuple[frozenset[str], frozenset[str]]] = {}
        for (name, both), moves in zip(torn, moving, strict=True):
            more, less = way.get(name, (frozenset(), frozenset()))
            way[name] = (more | both, less) if moves else (more, less | both)
        yield way


def taken_as_one(request: Request, way: Way) -> Request:
    """A request whose snapshots move, or hold, as a whole what they tear."""
    snapshots = []
    for each in request.snapshots or ():
        more, less = way.get(each.name, (frozenset(), frozenset()))
        moved = (set(each.moves) | more) - less
        names = (name for name in request.by_full_name if name in moved)
        snapshots.append(attrs.evolve(each, moves=tuple(names)))
    return attrs.evolve(request, snapshots=tuple(snapshots))


def follows_alike(reading: Reading, found: Allocation) -> bool:
    """Whether the knobs follow in the snapshots of a setup as in those that were asked for."""
    asked = {(each.snapshot, knob) for each in found.following for knob in each.knobs}
    knobs = {route.knob: found.on(route.knob) for route in found.routes}
    return asked == {
        (play.snapshot.name, knob)
        for play in reading.plays
        for knob, names in knobs.items()
        if 2 * len(play.moved.intersection(names)) > len(names)
    }


def others_moved(reading: Reading, found: Allocation) -> int:
    """How much is elsewhere, or left out, that no knob out of use drove."""
    was = {name: reading.knobs_of[name] for name in found.request.by_full_name}
    others = (name for name, knobs in was.items() if knobs and reading.broken.isdisjoint(knobs))
    return sum(found.knob_of(name) not in was[name] for name in others)
