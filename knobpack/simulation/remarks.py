"""Remarks: what is faulty in a setup that is simulated, and how it is taken, in sentences.

How it is taken is what :mod:`knobpack.setup_as_read` says. What a destination makes of two knobs,
the instrument decides: each route is simulated alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from knobpack.setup_as_read import Play, Reading
from knobpack.words import Route, Travel
from knobpack.words.names import knob_told, knobs_told


def remarks(reading: Reading, play: Play) -> tuple[str, ...]:
    """What is faulty in a setup of which a snapshot is simulated."""
    snapshot = play.snapshot
    groups = ((f"Group {group.name!r}", group.members) for group in reading.setup.groups)
    named = (*groups, (f"Snapshot {snapshot.name!r}", snapshot.moves))
    return (
        *_travels(reading),
        *_positions(reading, play),
        *_routes(reading),
        *_driven_twice(reading),
        *(each for whose, names in named for each in _unknown(reading, whose, names)),
    )


def _travels(reading: Reading) -> Iterator[str]:
    per_route = reading.setup.surface.per_route
    for setting in reading.setup.travels:
        knob, given = setting.knob, setting.travel
        if per_route:
            yield (
                f"The travel of {knob_told(knob)} is passed over: this surface sets "
                f"travels on routes."
            )
        elif knob not in reading.goes:
            yield f"The travel of {knob_told(knob)} is passed over: there is no such knob."
        elif reading.goes[knob] != given:
            told = f"The travel of {knob_told(knob)}, {given}, is taken as {reading.goes[knob]}"
            yield f"{told}: positions end at {reading.setup.surface.top}."


def _positions(reading: Reading, play: Play) -> Iterator[str]:
    top = reading.setup.surface.top
    for each in play.snapshot.positions:
        told = f"The position of {knob_told(each.knob)} in {play.snapshot.name!r}"
        if each.knob not in reading.goes:
            yield f"{told} is passed over: there is no such knob."
        elif each.knob in play.follows:
            yield f"{told} is passed over: the knob follows."
        elif each.position > top:
            yield f"{told}, {each.position}, is taken as {top}: positions end there."


def _routes(reading: Reading) -> Iterator[str]:
    before: set[tuple[str, str]] = set()
    for route in reading.setup.routes:
        why = ""
        if route.knob not in reading.carries:
            why = "there is no such knob"
        elif route.destination not in reading.destinations:
            why = "there is no such destination"
        elif (route.knob, route.destination) in before:
            why = "it is there already"
        if why:
            yield (
                f"The route of {knob_told(route.knob)} to {route.destination} is passed "
                f"over: {why}."
            )
        elif route.travel is not None:
            yield from _own_travel(reading, route, route.travel)
        before.add((route.knob, route.destination))


def _own_travel(reading: Reading, route: Route, given: Travel) -> Iterator[str]:
    told = f"The travel of the route from {knob_told(route.knob)} to {route.destination}"
    if not reading.setup.surface.per_route:
        yield f"{told} is passed over: this surface sets travels on knobs."
    elif reading.led(route) != given:
        top = reading.setup.surface.top
        yield f"{told}, {given}, is taken as {reading.led(route)}: positions end at {top}."


def _driven_twice(reading: Reading) -> Iterator[str]:
    for destination, knobs in reading.knobs_of.items():
        if len(knobs) > 1:
            told = f"{destination} is driven by {knobs_told(knobs)}"
            yield f"{told}: what it makes of them together is not simulated, each is shown alone."


def _unknown(reading: Reading, whose: str, names: Iterable[str]) -> Iterator[str]:
    for name in reading.unknown(names):
        yield f"{whose} names {name}, which is not there."
