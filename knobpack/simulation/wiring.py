"""Wiring: what of a setup can be simulated, and how its faults are taken.

A setup may be faulty. It is simulated all the same:

- A route from no knob of the surface, or to no destination, is passed over; so is a second one
  between the same two, and the travel of a knob that is not there.
- A knob without a travel has the full one. A travel beyond the highest position ends there.
- Of what a snapshot or group names, what is not there is passed over; groups that hold one another
  hold the same.
- A knob follows the master where more of its destinations are to move than to be held, as
  :func:`knobpack.checker.follows` says. One without routes never follows.
- A destination that is not movable is to be held. If its knob follows for the others, it moves.
- Where no snapshot is stored there is one, ``everything``, in which all voices move.
- What a destination makes of two knobs, the instrument decides. Each route is simulated alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import attrs

from knobpack.errors import InputError
from knobpack.words import Destination, Route, Setup, Snapshot, Travel, fields
from knobpack.words.demand import listed

EVERYTHING = "everything"
"""What the snapshot is called that is there where none is stored."""


@attrs.frozen
class Wiring:
    """A setup as it is simulated.

    Args:
        setup: the setup.
        destinations: every destination under its full name, voice by voice.
        travels: the travel of every knob, in panel order, within the resolution.
        routes: those that lead from a knob to a destination, each once, in the setup's order.
        remarks: what is faulty, and how it was taken, in sentences.
    """

    setup: Setup
    destinations: dict[str, Destination]
    travels: dict[str, Travel]
    routes: tuple[Route, ...]
    remarks: tuple[str, ...]

    def snapshot(self, where: str, name: str) -> Snapshot:
        """The snapshot of that name.

        Raises:
            InputError: there is none; ``where`` says where the name was given.
        """
        everything = Snapshot(EVERYTHING, tuple(voice.name for voice in self.setup.voices))
        stored = self.setup.snapshots or (everything,)
        for snapshot in stored:
            if snapshot.name == name:
                return snapshot
        known = listed([repr(snapshot.name) for snapshot in stored])
        raise InputError(where, name, f"name a snapshot of the setup: {known}")

    def asked(self, snapshot: Snapshot) -> tuple[str, ...]:
        """The full names of the destinations that are to move in a snapshot, voice by voice."""
        voices = {
            voice.name: [voice.full_name(inner) for inner in voice.destinations]
            for voice in self.setup.voices
        }
        groups = {group.name: group.members for group in self.setup.groups}
        inside: set[str] = set()
        seen: set[str] = set()
        waiting = list(snapshot.moves)
        while waiting:
            name = waiting.pop()
            if name not in seen:
                seen.add(name)
                inside.update(voices.get(name, (name,)))
                waiting.extend(groups.get(name, ()))
        every = self.destinations.items()
        return tuple(full for full, inner in every if full in inside and inner.movable)

    def follows(self, snapshot: Snapshot) -> tuple[str, ...]:
        """The knobs that follow the master in a snapshot, in panel order."""
        moved = set(self.asked(snapshot))
        balance = dict.fromkeys(self.travels, 0)
        for route in self.routes:
            balance[route.knob] += 1 if route.destination in moved else -1
        return tuple(knob for knob in balance if balance[knob] > 0)

    def placed(self, where: str, start: Mapping[str, int] | None) -> dict[str, int]:
        """Where every knob stands before anything moves: the start of its travel if not given.

        Raises:
            InputError: ``start`` names no knob of the surface, or a position outside its range.
        """
        found = {knob: travel.start for knob, travel in self.travels.items()}
        if start is not None and not isinstance(start, Mapping):
            raise InputError(where, start, "give a position for each name of a knob")
        for knob, position in (start or {}).items():
            if knob not in found:
                raise InputError(where, knob, "name a knob of the surface")
            fields.check_whole(f"{where}[{knob!r}]", position, 0, self.setup.surface.top)
            found[knob] = position
        return found


def wiring_of(where: str, setup: Setup) -> Wiring:
    """Read a setup.

    Raises:
        InputError: it is no Setup; ``where`` says where it was given.
    """
    if not isinstance(setup, Setup):
        raise InputError(where, setup, "give a Setup")
    destinations = {
        voice.full_name(inner): inner for voice in setup.voices for inner in voice.destinations
    }
    full = Travel.full(setup.surface.bits)
    travels = dict.fromkeys(setup.surface.knob_names, full)
    remarks = []
    for setting in setup.travels:
        given, knob = setting.travel, setting.knob
        within = Travel(min(given.start, full.end), min(given.end, full.end))
        if knob not in travels:
            remarks.append(f"The travel of {knob} is passed over: there is no such knob.")
            continue
        if within != given:
            told = f"The travel of {knob}, {given}, is taken as {within}"
            remarks.append(f"{told}: positions end at {full.end}.")
        travels[knob] = within
    routes: dict[Route, None] = {}
    for route in setup.routes:
        wrong = _wrong_in(route, destinations, travels, routes)
        if wrong:
            told = f"The route of {route.knob} to {route.destination} is passed over"
            remarks.append(f"{told}: {wrong}.")
        else:
            routes[route] = None
    remarks += _driven_twice(routes)
    for group in setup.groups:
        remarks += unknown_in(setup, f"Group {group.name!r}", group.members)
    return Wiring(setup, destinations, travels, tuple(routes), tuple(remarks))


def unknown_in(setup: Setup, whose: str, names: Iterable[str]) -> Iterator[str]:
    """What a group or snapshot names that is not there, in sentences."""
    known = {voice.name for voice in setup.voices} | {group.name for group in setup.groups}
    known.update(voice.full_name(inner) for voice in setup.voices for inner in voice.destinations)
    for name in names:
        if name not in known:
            yield f"{whose} names {name}, which is not there."


def _wrong_in(
    route: Route,
    destinations: Mapping[str, Destination],
    travels: Mapping[str, Travel],
    before: Mapping[Route, None],
) -> str:
    if route.knob not in travels:
        return "there is no such knob"
    if route.destination not in destinations:
        return "there is no such destination"
    return "it is there already" if route in before else ""


def _driven_twice(routes: Iterable[Route]) -> Iterator[str]:
    knobs: dict[str, list[str]] = {}
    for route in routes:
        knobs.setdefault(route.destination, []).append(route.knob)
    for destination, driving in knobs.items():
        if len(driving) > 1:
            told = f"{destination} is driven by {listed(driving)}"
            yield f"{told}: what it makes of them together is not simulated, each is shown alone."
