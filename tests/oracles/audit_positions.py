"""Where a setup puts every knob and destination, snapshot by snapshot, read plainly."""

from __future__ import annotations

from fractions import Fraction
from math import floor

import attrs

from knobpack.words import Setup, Travel


@attrs.frozen
class State:
    """One snapshot: what is asked of it (all full names that it stands for), and how it is told."""

    name: str
    named: frozenset[str]
    firm: bool


def there(setup: Setup) -> list[str]:
    """The full names of all destinations."""
    return [f"{v.name}/{d.name}" for v in setup.voices for d in v.destinations]


def fixed(setup: Setup) -> set[str]:
    """The full names of those that the master may not move."""
    return {f"{v.name}/{d.name}" for v in setup.voices for d in v.destinations if not d.movable}


def stands_for(setup: Setup, name: str, through: tuple[str, ...] = ()) -> set[str]:
    """All destinations that a name stands for, groups opened one in another."""
    if name in through:
        return set()
    found = {full for full in there(setup) if full == name}
    for voice in setup.voices:
        if voice.name == name:
            found |= {f"{name}/{inner.name}" for inner in voice.destinations}
    for group in setup.groups:
        if group.name == name:
            for member in group.members:
                found |= stands_for(setup, member, (*through, name))
    return found


def states(setup: Setup) -> list[State]:
    """Every stored snapshot, or the one assumed where there is none."""
    if not setup.snapshots:
        return [State("everything", frozenset(there(setup)), firm=False)]
    return [
        State(
            each.name,
            frozenset(full for name in each.moves for full in stands_for(setup, name)),
            firm=each.break_weight is None,
        )
        for each in setup.snapshots
    ]


def moving(setup: Setup, state: State) -> set[str]:
    """What is to move."""
    return set(state.named) - fixed(setup)


def on(setup: Setup, knob: str) -> list[str]:
    """What a knob carries that is there, each once."""
    led = [r.destination for r in setup.routes if r.knob == knob]
    return [n for i, n in enumerate(led) if n in there(setup) and n not in led[:i]]


def on_routes(setup: Setup) -> bool:
    """Whether each route has a travel of its own, and a knob none."""
    return setup.surface.travel_on == "route"


def travel(setup: Setup, knob: str, name: str) -> Travel:
    """Over what a knob drives a destination; the full travel where none is set."""
    full = Travel(0, top_of(setup))
    if on_routes(setup):
        mine = [r for r in setup.routes if (r.knob, r.destination) == (knob, name)]
        return mine[0].travel or full
    for each in setup.travels:
        if each.knob == knob:
            return each.travel
    return full


def travels(setup: Setup) -> list[tuple[str, tuple[str, ...], Travel]]:
    """Each travel that there is: its knob, what goes over it, and what it is."""
    found: list[tuple[str, tuple[str, ...], Travel]] = []
    for knob in (each.name for each in setup.surface.knobs):
        names = tuple(on(setup, knob))
        if on_routes(setup):
            found += [(knob, (name,), travel(setup, knob, name)) for name in names]
        else:
            found.append((knob, names, travel(setup, knob, "")))
    return found


def top_of(setup: Setup) -> int:
    """The highest position."""
    return int(2**setup.surface.bits) - 1


def position(setup: Setup, state: State, knob: str, name: str, master: int) -> int:
    """Where a knob puts a destination with the master at the bottom (0) or at the top (1)."""
    balance = 0
    for each in on(setup, knob):
        balance += 1 if each in moving(setup, state) else -1
    return ends(setup, knob, name)[1 if balance > 0 and master else 0]


def ends(setup: Setup, knob: str, name: str) -> tuple[int, int]:
    """Where a knob puts a destination as it goes from its start to its end."""
    asked, top = travel(setup, knob, name), top_of(setup)
    return min(asked.start, top), min(asked.end, top)


def taken_apart(setup: Setup, name: str, one: int, other: int) -> bool:
    """Whether a destination tells two positions apart: a stepped one, if it is at other steps.

    A step is its equal share of all positions (M2-115-U 1.0.2, section 5).
    """
    for voice in setup.voices:
        for inner in voice.destinations:
            if f"{voice.name}/{inner.name}" == name and inner.steps is not None:
                share = max(Fraction(top_of(setup) + 1, inner.steps), Fraction(1))
                return floor(one / share) != floor(other / share)
    return one != other


def follows(setup: Setup, state: State, knob: str) -> bool:
    """Whether more of what is on a knob is to move than to be held."""
    wanted = [name in moving(setup, state) for name in on(setup, knob)]
    return wanted.count(True) > wanted.count(False)


def standing(setup: Setup, state: State) -> dict[str, int]:
    """Where a snapshot puts the knobs that are not moved in it and that carry something."""
    return {
        each.knob: min(each.position, top_of(setup))
        for snapshot in setup.snapshots
        if snapshot.name == state.name
        for each in snapshot.positions
        if on(setup, each.knob)
        and each.knob in [knob.name for knob in setup.surface.knobs]
        and not follows(setup, state, each.knob)
    }


def moved_by(setup: Setup, state: State) -> dict[str, set[str]]:
    """The destinations that differ from bottom to top, with the knobs that make them."""
    found: dict[str, set[str]] = {}
    for knob in (each.name for each in setup.surface.knobs):
        for name in on(setup, knob):
            bottom, top = (position(setup, state, knob, name, master) for master in (0, 1))
            if taken_apart(setup, name, bottom, top):
                found.setdefault(name, set()).add(knob)
    return found


def working(setup: Setup, state: State) -> tuple[str, ...]:
    """The knobs that move something, in panel order."""
    found = set().union(*moved_by(setup, state).values())
    return tuple(each.name for each in setup.surface.knobs if each.name in found)


def voice_is_missing(setup: Setup, name: str) -> bool:
    """Whether a route to ``name``, which is no destination, names no voice (and no group)."""
    groups = {group.name for group in setup.groups}
    return (
        name.split("/", maxsplit=1)[0] not in {v.name for v in setup.voices} and name not in groups
    )
