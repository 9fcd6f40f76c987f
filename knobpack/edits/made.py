"""Made: where destinations are, and the setup that an allocation makes of another."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import attrs

from knobpack.setups.as_read import Reading, read
from knobpack.setups.labels import labelled
from knobpack.setups.stored_positions import Origin, Overruled, carried, overruled_told
from knobpack.words import (
    KnobTravel,
    Layout,
    Route,
    Rule,
    Setup,
    Snapshot,
    Surface,
    Travel,
    VoiceLayer,
)


def layout_of(
    surface: Surface,
    places: Mapping[str, str],
    goes: Mapping[str, Travel],
    rank: Mapping[str, tuple[int, int]],
    layers: Iterable[VoiceLayer],
) -> Layout:
    """A layout in which each destination goes over its travel, as the panel sets travels.

    Args:
        surface: the panel.
        places: the knob of each destination.
        goes: the travel of each, as far as it is known. Where a knob has one travel for all that it
            drives, that of the most important stands.
        rank: how important each is, the lower the more.
        layers: where the voices stand.
    """
    if surface.per_route:
        routes = (Route(name, knob, goes.get(name)) for name, knob in places.items())
        return Layout(tuple(routes), (), tuple(layers))
    travels: dict[str, Travel] = {}
    for name in sorted(places, key=lambda each: rank.get(each, (6, 0))):
        if name in goes:
            travels.setdefault(places[name], goes[name])
    return Layout(
        tuple(Route(name, knob) for name, knob in places.items()),
        tuple(KnobTravel(knob, travel) for knob, travel in travels.items()),
        tuple(layers),
    )


def knob_of(reading: Reading) -> dict[str, str]:
    """The knob of each destination that is driven; of several the first on the panel."""
    return {name: knobs[0] for name, knobs in reading.knobs_of.items() if knobs}


def goes_of(reading: Reading) -> dict[str, Travel]:
    """The travel that each destination really goes over, on that knob."""
    at = knob_of(reading)
    return {r.destination: reading.led(r) for r in reading.routes if at[r.destination] == r.knob}


@attrs.frozen
class Made:
    """A setup that was made of another.

    Args:
        setup: the setup.
        notes: what is to be known of the way, in sentences.
        gave_way: the rules of earlier edits that gave way, so that nothing need be left out.
        overruled: the stored positions that gave way when knobs came to be shared.
    """

    setup: Setup
    notes: tuple[str, ...] = ()
    gave_way: tuple[Rule, ...] = ()
    overruled: tuple[Overruled, ...] = ()

    @property
    def told(self) -> tuple[str, ...]:
        """The notes, and what gave way to positions that are stored now that all is done."""
        stored = {each.name: each.stored for each in self.setup.snapshots}
        held = (e for e in self.overruled if stored.get(e.snapshot, {}).get(e.knob) == e.stands)
        return (*self.notes, *overruled_told(held))


def routed(
    setup: Setup, routes: Sequence[Route], travels: Mapping[str, Travel], held: Sequence[Route]
) -> Made:
    """A setup with other routes, its positions and labels gone along with what they belong to.

    Args:
        setup: the setup as it was; its faults stay.
        routes: where what was asked for is now.
        travels: the travel of each knob that these routes use.
        held: where that was, as far as it was driven; other routes stay as they are, but for those
            of knobs that are out of use.
    """
    now = {route.destination: route for route in routes}
    broken = read(setup).broken
    left = {(route.destination, route.knob) for route in held}
    full = Travel.full(setup.surface.bits)
    kept = []
    for route in setup.routes:
        name = route.destination
        if (name, route.knob) in left:
            left.remove((name, route.knob))
            goes = now.pop(name, None)
            if goes is not None and (route.travel or full) == (goes.travel or full):
                goes = attrs.evolve(route, knob=goes.knob)  # told as it was told before
            kept += [goes] if goes is not None else []
        elif route.knob not in broken:
            kept.append(route)
    found = attrs.evolve(setup, routes=(*kept, *now.values()), travels=_travels(setup, travels))
    return along(setup, found)


def along(before: Setup, after: Setup) -> Made:
    """The setup after, its stored positions and labels where what they belong to is now.

    A knob that no longer drives anything that it drove keeps no position. One that comes to drive
    something is no longer noted to follow for nothing.

    Args:
        before: the setup as it was; it may be of another panel.
        after: what it becomes, with the snapshots of ``before`` and others.
    """
    old, new = read(before).carries, read(after).carries
    stale = {knob for knob in new if old.get(knob) and not set(old[knob]) & set(new[knob])}
    bare = attrs.evolve(
        after, snapshots=tuple(_without(each, stale, new) for each in after.snapshots)
    )
    names = {name: name for name in read(before).destinations}
    stored = {each.name: each.name for each in before.snapshots}
    told = carried(bare, (Origin(before, names, stored),))
    found = labelled(before, attrs.evolve(bare, snapshots=told.snapshots))
    if set(found.labels) == set(before.labels):
        found = attrs.evolve(found, labels=before.labels)
    return Made(found, overruled=told.overruled)


def arriving(home: Setup, there: Setup) -> Made:
    """A setup on another panel, with the stored positions and labels that it has at home.

    Args:
        home: the setup as it is at home.
        there: the setup on the other panel; what it stores and shows there does not count.
    """
    bare = tuple(attrs.evolve(each, positions=()) for each in there.snapshots)
    return along(home, attrs.evolve(there, snapshots=bare, labels=()))


def _without(
    snapshot: Snapshot, stale: Collection[str], carries: Mapping[str, Sequence[str]]
) -> Snapshot:
    return attrs.evolve(
        snapshot,
        positions=tuple(each for each in snapshot.positions if each.knob not in stale),
        idle=tuple(knob for knob in snapshot.idle if not carries.get(knob)),
    )


def _travels(setup: Setup, travels: Mapping[str, Travel]) -> tuple[KnobTravel, ...]:
    """The travels that are set: those of before, but for knobs that have another now."""
    goes = read(setup).goes
    other = {knob: travel for knob, travel in travels.items() if goes.get(knob) != travel}
    stay = [
        KnobTravel(each.knob, other.pop(each.knob)) if each.knob in other else each
        for each in setup.travels
    ]
    return (*stay, *(KnobTravel(knob, travel) for knob, travel in other.items()))
