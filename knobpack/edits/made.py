"""Made: the setup that an allocation makes of another, all that goes with a knob carried along."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import attrs

from knobpack.labels import labelled
from knobpack.setup_as_read import read
from knobpack.stored_positions import Origin, carried, overruled_told
from knobpack.words import KnobTravel, Route, Rule, Setup, Snapshot, Travel


@attrs.frozen
class Made:
    """A setup that was made of another.

    Args:
        setup: the setup.
        notes: what gave way on the way, in sentences.
        gave_way: the rules of earlier edits that gave way, so that nothing need be left out.
    """

    setup: Setup
    notes: tuple[str, ...] = ()
    gave_way: tuple[Rule, ...] = ()


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

    A knob that no longer drives anything that it drove keeps no position, and is switched to
    follow for nothing no more once it drives something.

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
    return Made(found, tuple(overruled_told(told.overruled)))


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
