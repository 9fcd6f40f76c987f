"""Seeded requests of kinds that a player seldom makes, each hard in a way of its own.

Those of :mod:`benchmarks.generator` are like a player's: small families, few of them to a knob.
Here each kind takes one thing to where that no longer holds. All chance comes from
``random.Random``: the same seed gives the same request on every machine. Sizes are drawn evenly
between the ends given.

* **breakable**: 20 to 160 destinations on 6 to 16 knobs; 6 to 12 snapshots, all of them breakable
  at 1 to 3 points, each of which moves a third to a half of all, so that there are many more sorts
  of destinations than knobs.
* **routes**: 20 to 144 destinations on 5 to 32 knobs; room for 60 to 90 in a hundred of them, and
  no knob carries more than one above the mean.
* **family**: 60 to 200 destinations on 16 to 64 knobs in one snapshot: all may share with all.
* **alike**: ten voices of 4 to 8 destinations, the same in all ten, on 8 to 24 knobs.
* **ruled**: 24 to 60 destinations on 8 to 16 knobs under 40 to 100 rules of all sorts, three in
  four of them required, all met by a layout that was drawn first.
* **planted**: 15 to 60 destinations on 4 to 12 knobs, all of which must be placed, with required
  apart and barred rules that leave a layout that was drawn first and little else.
* **snapshots**: 40 to 80 destinations on 8 to 16 knobs; 100 snapshots, two in three breakable.
* **voices**: 8 voices of 8 to 30 destinations on 8 to 32 knobs, with the default snapshots.
* **huge**: 2,000 destinations on 256 knobs (even seeds), or 5,000 on 512.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import islice

import attrs

from benchmarks import names
from benchmarks.requests import sized
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Request,
    Rule,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
)

TOP = 127
"""The highest position of the surfaces here: 7 bits."""


def breakable(seed: int) -> Request:
    """All snapshots breakable, and fewer knobs than sorts of destinations."""
    draw = _chance("breakable", seed)
    voices = _voices(draw, draw.randint(20, 160))
    moves = _moves(draw, _full_names(voices), draw.randint(6, 12))
    snapshots = (Snapshot(f"S{at}", own, draw.randint(1, 3)) for at, own in enumerate(moves))
    return Request(Surface.row(draw.randint(6, 16)), voices, snapshots=tuple(snapshots))


def routes(seed: int) -> Request:
    """A limit on routes and one on each knob, both of which bind."""
    draw = _chance("routes", seed)
    count = draw.randint(20, 144)
    knobs = max(5, min(32, round(count / draw.uniform(3, 5))))
    room = count * draw.randint(60, 90) // 100
    surface = Surface.row(knobs, routes=room, destinations_per_knob=-(-room // knobs) + 1)
    voices = _voices(draw, count)
    everything = Snapshot("Everything", tuple(voice.name for voice in voices))
    some = _moves(draw, [voice.name for voice in voices], 2)
    more = (Snapshot(f"S{at}", own) for at, own in enumerate(some))
    return Request(surface, voices, snapshots=(everything, *more))


def family(seed: int) -> Request:
    """One family: all may share with all."""
    draw = _chance("family", seed)
    voices = _voices(draw, draw.randint(60, 200))
    everything = Snapshot("Everything", tuple(voice.name for voice in voices))
    return Request(Surface.row(draw.randint(16, 64)), voices, snapshots=(everything,))


def alike(seed: int) -> Request:
    """Ten voices that differ in name alone."""
    draw = _chance("alike", seed)
    (one,) = _voices(draw, draw.randint(4, 8), each=8)
    names_of_ten = islice(names.numbered(names.VOICES), 10)
    voices = tuple(attrs.evolve(one, name=name, source=name) for name in names_of_ten)
    everything = Snapshot("Everything", tuple(voice.name for voice in voices))
    return Request(Surface.row(draw.randint(8, 24)), voices, snapshots=(everything,))


def ruled(seed: int) -> Request:
    """Many rules of all sorts, most of them required, that a layout drawn first meets."""
    draw = _chance("ruled", seed)
    voices = _voices(draw, draw.randint(24, 60))
    plan = _Plan.drawn(draw, _full_names(voices), draw.randint(8, 16))
    rules = tuple(islice(plan.rules(), draw.randint(40, 100)))
    everything = Snapshot("Everything", tuple(voice.name for voice in voices))
    return Request(Surface.row(plan.knobs), voices, snapshots=(everything,), rules=rules)


def planted(seed: int) -> Request:
    """Everything must be placed, and rules leave little but a layout that was drawn first."""
    draw = _chance("planted", seed)
    count = draw.randint(15, 60)
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(attrs.evolve(each, must_place=True) for each in voice.destinations),
        )
        for voice in _voices(draw, count)
    )
    plan = _Plan.drawn(draw, _full_names(voices), max(4, min(12, count // draw.randint(4, 7))))
    often = draw.uniform(0.3, 0.7)
    parted = (
        Apart((one,), (other,))
        for at, one in enumerate(plan.names)
        for other in plan.names[:at]
        if plan.knob_of[one] != plan.knob_of[other] and draw.random() < often
    )
    barred = (plan.barred(name) for name in plan.names if draw.random() < 0.5)
    everything = Snapshot("Everything", tuple(voice.name for voice in voices))
    rules: tuple[Rule, ...] = (*parted, *barred)
    return Request(Surface.row(plan.knobs), voices, snapshots=(everything,), rules=rules)


def snapshots(seed: int) -> Request:
    """A hundred snapshots, firm and breakable."""
    draw = _chance("snapshots", seed)
    voices = _voices(draw, draw.randint(40, 80))
    firm = [f"{voice.name}/{each.name}" for voice in voices for each in voice.destinations]
    # What is firm tells whole voices apart, of which there are few; what may be broken, all.
    sides = _moves(draw, [voice.name for voice in voices], 2)
    moves = _moves(draw, firm, 100)
    played = tuple(
        Snapshot(f"S{at}", own, draw.randint(1, 3))
        if at % 3
        else Snapshot(f"S{at}", sides[at % len(sides)])
        for at, own in enumerate(moves)
    )
    return Request(Surface.row(draw.randint(8, 16)), voices, snapshots=played)


def voices(seed: int) -> Request:
    """Eight voices, each moved alone by a snapshot."""
    draw = _chance("voices", seed)
    found: list[Voice] = []
    for name in names.VOICES[:8]:
        (one,) = _voices(draw, draw.randint(8, 30), each=30)
        found.append(attrs.evolve(one, name=name, source=draw.choice(names.SOURCES)))
    return Request(Surface.grid(draw.randint(1, 4), 8), tuple(found))


def huge(seed: int) -> Request:
    """Thousands of destinations, otherwise as a player's."""
    knobs, count = ((256, 2_000), (512, 5_000))[seed % 2]
    return sized(seed, knobs, count)


