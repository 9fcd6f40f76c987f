"""Reading: what of a setup is there, and what the master moves in each snapshot."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

import attrs

from knobpack.words import Destination, Setup, Snapshot, Travel

EVERYTHING = "everything"
"""What the state is called that is assumed where no snapshot is stored."""


@attrs.frozen
class Play:
    """What the master does in one snapshot.

    Args:
        snapshot: the snapshot; where none is stored, one that names every voice.
        moved: the destinations that are to move, under their full names.
        follows: the knobs that follow the master: more of what they carry is to move than to be
            held.
        works: those of them whose travel is not empty.
    """

    snapshot: Snapshot
    moved: frozenset[str]
    follows: tuple[str, ...]
    works: tuple[str, ...]


@attrs.frozen
class Reading:
    """What of a setup is there.

    Args:
        setup: the setup.
        destinations: every destination under its full name.
        carries: what each knob of the surface carries that is there, each once, as routed.
        knobs_of: the knobs of the surface that drive each destination, in panel order.
        travels: the travel of each knob of the surface; the full one where none is set.
        plays: what the master does in every snapshot.
        assumed: whether no snapshot is stored, and one that moves everything is assumed.
    """

    setup: Setup
    destinations: dict[str, Destination]
    carries: dict[str, tuple[str, ...]]
    knobs_of: dict[str, tuple[str, ...]]
    travels: dict[str, Travel]
    plays: tuple[Play, ...]
    assumed: bool

    def movable(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of some destinations that the master may move."""
        return tuple(name for name in names if self.destinations[name].movable)

    def fixed(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of some destinations that every snapshot holds."""
        return tuple(name for name in names if not self.destinations[name].movable)


def read(setup: Setup) -> Reading:
    """Read a setup, however faulty: what it names and is not there is passed over."""
    destinations = {
        voice.full_name(inner): inner for voice in setup.voices for inner in voice.destinations
    }
    # A dict keeps each destination once, in the order of the routes.
    carried: dict[str, dict[str, None]] = {name: {} for name in setup.surface.knob_names}
    for route in setup.routes:
        if route.knob in carried and route.destination in destinations:
            carried[route.knob][route.destination] = None
    carries = {knob: tuple(names) for knob, names in carried.items()}
    driving: dict[str, list[str]] = {name: [] for name in destinations}
    for knob, names in carries.items():
        for name in names:
            driving[name].append(knob)
    knobs_of = {name: tuple(knobs) for name, knobs in driving.items()}
    travels = dict.fromkeys(carries, Travel.full(setup.surface.bits))
    travels |= {each.knob: each.travel for each in setup.travels if each.knob in travels}
    holds = {v.name: tuple(v.full_name(inner) for inner in v.destinations) for v in setup.voices}
    holds |= {group.name: group.members for group in setup.groups}
    everything = Snapshot(EVERYTHING, tuple(voice.name for voice in setup.voices))
    snapshots = setup.snapshots or (everything,)
    top = setup.surface.top
    going = {knob for knob, travel in travels.items() if goes_somewhere(travel, top)}
    plays = []
    for snapshot in snapshots:
        moved = _moved(destinations, holds, snapshot)
        moving = Counter(knob for name in moved for knob in knobs_of[name])
        follows = tuple(knob for knob, names in carries.items() if 2 * moving[knob] > len(names))
        works = tuple(knob for knob in follows if knob in going)
        plays.append(Play(snapshot, moved, follows, works))
    return Reading(
        setup, destinations, carries, knobs_of, travels, tuple(plays), not setup.snapshots
    )


def goes_somewhere(travel: Travel, top: int) -> bool:
    """Whether a travel is not empty; beyond the highest position a knob stays at that."""
    return min(travel.start, top) != min(travel.end, top)


def _moved(
    destinations: dict[str, Destination], holds: dict[str, tuple[str, ...]], snapshot: Snapshot
) -> frozenset[str]:
    """The movable destinations that a snapshot names, by voice, by group or alone."""
    # Groups may hold one another in a circle, or nest deeply: each name is looked at once.
    seen = set(snapshot.moves)
    left = list(seen)
    while left:
        inside = set(holds.get(left.pop(), ())) - seen
        seen |= inside
        left += inside
    return frozenset(n for n in seen if n in destinations and destinations[n].movable)
