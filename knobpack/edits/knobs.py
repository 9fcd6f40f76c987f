"""Knobs: one that is broken, one that is mended, and one that goes over another travel."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import attrs

from knobpack.allocation import Allocation
from knobpack.combination.report import NONE_SOUGHT
from knobpack.edits.answer import Edited
from knobpack.edits.made import Made, knob_of, layout_of
from knobpack.edits.request import SetupInUse
from knobpack.edits.solution import Wish, left_standing, solved
from knobpack.edits.wishes import check_knob, usable
from knobpack.errors import InputError
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, lies_within, read
from knobpack.setups.wished_travels import wishes_over, with_travels
from knobpack.words import BrokenKnob, KnobTravel, Layout, Route, Setup, Travel
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told, listed
from knobpack.words.setup_edits import BackInUse, OutOfUse
from knobpack.words.snapshot import storing


def out_of_use(reading: Reading, edit: OutOfUse, run: Run) -> Edited:
    """Take a knob out of use, and remember what moved because of it.

    Raises:
        InputError: there is no such knob, or it is broken already.
    """
    setup, knob = reading.setup, usable(reading, "OutOfUse.knob", edit.knob)
    without = attrs.evolve(setup, broken=(*setup.broken, BrokenKnob(knob)))

    still = _nowhere_to_stand_still(reading, knob)

    def remember(made: Made, _: Allocation) -> Made:
        entry = attrs.evolve(_moved(knob, setup, made.setup), gave_way=made.gave_way)
        broken = (*setup.broken, entry)
        notes = (f"{listed(still)}: {NONE_SOUGHT}.",) if still else ()
        return attrs.evolve(made, setup=attrs.evolve(made.setup, broken=broken), notes=notes)

    wish = Wish(str(edit))
    if still:
        was = SetupInUse.of(read(without)).layout
        routes = tuple(each for each in was.routes if each.destination not in still)
        travels = tuple(each for each in was.travels if each.knob != knob)
        wish = attrs.evolve(wish, previous=attrs.evolve(was, routes=routes, travels=travels))
    return solved(setup, without, wish, run, remember)


def _nowhere_to_stand_still(reading: Reading, knob: str) -> tuple[str, ...]:
    """What a knob drives that does nothing, where none is free on which it would not come to life.

    Where each route has a travel of its own it does nothing on any knob.
    """
    if knob not in reading.idle or reading.setup.surface.per_route:
        return ()
    free = any(not on and reading.closed(other) is None for other, on in reading.carries.items())
    return () if free else tuple(n for n, at in knob_of(reading).items() if at == knob)


def _moved(knob: str, before: Setup, after: Setup) -> BrokenKnob:
    """What moved because of a knob: where it was, and where it is."""
    old, new = read(before), read(after)
    was, now = knob_of(old), knob_of(new)
    names = [name for name in was if was[name] != now.get(name)]
    return BrokenKnob(
        knob,
        Layout(
            tuple(
                r for r in before.routes if r.destination in names and r.knob == was[r.destination]
            ),
            tuple(each for each in before.travels if each not in after.travels),
        ),
        Layout(
            tuple(Route(name, now[name]) for name in names if name in now),
            tuple(each for each in after.travels if each not in before.travels),
        ),
    )


def back_in_use(reading: Reading, edit: BackInUse, run: Run) -> Edited:
    """Take a knob back in use: what moved because it was broken goes back.

    What was moved again since stays where it is. What earlier edits asked for and gave way holds
    again, unless a later one says the contrary.

    Raises:
        InputError: it is no knob that is broken.
    """
    setup, knob = reading.setup, edit.knob
    broken = {each.knob: each for each in setup.broken}
    check_named("BackInUse.knob", knob, broken, "name a knob that is out of use")
    entry = broken.pop(knob)
    again = left_standing(entry.gave_way, setup.agreed)
    mended = attrs.evolve(setup, broken=tuple(broken.values()), agreed=(*again, *setup.agreed))
    turned = _turned_back(mended, entry)

    def unset(made: Made, _: Allocation) -> Made:
        """Knobs that drive nothing again have the travel that they had."""
        carries = read(made.setup).carries
        idle = {knob for knob in turned if not carries.get(knob)}
        travels = [each for each in made.setup.travels if each.knob not in idle]
        had = ((knob, turned[knob]) for knob in turned if knob in idle)
        travels += [KnobTravel(knob, travel) for knob, travel in had if travel is not None]
        found = attrs.evolve(made.setup, travels=tuple(travels))
        again = _standing_again(reading, found, knob)
        return attrs.evolve(made, setup=again, notes=tuple(_elsewhere(entry, found)))

    wish = Wish(str(edit), previous=_back(mended, entry, turned))
    return solved(setup, mended, wish, run, unset)


def over_travel(reading: Reading, edit: KnobTravel, run: Run) -> Edited:
    """Set the travel of a knob otherwise.

    Raises:
        InputError: there is no such knob, the surface sets travels on routes, or the travel lies
            outside the resolution.
    """
    setup, knob, travel = reading.setup, edit.knob, edit.travel
    check_knob(reading, "KnobTravel.knob", knob)
    if setup.surface.per_route:
        right = "this surface sets the travel on each route, and a knob of it goes all the way"
        raise InputError("KnobTravel.knob", knob, right)
    if not lies_within(travel, setup.surface.top):
        right = f"positions run from 0 to {setup.surface.top}"
        raise InputError("KnobTravel.travel", str(travel), right)
    travels = {each.knob: each for each in setup.travels} | {knob: edit}
    found = attrs.evolve(setup, travels=tuple(travels.values()))
    found = with_travels(found, wishes_over(reading, knob, travel))
    return solved(setup, found, Wish(str(edit)), run)


def _standing_again(before: Reading, setup: Setup, broken: str) -> Setup:
    """The setup with knobs standing where they stood when one broke.

    Each that drives again what it drove, where nothing was stored since of where that was.

    Args:
        before: the setup with the knob still broken.
        setup: the setup with the knob mended.
        broken: the knob.
    """
    place = max((i for i, e in enumerate(setup.edits) if e.what == OutOfUse(broken)), default=None)
    if place is None:
        return setup
    # Where the edit changed none, they were as the next one that did found them.
    past, *later = setup.edits[place:]
    known = (each.before.snapshots for each in later if each.before.snapshots is not None)
    old = past.before.snapshots or next(known, before.setup.snapshots)
    routes = past.before.routes
    then = read(setup if routes is None else attrs.evolve(setup, routes=routes)).carries
    reading = read(setup)
    at = knob_of(before)
    same = {
        knob: {at.get(name) for name in names}
        for knob, names in reading.carries.items()
        if names and set(names) == set(then[knob])
    }
    was = {each.name: each.stored for each in old}
    gave = {each.name: each.stored for each in past.after.snapshots or old}
    meanwhile = {each.name: each.stored for each in before.setup.snapshots}
    snapshots = []
    for each in setup.snapshots:
        found, name, follows = each.stored, each.name, reading.play(each).follows
        for knob, places in same.items() if name in was and name in gave else ():
            now, left = meanwhile[name], gave[name]
            if knob not in follows and all(now.get(p or "") == left.get(p or "") for p in places):
                found.pop(knob, None)
                if knob in was[name]:
                    found[knob] = was[name][knob]
        snapshots.append(each if found == each.stored else storing(each, found))
    return attrs.evolve(setup, snapshots=tuple(snapshots))


def _elsewhere(entry: BrokenKnob, setup: Setup) -> Iterator[str]:
    """What was on the knob and does not come back to it."""
    knobs_of = read(setup).knobs_of
    for route in entry.before.routes:
        at = knobs_of.get(route.destination)
        if at is not None and route.knob == entry.knob and entry.knob not in at:
            where = f"stays on {knob_told(at[0])}" if at else "stays without a knob"
            yield f"{route.destination} was moved again since, and {where}."


def _turned_back(setup: Setup, entry: BrokenKnob) -> dict[str, Travel | None]:
    """For each knob that was given another travel, and none since, what it had; None: none."""
    had = {each.knob: each.travel for each in entry.before.travels}
    return {each.knob: had.get(each.knob) for each in entry.after.travels if each in setup.travels}


def _back(setup: Setup, entry: BrokenKnob, turned: Mapping[str, Travel | None]) -> Layout:
    """The layout with what moved because of a knob where it was before."""
    reading = read(setup)
    layout = SetupInUse.of(reading).layout
    now = {route.destination: route.knob for route in layout.routes}
    went = {route.destination: route.knob for route in entry.after.routes}
    back = {
        route.destination: route.knob
        for route in entry.before.routes
        if route.destination in reading.destinations
        and now.get(route.destination) == went.get(route.destination)
    }
    full = Travel.full(setup.surface.bits)
    of_knob = reading.goes | {knob: travel or full for knob, travel in turned.items()}
    own = {route.destination: route.travel for route in entry.before.routes if route.travel}
    places = now | back
    if setup.surface.per_route:
        goes = {name: own[name] for name in back if name in own} | layout.goes
    else:
        goes = {name: of_knob[knob] for name, knob in places.items() if knob in of_knob}
    return layout_of(setup.surface, places, goes, reading.rank, layout.layers)
