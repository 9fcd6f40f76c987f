"""What the base keeps, what it sets free, and where it takes nothing new.

A fault of the base stays as it is and is told; it never stops a combination. What a request cannot
hold (a second knob on one destination, say) is kept out of the request and left in the result,
and the knobs it is on take nothing new. Knobs that do nothing take nothing new either, unless they
are cleared.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

import attrs

from knobpack.combination.held_routes import (
    Ways,
    held_routes,
    kept_layers,
    meets,
    open_surface,
    told,
)
from knobpack.combination.members import holding, leaves, newly_named
from knobpack.combination.report import IdleKnob, NotAsItWas
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, lies_within, read
from knobpack.setups.bundles import recorded_knob
from knobpack.words import (
    Destination,
    Group,
    Layout,
    Route,
    Rule,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.fields import check_named
from knobpack.words.names import knob_told, listed, voice_part
from knobpack.words.snapshot import storing


@attrs.frozen
class KeptBase:
    """What is asked for the base, beside what it has.

    Args:
        reading: the base as it is.
        surface: its surface, with the knobs closed that take nothing new.
        voices: its voices, wanting what they have.
        groups: its groups, as far as they hold anything.
        snapshots: its snapshots, as far as they move anything.
        keep: the routes, travels and layers that a request can hold.
        freed: by destination, the route that may be moved.
        agreed: the rules of earlier edits that the base meets, and that go on holding.
        cleared: the knobs whose routes go.
        room: the knobs that do nothing and are not cleared.
        left: what is not as it should be and stays, and what goes.
    """

    reading: Reading
    surface: Surface
    voices: tuple[Voice, ...]
    groups: tuple[Group, ...]
    snapshots: tuple[Snapshot, ...]
    keep: Layout
    freed: dict[str, Route]
    agreed: tuple[Rule, ...]
    cleared: frozenset[str]
    room: tuple[IdleKnob, ...]
    left: tuple[NotAsItWas, ...]

    @property
    def setup(self) -> Setup:
        """The base as it is."""
        return self.reading.setup

    def stays(self, route: Route) -> bool:
        """Whether a route of the base stands in the result."""
        return _stays(self.reading, self.freed, self.cleared, route)

    @property
    def taken(self) -> set[str]:
        """The names that a new voice or group may not have.

        Names that the base's routes, groups and snapshots call on in vain are among them: a new
        voice of such a name would suddenly be driven or moved by what did nothing before.
        """
        setup = self.setup
        called = {route.destination for route in setup.routes}
        called |= {each for group in setup.groups for each in group.members}
        called |= {each for snapshot in setup.snapshots for each in snapshot.moves}
        own = {voice.name for voice in setup.voices} | {group.name for group in setup.groups}
        return own | {voice_part(name) for name in called}


def kept_base(setup: Setup, free: tuple[str, ...], clear: tuple[str, ...] = ()) -> KeptBase:
    """Work out what the base keeps.

    Args:
        setup: the base.
        free: voices, groups or destinations whose routes may be moved.
        clear: knobs that do nothing and whose routes go, to make room.

    Raises:
        InputError: ``free`` names what the base does not have, or ``clear`` no such knob.
    """
    reading = read(setup)
    groups, snapshots = _repaired(reading)
    cleared = _cleared(reading, clear)
    freed = _freed(reading, groups, free, cleared)
    ways = _ways(reading)
    travels, top = reading.travels, setup.surface.top
    stuck: list[NotAsItWas] = []
    while True:
        idle = _idle(reading, freed, cleared)
        held, shut, outside = held_routes(reading, ways, freed, cleared)
        used = dict.fromkeys(route.knob for route in held)
        beyond = [knob for knob in used if not lies_within(travels[knob], top)]
        # What leaves a knob that takes nothing new could not come back to it.
        closed = {*shut, *beyond, *idle, *setup.surface.reserved, *reading.broken}
        bound = {name: route for name, route in freed.items() if route.knob in closed}
        if not bound:
            break
        freed = {name: route for name, route in freed.items() if name not in bound}
        stuck += (
            NotAsItWas(setup.name, "route", told(route), "is not freed: its knob takes nothing new")
            for route in bound.values()
        )
    layers, extra, misplaced = kept_layers(setup)
    keep = reading.layout(held, layers)
    kept = {route.destination: reading.led(route) for route in held}
    staying = sum(_stays(reading, freed, cleared, route) for route in setup.routes)
    own = len(held) + len(freed)
    surface, over = open_surface(setup, closed, staying - len(held), own, extra)
    strayed = [
        NotAsItWas(
            setup.name,
            "travel",
            f"{travels[knob]} of {knob_told(knob)}",
            f"lies beyond {top}, the highest position, and stays so; {knob_told(knob)}"
            f" takes nothing new",
        )
        for knob in beyond
    ]
    return KeptBase(
        reading=reading,
        surface=surface,
        voices=tuple(_asked(voice, kept, freed, reading) for voice in setup.voices),
        groups=groups,
        snapshots=snapshots,
        keep=keep,
        freed=freed,
        agreed=tuple(rule for rule in setup.agreed if meets(reading, rule)),
        cleared=cleared,
        room=tuple(IdleKnob(knob, reading.idle[knob]) for knob in idle),
        left=(
            *_going(reading, freed, cleared),
            *stuck,
            *outside,
            *strayed,
            *misplaced,
            *over,
            *_round(reading),
        ),
    )


def _repaired(reading: Reading) -> tuple[tuple[Group, ...], tuple[Snapshot, ...]]:
    """The groups and snapshots of the base, as far as they name what is there."""
    setup = reading.setup
    voices = {voice.name: voice.name for voice in setup.voices}
    whole = holding(reading, voices)
    names = voices | {name: name for name in whole}
    there = leaves(setup, voices)
    fixed = set(reading.fixed(reading.destinations))
    snapshots = (
        attrs.evolve(
            storing(play.snapshot, reading.stands(play)),
            moves=newly_named(
                (name for name in play.snapshot.moves if name not in fixed), there, names
            ),
            silent=tuple(name for name in play.snapshot.silent if name in voices),
            idle=(),  # they have no part in what drives what
        )
        for play in reading.stored_plays
    )
    return tuple(Group(name, members) for name, members in whole.items()), tuple(snapshots)


def _cleared(reading: Reading, clear: tuple[str, ...]) -> frozenset[str]:
    right = "name a knob of the base that does nothing, though routes lead from it"
    for position, knob in enumerate(clear):
        check_named(f"combine.clear[{position}]", knob, reading.idle, right)
    return frozenset(clear)


def _idle(reading: Reading, freed: Collection[str], cleared: Collection[str]) -> list[str]:
    """The knobs that do nothing, from which routes lead that stay."""
    leading = {r.knob for r in reading.setup.routes if _stays(reading, freed, cleared, r)}
    reserved = reading.setup.surface.reserved
    return [knob for knob in reading.idle if knob in leading and knob not in reserved]


def _freed(
    reading: Reading, groups: Iterable[Group], free: tuple[str, ...], cleared: Collection[str]
) -> dict[str, Route]:
    """The routes of the base that may be moved, by their destinations."""
    idle = {group.name for group in reading.setup.groups} - {group.name for group in groups}
    right = "name a voice, a group, or voice/destination of the base"
    for position, name in enumerate(free):
        check_named(f"combine.free[{position}]", name, sorted(reading.known - idle), right)
    inside = reading.named(free)
    routes = (r for r in reading.routes if r.destination in inside and r.knob not in cleared)
    return {name: each[0] for name, each in grouped((r.destination, r) for r in routes).items()}


def _going(reading: Reading, freed: dict[str, Route], cleared: Collection[str]) -> list[NotAsItWas]:
    """The routes that go: of cleared knobs, and those that are one too many of what is freed."""
    first: set[str] = set()
    left = []
    for route in reading.setup.routes:
        if _stays(reading, freed, cleared, route):
            continue
        if route.knob in cleared:
            why = f"goes: {knob_told(route.knob)} is cleared"
            left.append(NotAsItWas(reading.setup.name, "route", told(route), why))
            continue
        if route.destination in first:
            why = f"goes: {freed[route.destination].knob} drives it too, and one knob is enough"
            left.append(NotAsItWas(reading.setup.name, "route", told(route), why))
        first.add(route.destination)
    return left


def _ways(reading: Reading) -> Ways:
    firm = (each for each in reading.setup.snapshots if each.break_weight is None)
    moved = [reading.moved(each) for each in firm]
    return {
        name: (inner.movable, *(name in each for each in moved))
        for name, inner in reading.destinations.items()
    }


def _stays(
    reading: Reading, freed: Collection[str], cleared: Collection[str], route: Route
) -> bool:
    """Whether a route of the base stands: it is not made again where it fits best, nor cleared."""
    released = route.destination in freed and route.knob in reading.carries
    return not released and route.knob not in cleared


def _asked(
    voice: Voice, kept: dict[str, Travel], freed: dict[str, Route], reading: Reading
) -> Voice:
    """A voice of the base as it is asked for: what is kept wants what it has."""
    top = reading.setup.surface.top

    def asked(inner: Destination) -> Destination:
        name = voice.full_name(inner)
        if name not in freed:
            return attrs.evolve(inner, source_knob=None, travel=kept.get(name), must_place=False)
        goes: Travel | None = reading.led(freed[name])
        goes = goes if goes and not goes.empty else None
        # What it wished for comes first: its knob may have been set between several wishes.
        wish = inner.travel
        wish = wish if wish and lies_within(wish, top) and not wish.empty else None
        return attrs.evolve(
            inner,
            travel=goes or wish if reading.setup.surface.per_route else wish or goes,
            # What one knob drives of the base's own stays together, and what came as it came.
            source_knob=recorded_knob(voice, inner) or freed[name].knob,
            must_place=True,
        )

    return attrs.evolve(voice, destinations=tuple(asked(inner) for inner in voice.destinations))


def _round(reading: Reading) -> list[NotAsItWas]:
    return [
        NotAsItWas(
            reading.setup.name, "circle of groups", listed(circle), "holds itself and stays so"
        )
        for circle in reading.circles
    ]