FOREIGN: Mapping[str, Callable[[int], Request]] = {
    each.__name__: each
    for each in (
        *(breakable, routes, family, alike, ruled, planted),
        *(snapshots, voices, huge),
    )
}
"""The kinds of request, each made from a seed."""


def _chance(kind: str, seed: int) -> random.Random:
    return random.Random(f"{kind} {seed}")  # noqa: S311 (no secret)


def _voices(draw: random.Random, count: int, each: int = 9) -> tuple[Voice, ...]:
    """Voices of 3 to ``each`` destinations, so many in all; one in two has a source knob."""
    kinds, often = zip(*names.KINDS, strict=True)
    sizes: list[int] = []
    while (left := count - sum(sizes)) > 0:
        sizes.append(left if left <= each else draw.randint(3, min(each, left)))
    found = []
    for name, size in zip(names.numbered(names.VOICES), sizes, strict=False):
        inner = (
            Destination(
                f"d{at}",
                kind=draw.choices(kinds, often)[0],
                priority=draw.choices((1, 2, 3, 4, 5), (15, 25, 30, 20, 10))[0],
                travel=_travel(draw),
                source_knob=f"K{draw.randint(1, size)}" if draw.random() < 0.5 else None,
            )
            for at in range(size)
        )
        found.append(Voice(name, tuple(inner), source=f"Setup of {name}"))
    return tuple(found)


def _travel(draw: random.Random) -> Travel | None:
    shape = draw.random()
    if shape < 0.6:
        return None
    if shape < 0.85:
        return draw.choice((Travel(0, TOP // 2), Travel(TOP // 2, TOP), Travel(TOP, 0)))
    return Travel(draw.randint(0, TOP), draw.randint(0, TOP))


def _full_names(voices: Sequence[Voice]) -> list[str]:
    return [voice.full_name(each) for voice in voices for each in voice.destinations]


def _moves(draw: random.Random, members: Sequence[str], count: int) -> list[tuple[str, ...]]:
    """What each of so many snapshots moves: between a third and half of the members."""
    least, most = len(members) // 3, max(1, len(members) // 2)
    return [tuple(draw.sample(members, draw.randint(least, most))) for _ in range(count)]


@attrs.frozen
class _Plan:
    """A layout that was drawn, and what holds in it.

    Args:
        draw: where chance comes from.
        names: of the destinations, in full.
        knobs: how many knobs there are.
        knob_of: the knob of each destination, counted from 1.
    """

    draw: random.Random
    names: Sequence[str]
    knobs: int
    knob_of: Mapping[str, int]

    @classmethod
    def drawn(cls, draw: random.Random, members: Sequence[str], knobs: int) -> _Plan:
        """A layout in which all is placed at random."""
        return cls(draw, members, knobs, {name: draw.randint(1, knobs) for name in members})

    def barred(self, name: str) -> Barred:
        """A required rule that bars a destination from up to half of the other knobs."""
        others = [f"K{at}" for at in range(1, self.knobs + 1) if at != self.knob_of[name]]
        return Barred(
            (name,), tuple(self.draw.sample(others, self.draw.randint(1, self.knobs // 2)))
        )

    def rules(self) -> Iterator[Rule]:
        """Rules without end, of all sorts, all of them met."""
        draw = self.draw
        while True:
            one, other = draw.sample(self.names, 2)
            weight = None if draw.random() < 0.75 else draw.randint(20, 400)
            mates = [each for each in self.names if self.knob_of[each] == self.knob_of[one]]
            sort = draw.random()
            if sort < 0.45 and self.knob_of[one] != self.knob_of[other]:
                yield Apart((one,), (other,), weight)
            elif 0.45 <= sort < 0.6 and len(mates) > 1:
                yield Together(tuple(draw.sample(mates, 2)), weight)
            elif 0.6 <= sort < 0.9:
                yield attrs.evolve(self.barred(one), weight=weight)
            elif 0.9 <= sort < 0.95:
                yield Alone(tuple(mates), weight)
            elif sort >= 0.95:
                yield Fixed((one,), f"K{self.knob_of[one]}", weight)
