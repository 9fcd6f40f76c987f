"""The setup that comes of an allocation, and what must be known to undo it."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution
from knobpack.combination.report import BASE, NotAsItWas
from knobpack.combination.snapshots import PlannedSnapshot, SnapshotPlan, widest_of
from knobpack.setups.as_read import read
from knobpack.setups.labels import labelled, labels_in
from knobpack.setups.stored_positions import Origin, Overruled, carried
from knobpack.setups.wished_travels import with_wishes
from knobpack.words import (
    Arrival,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    MovedRoute,
    Route,
    Setup,
    Snapshot,
)
from knobpack.words.names import knob_told


@attrs.frozen
class Result:
    """What came of an allocation.

    Args:
        setup: the result.
        new: the snapshots that it has beside the base's.
        left: what of the base is not as it was, and the snapshots that came to nothing.
        overruled: the stored positions that gave way.
    """

    setup: Setup
    new: tuple[PlannedSnapshot, ...]
    left: tuple[NotAsItWas, ...]
    overruled: tuple[Overruled, ...]


def result_of(
    name: str,
    base: KeptBase,
    brought: Sequence[Contribution],
    plan: SnapshotPlan,
    allocation: Allocation,
) -> Result:
    """The base with all that was brought.

    Args:
        name: what the result is called.
        base: what the base keeps.
        brought: what the sources bring.
        plan: the snapshots that the result is to have.
        allocation: which knob drives what.
    """
    setup = base.setup
    layer = {place.voice: place.new for place in allocation.layers}
    kept = {route.destination for route in base.keep.routes}
    routes = tuple(route for route in allocation.routes if route.destination not in kept)
    fresh = {route.knob for route in routes} - {route.knob for route in base.keep.routes}
    given = {each.knob: each for each in allocation.travels if each.knob in fresh}
    changed = fresh | {route.knob for route in setup.routes if not base.stays(route)}
    joined = changed | {route.knob for route in routes}
    set_before = {each.knob for each in setup.travels}
    made = attrs.evolve(
        setup,
        name=name,
        voices=(
            *setup.voices,
            *(attrs.evolve(v, layer=layer[v.name]) for one in brought for v in one.voices),
        ),
        groups=(*setup.groups, *(group for one in brought for group in one.groups)),
        routes=(*(route for route in setup.routes if base.stays(route)), *routes),
        travels=(
            *(given.get(each.knob, each) for each in setup.travels),
            *(each for knob, each in given.items() if knob not in set_before),
        ),
        snapshots=(
            *(_without(each, fresh, changed) for each in plan.of_base(setup.snapshots)),
            *(each.snapshot for each in plan.new),
        ),
    )
    shown: dict[str, str] = {}
    for one in brought:
        there = labels_in(one.reading.setup)
        shown |= {one.new_name(w): there[w.old_name] for w in one.wishes if w.old_name in there}
    made = attrs.evolve(made, labels=_labels(setup, labelled(setup, made, shown), fresh))
    stood = carried(made, _origins(base, brought, plan))
    stands = {each.name: each.positions for each in made.snapshots[: len(setup.snapshots)]}
    made = attrs.evolve(
        made,
        snapshots=tuple(
            attrs.evolve(each, positions=_standing(stands[each.name], each, joined))
            if each.name in stands
            else each
            for each in stood.snapshots or made.snapshots
        ),
    )
    had = {name: base.reading.led(route) for name, route in base.freed.items()}
    made, new, dropped = _needed(with_wishes(had, made), plan)
    came = _arrivals(base, made, brought, new, routes, fresh)
    made = attrs.evolve(made, arrivals=(*setup.arrivals, *came))
    remain = {each.name for each in made.snapshots}
    overruled = tuple(
        each
        for each in stood.overruled
        if each.snapshot in remain and (each.snapshot not in stands or each.knob in joined)
    )
    left = (*_layerless(base, allocation), *_reset(base, given), *dropped)
    return Result(made, new, left, overruled)


def _without(snapshot: Snapshot, fresh: set[str], changed: set[str]) -> Snapshot:
    """A snapshot without what it says of knobs that drive something new, or nothing any more."""
    return attrs.evolve(
        snapshot,
        positions=tuple(each for each in snapshot.positions if each.knob not in fresh),
        idle=tuple(knob for knob in snapshot.idle if knob not in changed),
    )


def _labels(before: Setup, after: Setup, fresh: set[str]) -> tuple[KnobLabel, ...]:
    """The labels of knobs that drive something new; the others show what they showed."""
    was = {each.knob: each for each in before.labels}
    new = {each.knob: each for each in after.labels if each.knob in fresh}
    found = [new.get(knob, each) for knob, each in was.items() if knob not in fresh or knob in new]
    return (*found, *(each for knob, each in new.items() if knob not in was))


def _standing(
    before: tuple[KnobPosition, ...], snapshot: Snapshot, joined: set[str]
) -> tuple[KnobPosition, ...]:
    """What a snapshot of the base stores: of knobs that drive what they drove, what it stored."""
    stay = (each for each in before if each.knob not in joined)
    return (*stay, *(each for each in snapshot.positions if each.knob in joined))


def _origins(base: KeptBase, brought: Sequence[Contribution], plan: SnapshotPlan) -> list[Origin]:
    setup, widest = base.setup, base.reading.widest
    # What is added for the base alone stands in for its widest one.
    like = {each.name: each.name for each in setup.snapshots}
    if widest is not None:
        alone = (each.snapshot.name for each in plan.new if each.added == BASE)
        like |= dict.fromkeys(alone, widest.snapshot.name)
    found = [Origin(setup, {name: name for name in base.reading.destinations}, like)]
    for one in brought:
        olds = {
            each.snapshot.name: each.old
            for each in plan.new
            if each.old is not None and each.owners == (one.label,)
        }
        # All are as they are in the source's widest one, in that which moves all.
        first = widest_of(one)
        if first is not None:
            olds |= dict.fromkeys((*plan.grown, *plan.for_all), first.snapshot.name)
        names = {wish.old_name: one.new_name(wish) for wish in one.wishes}
        found.append(Origin(one.reading.setup, names, olds))
    return found


def _needed(
    made: Setup, plan: SnapshotPlan
) -> tuple[Setup, tuple[PlannedSnapshot, ...], list[NotAsItWas]]:
    """The result without the new snapshots that come to nothing, or to what another is."""
    new = {each.snapshot.name: each for each in plan.new}
    reading = read(made)
    stands: dict[tuple[object, ...], str] = {}
    gone: dict[str, str] = {}
    for play in reading.stored_plays:
        name = play.snapshot.name
        silent = frozenset(play.snapshot.silent)
        key = (play.works, frozenset(reading.puts(play).items()), silent)
        if name not in new:
            stands.setdefault(key, name)
        elif not play.works:
            gone[name] = "does not come: all that it moves is left out"
        elif key in stands:
            gone[name] = f"does not come, as it comes to the same as '{stands[key]}'"
        else:
            stands[key] = name
    left = [
        NotAsItWas(each.owners[0], "snapshot", each.old, gone[name])
        for name, each in new.items()
        if name in gone and each.old is not None
    ]
    snapshots = tuple(each for each in made.snapshots if each.name not in gone)
    kept = tuple(each for name, each in new.items() if name not in gone)
    return attrs.evolve(made, snapshots=snapshots), kept, left


def _arrivals(
    base: KeptBase,
    made: Setup,
    brought: Sequence[Contribution],
    new: Sequence[PlannedSnapshot],
    anew: Sequence[Route],
    fresh: set[str],
) -> list[Arrival]:
    """What must be known to take each source away again; the first tells what gave way."""
    setup = base.setup
    put = {route.destination: route.knob for route in anew}
    moved = tuple(
        MovedRoute(
            place, route, put.get(route.destination) if route.destination in base.freed else None
        )
        for place, route in enumerate(setup.routes, 1)
        if not base.stays(route)
    )
    now = {each.name: each for each in made.snapshots}
    were = tuple(
        each
        for each in setup.snapshots
        if (each.positions, each.idle) != (now[each.name].positions, now[each.name].idle)
        or not fresh.isdisjoint(each.stored)
    )
    shown = {each.knob for each in setup.labels}
    same = tuple(each for each in made.labels if each.knob in shown) == setup.labels
    touched = fresh | {each.route.knob for each in moved}
    labels = () if same and not shown & touched else setup.labels
    coming = [one for one in brought if one.voices]
    was, becomes = base.reading.destinations, read(made).destinations
    wishes = tuple(name for name in was if was[name].travel != becomes[name].travel)
    travels = tuple(each for each in setup.travels if each.knob in touched)
    found: list[Arrival] = []
    for one in coming:
        mine = tuple(each.snapshot.name for each in new if one.label in each.owners)
        if found:
            found.append(Arrival(one.label, made.name, mine, at_once=True))
        else:
            found.append(Arrival(one.label, setup.name, mine, moved, travels, labels, were, wishes))
    return found


def _layerless(base: KeptBase, allocation: Allocation) -> list[NotAsItWas]:
    """The voices of the base that have no layer, and keep having none."""
    layer = {place.voice: place.new for place in allocation.layers}
    return [
        NotAsItWas(
            base.setup.name, "voice", v.name, f"has no layer; {layer[v.name]} is left free for it"
        )
        for v in base.setup.voices
        if v.layer is None
    ]


def _reset(base: KeptBase, given: dict[str, KnobTravel]) -> list[NotAsItWas]:
    """The travels of the base's knobs that are set anew."""
    drove = {route.knob for route in base.freed.values()}
    return [
        NotAsItWas(
            base.setup.name,
            "travel",
            f"{old.travel} of {knob_told(old.knob)}",
            f"becomes {given[old.knob].travel}: "
            + ("what it drove is free to move" if old.knob in drove else "the knob drove nothing"),
        )
        for old in base.setup.travels
        if given.get(old.knob, old) != old
    ]
