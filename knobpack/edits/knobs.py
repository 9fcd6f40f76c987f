"""Knobs: one that is broken, one that is mended, and one that goes over another travel."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.allocation import Allocation
from knobpack.combination.report import NONE_SOUGHT
from knobpack.edits.answer import Edited
from knobpack.edits.made import Made, knob_of
from knobpack.edits.memory import around_a_break
from knobpack.edits.merge import merged, with_settings
from knobpack.edits.request import SetupInUse
from knobpack.edits.solution import Wish, left_standing, solved
from knobpack.edits.wishes import check_knob, usable
from knobpack.errors import InputError
from knobpack.limits import Run
from knobpack.setups.as_read import Reading, lies_within, read
from knobpack.setups.wished_travels import wishes_over, with_travels
from knobpack.words import BrokenKnob, KnobTravel, Setup
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told, listed
from knobpack.words.setup_edits import BackInUse, OutOfUse


def out_of_use(reading: Reading, edit: OutOfUse, run: Run) -> Edited:
    """Take a knob out of use.

    Raises:
        InputError: there is no such knob, or it is broken already.
    """
    setup, knob = reading.setup, usable(reading, "OutOfUse.knob", edit.knob)
    without = attrs.evolve(setup, broken=(*setup.broken, BrokenKnob(knob)))
    still = _nowhere_to_stand_still(reading, knob)

    def told(made: Made, _: Allocation) -> Made:
        return attrs.evolve(made, notes=(f"{listed(still)}: {NONE_SOUGHT}.",) if still else ())

    wish = Wish(str(edit))
    if still:
        was = SetupInUse.of(read(without)).layout
        routes = tuple(each for each in was.routes if each.destination not in still)
        travels = tuple(each for each in was.travels if each.knob != knob)
        wish = attrs.evolve(wish, previous=attrs.evolve(was, routes=routes, travels=travels))
    return solved(setup, without, wish, run, told)


def _nowhere_to_stand_still(reading: Reading, knob: str) -> tuple[str, ...]:
    """What a knob drives that does nothing, where none is free on which it would not come to life.

    Where each route has a travel of its own it does nothing on any knob.
    """
    if knob not in reading.idle or reading.setup.surface.per_route:
        return ()
    free = any(not on and reading.closed(other) is None for other, on in reading.carries.items())
    return () if free else tuple(n for n, at in knob_of(reading).items() if at == knob)


def back_in_use(reading: Reading, edit: BackInUse, run: Run) -> Edited:
    """Take a knob back in use: what moved because it was broken goes back.

    What was moved again since stays where it is. What earlier edits asked for and gave way holds
    again, unless a later one says the contrary.

    Raises:
        InputError: it is no knob that is broken.
    """
    setup, knob = reading.setup, edit.knob
    broken = [each.knob for each in setup.broken]
    check_named("BackInUse.knob", knob, broken, "name a knob that is out of use")
    was, arrived = around_a_break(setup, knob)
    there, previous, goes = merged(was, arrived, setup)
    held = set(setup.agreed)
    agreed = ((r,) if r in held else left_standing((r,), setup.agreed) for r in there.agreed)
    mended = attrs.evolve(
        there,
        agreed=tuple(rule for rules in agreed for rule in rules),
        arrivals=setup.arrivals,
        broken=tuple(each for each in setup.broken if each.knob != knob),
        sending=setup.sending,
    )

    def settled(made: Made, _: Allocation) -> Made:
        found = with_settings(was, arrived, setup, made.setup)
        return attrs.evolve(found, notes=tuple(_elsewhere(was, knob, found.setup)))

    return solved(setup, mended, Wish(str(edit), previous=previous, goes=goes), run, settled)


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


def _elsewhere(was: Setup, knob: str, setup: Setup) -> Iterator[str]:
    """What was on a knob and does not come back to it."""
    knobs_of = read(setup).knobs_of
    for name in read(was).carries[knob]:
        at = knobs_of.get(name)
        if at is not None and knob not in at:
            where = f"stays on {knob_told(at[0])}" if at else "stays without a knob"
            yield f"{name} was moved again since, and {where}."
