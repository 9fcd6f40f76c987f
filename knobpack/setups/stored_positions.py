"""Stored positions: those of some setups brought to another, on other knobs, at another resolution.

What a knob stood at is a matter of what it drove: so the position goes where its destinations go.
It is scaled once, from the resolution that it was stored in (M2-115-U 3). Between a surface that
sets travels on knobs and one that sets them on routes, it is the destination that stands where it
stood, and the knob where that is.

Where a snapshot says nothing of a knob that it holds, the knob may stand anywhere from 0 to the
highest position: its travel is the way of the master, not of the hand. A jump is told with its
worst end, and marked as not known. A sweep shows the knob at the start of its travel, or at the
quiet end if it drives a level, and says so; so does a text event of a MIDI file.

Positions go with what they moved. In a snapshot that is none of its own setup's, a knob of the base
or of a source stands where all snapshots of its setup put it that hold it, if they agree: so it
sounded whenever it was held. Two snapshots that move the same still differ if they put what they
hold at other positions. Where bundles are joined, what a snapshot itself holds decides before what
stood so in snapshots that are no part of it: no guest moves what the player stored there. Then the
most important destination on the knob decides, of those whose position is known; of levels that
matter as much, none of which the snapshot itself holds, the lowest that any of them is known to
have stood at, so that nothing is suddenly loud.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from operator import itemgetter

import attrs

from knobpack.grouped import grouped
from knobpack.positions import scaled
from knobpack.setups.as_read import Reading, read
from knobpack.setups.response import nearest, position_at
from knobpack.text.shown import Fielded
from knobpack.words import Setup, Snapshot, Travel
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, listed, quoted
from knobpack.words.snapshot import storing


@attrs.frozen
class Origin:
    """A setup that positions come from, and what of it comes along.

    Args:
        setup: it may be faulty; it has its own resolution.
        names: for the full name of each destination that comes along, its full name where it goes.
        snapshots: for the name of a snapshot of the setup that is made, the name of the one here
            whose positions hold in it. In one that is left out, a knob stands where all
            snapshots here put it that hold it, if each of them says where and they agree.
    """

    setup: Setup
    names: Mapping[str, str]
    snapshots: Mapping[str, str]


@attrs.frozen
class Overruled(Fielded):
    """A position that gives way to that of something else that now shares the knob.

    Args:
        snapshot: the snapshot, of the setup that is made.
        knob: the knob that is shared.
        destination: the full name of what gives way.
        position: where it would stand, in the resolution of the setup that is made.
        stands: where the knob stands now.
        of: the full name of what the knob stands there for.
    """

    snapshot: str
    knob: str
    destination: str
    position: int
    stands: int
    of: str

    def __str__(self) -> str:
        return next(overruled_told((self,)))


def overruled_told(overruled: Iterable[Overruled]) -> Iterator[str]:
    """Positions that give way, in sentences: one for all snapshots and destinations alike.

    Args:
        overruled: what gives way.

    Yields:
        Each sentence, with its full stop.
    """
    where = grouped(
        (((each.knob, each.of, each.stands, each.position), each.destination), each.snapshot)
        for each in overruled
    )
    alike = grouped(((way, tuple(names)), name) for (way, name), names in where.items())
    for ((knob, of, stands, position), snapshots), names in alike.items():
        told = f"In {'snapshot' if len(snapshots) == 1 else 'snapshots'} "
        told += (
            f"{quoted(snapshots, len(snapshots))} {knob_told(knob)} stands at {stands} for {of}; "
        )
        shares = "shares" if len(names) == 1 else "share"
        yield f"{told}{listed(names, len(names))}, which {shares} the knob, stood at {position}."


@attrs.frozen
class CarriedPositions:
    """What became of stored positions.

    Args:
        snapshots: those of the setup that is made, in their order, with their positions.
        overruled: the positions that gave way, snapshot by snapshot and knob by knob.
    """

    snapshots: tuple[Snapshot, ...]
    overruled: tuple[Overruled, ...]


def carried(made: Setup, origins: Sequence[Origin]) -> CarriedPositions:
    """The snapshots of a setup with the positions that come along with what its knobs drive.

    A knob that does not follow in a snapshot is put where the most important of what it drives
    stood in that, or else in all others, of which that is known: that of the lowest priority
    number, then the first. A position
    that the setup itself stores stays where nothing is known of anything that its knob drives, and
    where its knob drives nothing or is not there; that of a knob that follows stays if it followed
    before.

    Args:
        made: the setup with all its routes and snapshots; its priorities count.
        origins: where positions come from. A setup that others are brought to is one of them.

    Returns:
        The snapshots and what gave way. Nothing is said of a destination that gives way to the same
        position, or whose own position was not known.
    """
    reading, sources = read(made), [_Source(each) for each in origins]
    snapshots, overruled = [], []
    for play in reading.plays:
        name, stored = play.snapshot.name, play.snapshot.stored
        for knob, driven in reading.carries.items():
            if knob in play.follows:
                if not any(source.idle(knob, name) for source in sources):
                    stored.pop(knob, None)
                continue
            order = sorted(driven, key=reading.rank.__getitem__)
            stood = {
                full: position
                for known in (True, False)
                for full in order
                for source in sources
                if source.stores(name) is known
                and (position := source.stood(full, name, reading, knob)) is not None
            }
            if not stood:
                continue
            of, stands = next(iter(stood.items()))
            if not any(source.stores(name) and source.has(of) for source in sources):
                low = _lowest(reading, sources, of, knob)
                of, stands = min(low.items(), key=itemgetter(1), default=(of, stands))
            stored[knob] = stands
            overruled += [
                Overruled(name, knob, full, position, stands, of)
                for full, position in stood.items()
                if position != stands
            ]
        snapshots.append(storing(play.snapshot, stored))
    return CarriedPositions(() if reading.assumed else tuple(snapshots), tuple(overruled))


def _lowest(made: Reading, sources: Sequence[_Source], of: str, knob: str) -> dict[str, int]:
    """How low each level on a knob, of those that matter as much as one, is known to have stood."""
    inner, first = made.destinations, made.destinations[of]
    if made.setup.surface.per_route or not is_level(first.kind):
        return {}
    alike = [n for n in made.carries[knob] if inner[n].priority == first.priority]
    known = {n: [at for s in sources for at in s.ever(n, made, knob)] for n in alike}
    return {n: min(at) for n, at in known.items() if at and is_level(inner[n].kind)}


def _led(reading: Reading, name: str, knob: str) -> Travel:
    ends = name, knob
    return next(reading.led(r) for r in reading.routes if (r.destination, r.knob) == ends)


def _knob_at(travel: Travel, position: int, top: int) -> int | None:
    """Where a knob stands that puts what it drives over a travel at a position; None: nowhere."""
    low, high = sorted((travel.start, travel.end))
    if travel.empty or not low <= position <= high:
        return None
    return nearest(abs(position - travel.start), top, high - low)


class _Source:
    """A setup that positions come from, looked up."""

    def __init__(self, origin: Origin) -> None:
        self._reading: Reading = read(origin.setup)
        self._old = {new: old for old, new in origin.names.items()}
        self._like = origin.snapshots
        plays = () if self._reading.assumed else self._reading.plays
        self._follows = {play.snapshot.name: frozenset(play.follows) for play in plays}
        self._stored = {play.snapshot.name: play.snapshot.stored for play in plays}
        self._stands = {play.snapshot.name: self._reading.stands(play) for play in plays}

    def stood(self, full: str, snapshot: str, made: Reading, now: str) -> int | None:
        """Where the knob ``now`` stands if a destination is where it was.

        None: that is not known, not here, or beyond the travel of its route.
        """
        knobs = self._reading.knobs_of.get(self._old.get(full, ""), ())
        for knob in (now,) if now in knobs else knobs:  # where it still is on one of several
            position = self._position(knob, snapshot)
            if position is not None:
                return self._brought(full, knob, position, made, now)
        return None

    def ever(self, full: str, made: Reading, now: str) -> Iterator[int]:
        """Where the knob ``now`` stood for a destination in any snapshot that holds it."""
        for knob in self._reading.knobs_of.get(self._old.get(full, ""), ()):
            for position in self._wherever_held(knob):
                at = None if position is None else self._brought(full, knob, position, made, now)
                if at is not None:
                    yield at

    def has(self, full: str) -> bool:
        """Whether a destination of the setup that is made came from here."""
        return full in self._old

    def _brought(self, full: str, knob: str, position: int, made: Reading, now: str) -> int | None:
        """A position of a knob here, of the knob ``now`` for a destination."""
        old, there, here = self._old[full], self._reading.setup.surface, made.setup.surface
        if there.per_route and not here.per_route:
            position = position_at(_led(self._reading, old, knob), position, there.top)
        position = scaled(position, there.bits, here.bits)
        if here.per_route and not there.per_route:
            return _knob_at(_led(made, full, now), position, here.top)
        return position

    def stores(self, snapshot: str) -> bool:
        """Whether a snapshot of the setup that is made is one that came from here."""
        return snapshot in self._like

    def idle(self, knob: str, snapshot: str) -> bool:
        """Whether a position is stored here that does nothing, as the knob follows."""
        like = self._like.get(snapshot)
        return like in self._follows and knob in self._follows[like] & self._stored[like].keys()

    def _position(self, knob: str, snapshot: str) -> int | None:
        if snapshot in self._like:
            return self._stands.get(self._like[snapshot], {}).get(knob)
        found = set(self._wherever_held(knob))
        return found.pop() if len(found) == 1 else None

    def _wherever_held(self, knob: str) -> Iterator[int | None]:
        for name, follows in self._follows.items():
            if knob not in follows:
                yield self._stands[name].get(knob)
