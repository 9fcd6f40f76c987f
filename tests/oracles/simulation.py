"""What a setup does, in plain Python and fractions: nothing here is shared with the package.

Only the words are. Each sentence of the documentation is read as it stands.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from math import floor

import attrs

from knobpack.words import Destination, Route, Setup, Snapshot, Travel


def nearest(number: Fraction) -> int:
    """The nearest whole number; of two, the higher."""
    return floor(number + Fraction(1, 2))


@attrs.frozen
class Plain:
    """A setup as it is played.

    Args:
        setup: the setup.
    """

    setup: Setup

    @property
    def top(self) -> int:
        """The highest position."""
        return int(2**self.setup.surface.bits) - 1

    def find(self, full: str) -> Destination | None:
        """The destination of a full name, if there is one."""
        for voice in self.setup.voices:
            for inner in voice.destinations:
                if f"{voice.name}/{inner.name}" == full:
                    return inner
        return None

    def travel(self, knob: str) -> Travel:
        """The travel of a knob, within the resolution."""
        for setting in self.setup.travels:
            if setting.knob == knob and not self.on_routes:
                return self.within(setting.travel)
        return Travel(0, self.top)

    @property
    def on_routes(self) -> bool:
        """Whether each route has a travel of its own, and a knob none."""
        return self.setup.surface.travel_on == "route"

    def within(self, travel: Travel) -> Travel:
        """A travel that stays at the highest position instead of one beyond it."""
        return Travel(min(travel.start, self.top), min(travel.end, self.top))

    def led(self, route: Route) -> Travel:
        """The travel of what a route leads to."""
        if self.on_routes:
            return self.within(route.travel or Travel(0, self.top))
        return self.travel(route.knob)

    def routes(self) -> list[Route]:
        """The routes that lead from a knob to a destination, each once."""
        found: list[Route] = []
        for route in self.setup.routes:
            there = any(knob.name == route.knob for knob in self.setup.surface.knobs)
            once = all((r.knob, r.destination) != (route.knob, route.destination) for r in found)
            if there and self.find(route.destination) is not None and once:
                found.append(route if self.on_routes else Route(route.destination, route.knob))
        return found

    def snapshot(self, name: str) -> Snapshot:
        """The snapshot of a name."""
        return next(each for each in self.setup.snapshots if each.name == name)

    def holds(self, word: str, full: str, through: tuple[str, ...] = ()) -> bool:
        """Whether a name stands for a destination; a circle of groups is not gone round again."""
        if word in (full, full.split("/", maxsplit=1)[0]):
            return True
        return any(
            group.name == word
            and any(
                self.holds(member, full, (*through, word))
                for member in group.members
                if member not in through
            )
            for group in self.setup.groups
        )

    def to_move(self, snapshot: str, full: str) -> bool:
        """Whether a destination is to move in a snapshot."""
        inner = self.find(full)
        moves = self.snapshot(snapshot).moves
        return inner is not None and inner.movable and any(self.holds(m, full) for m in moves)

    def following(self, snapshot: str, knob: str) -> bool:
        """Whether a knob follows: more of it is to move than to be held."""
        on = [route.destination for route in self.routes() if route.knob == knob]
        moved = sum(self.to_move(snapshot, full) for full in on)
        return moved > len(on) - moved

    def stands(self, snapshot: str, knob: str) -> int | None:
        """Where a knob stands that does not follow; None: no one knows, or it follows."""
        if self.following(snapshot, knob):
            return None
        for each in self.snapshot(snapshot).positions:
            if each.knob == knob:
                return min(each.position, self.top)
        return None

    def put(self, knob: str, master: int) -> int:
        """Where the master puts a knob."""
        travel = self.travel(knob)
        return nearest(travel.start + Fraction((travel.end - travel.start) * master, self.top))

    def through(self, route: Route, position: int) -> int:
        """The position that what a route leads to takes, the knob standing at one."""
        if self.on_routes:
            travel = self.led(route)
            way = Fraction((travel.end - travel.start) * position, self.top)
            position = nearest(travel.start + way)
        return self.taken(route.destination, position)

    def taken(self, full: str, position: int) -> int:
        """The position that a destination takes on its way."""
        inner = self.find(full)
        assert inner is not None
        if inner.steps is None or inner.steps >= self.top + 1:
            return position
        step = floor(Fraction(position * inner.steps, self.top + 1))
        return nearest(Fraction(step * self.top, inner.steps - 1))

    def supposed(self, knob: str) -> int:
        """Where a knob is shown of which no one knows: the start, for a level the lower end."""
        travel = self.travel(knob)
        levels = [
            self.led(route)
            for route in self.routes()
            if route.knob == knob
            and (inner := self.find(route.destination))
            and inner.kind == "level"
        ]
        if not self.on_routes:
            return min(travel.start, travel.end) if levels else travel.start
        at_bottom = max((each.start for each in levels), default=0)
        at_top = max((each.end for each in levels), default=0)
        return self.top if at_top < at_bottom else 0


@attrs.define
class Played:
    """An instrument while it is played: recall a snapshot, move the master, and see where it is.

    An instrument puts every knob somewhere at a recall. What it has stored and the setup does not
    say is its own memory.

    Args:
        plain: the setup.
        memory: where each knob goes in each snapshot that does not say where.
        positions: where each knob stands.
        snapshot: the one in force; None: none yet, and nothing follows.
        master: where the master stands.
    """

    plain: Plain
    memory: Callable[[str, str], int]
    positions: dict[str, int]
    snapshot: str | None = None
    master: int = 0

    def recall(self, snapshot: str) -> None:
        """Recall a snapshot: what is held goes where it is stored, the rest to the master."""
        self.snapshot = snapshot
        for knob in self.positions:
            stored = self.plain.stands(snapshot, knob)
            self.positions[knob] = self.memory(snapshot, knob) if stored is None else stored
        self.move(self.master)

    def turn(self, places: dict[str, int]) -> None:
        """Turn knobs that are held by hand."""
        self.positions |= places
        self.move(self.master)

    def move(self, master: int) -> None:
        """Move the master, and what follows it."""
        self.master = master
        for knob in self.positions:
            if self.snapshot is not None and self.plain.following(self.snapshot, knob):
                self.positions[knob] = self.plain.put(knob, master)

    def taken(self) -> list[int]:
        """What each route gives, in positions."""
        return [
            self.plain.through(route, self.positions[route.knob]) for route in self.plain.routes()
        ]


def played(setup: Setup, memory: Callable[[str, str], int] | None = None) -> Played:
    """An instrument before anything was recalled, the master at its bottom.

    Without a memory of its own it holds a knob where the package shows it.
    """
    plain = Plain(setup)
    return Played(
        plain,
        memory or (lambda _, knob: plain.supposed(knob)),
        {knob.name: 0 for knob in setup.surface.knobs},
    )
