"""Seeded requests as a player would make them, small and large.

All chance comes from ``random.Random(seed)``: the same seed gives the same request on every
machine. The distributions are chosen to be plausible (common practice, no source).

* **Families.** In a first snapshot everything moves. Each family also moves in some of the others,
  each family in a different set of them. There are three to five snapshots, or as many as it takes
  to tell the families apart. One request in eight has one or two destinations that the master
  must not move: a family more. Of those with at most 16 knobs, one in eight lets its last snapshot
  be broken, which lets families share.
* **Voices and sources.** About six destinations to a voice, all in one family; two to three voices
  to a source.
* **Destinations.** Kinds differ within a voice; the common ones (level, cutoff) come more often
  (:data:`benchmarks.names.KINDS`). Priority 1 to 5: 15, 25, 30, 20 and 10 in a hundred.
* **Bundles.** In its source each knob carried one to three destinations of one voice; one knob in
  six carried some of another voice of the same source too. One destination in five had no knob.
  The knobs of a source lie in the order in which they are first named.
* **Travels.** The destinations of a bundle want the same travel: full 55, half (lower or upper)
  20, reversed 12, any other 13 in a hundred.
* **Base.** Half of all requests keep one or two routes of a base voice, each on a knob of its own,
  two in three of them with the travel that was wanted there.
* **Rules.** One to three, or up to a third of the families: two destinations apart, together, one
  alone, on a knob or off it. One in three is required, but only while there are knobs to spare
  for it. No destination is in two rules.
* **Surface.** Rows of at most eight knobs. The first knobs are favoured; two knobs in five have a
  usual kind. One request in three limits the destinations on a knob, to six or twice the mean.
"""

from __future__ import annotations

import math
import random
from itertools import cycle

import attrs

from benchmarks import names
from benchmarks.rules import draw_rules
from knobpack.words import (
    Destination,
    Group,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Travel,
    Voice,
)

Sizes = list[list[int]]
"""For each family, the destinations of each of its voices."""


def eight_knobs(seed: int) -> Request:
    """8 knobs; 4 to 6 voices; 16 to 24 destinations in 3 to 6 families.

    The voices come from 2 to 4 sources, and in half of all requests one is the base's.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    voices = draw.randint(4, 6)
    families = draw.randint(3, voices)
    shares = _shares(draw, draw.randint(16, 24), voices, most=7)
    sizes: Sizes = [[share] for share in shares[:families]]
    for share in shares[families:]:
        min(sizes, key=sum).append(share)
    return _Maker(draw, 8, sizes, sources=draw.randint(2, 4)).request()


def sized(seed: int, knobs: int, destinations: int, families: int | None = None) -> Request:
    """A request of any size.

    Args:
        seed: any whole number.
        knobs: 1 or more.
        destinations: as many as families, or more.
        families: how many families there are, besides what is not movable; None: one for each
            two and a half knobs. None is more than half as large again as the mean.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    if families is None:
        families = max(1, min(round(knobs / 2.5), destinations))
    most = max(2, math.ceil(1.5 * destinations / families))
    shares = _shares(draw, destinations, families, most)
    kinds = len(names.KINDS)
    sizes = [_shares(draw, share, max(1, round(share / 6)), most=kinds) for share in shares]
    voices = sum(len(family) for family in sizes)
    return _Maker(draw, knobs, sizes, sources=max(1, round(voices / 2.5))).request()


def _shares(draw: random.Random, whole: int, parts: int, most: int) -> list[int]:
    """``whole`` cut into parts of 1 to ``most``, at random but roughly equal."""
    weights = [draw.randint(60, 140) for _ in range(parts)]
    shares = [1] * parts
    for _ in range(whole - parts):
        room = [part for part in range(parts) if shares[part] < most]
        shares[min(room, key=lambda part: (shares[part] * 100 // weights[part], part))] += 1
    return shares


@attrs.define
class _Maker:
    """One request in the making: what is drawn later looks at what was drawn before.

    Args:
        draw: where chance comes from.
        knobs: how many there are.
        sizes: how large each family and voice is.
        sources: how many setups the voices come from, the base's not counted.
    """

    draw: random.Random
    knobs: int
    sizes: Sizes
    sources: int
    top: int = 127
    spare: int = 0

    def request(self) -> Request:
        draw = self.draw
        surface = self.surface()
        self.top = surface.top
        families = self.families()
        voices = tuple(voice for family in families for voice in family)
        # A knob is to spare when each family has one and none need share for it.
        self.spare = self.knobs - len(families) - 1
        keep = self.keep(surface, voices[0]) if draw.randint(0, 1) else Layout()
        if keep.routes:
            voices = (attrs.evolve(voices[0], source=None, layer=1), *voices[1:])
            families[0][0] = voices[0]
        return Request(
            surface=surface,
            voices=voices,
            groups=self.groups(families),
            snapshots=self.snapshots(families),
            rules=draw_rules(draw, families, surface.knob_names, keep, self.spare),
            keep=keep,
        )

    def surface(self) -> Surface:
        draw, count = self.draw, self.knobs
        kinds = [kind for kind, _ in names.KINDS[:8]]
        knobs = []
        for index in range(count):
            usual = (draw.choice(kinds),) if draw.randint(1, 5) <= 2 else ()
            knobs.append(Knob(f"K{index + 1}", 1 + index // 8, 1 + index % 8, usual))
        mean = sum(map(sum, self.sizes)) / count
        return Surface(
            tuple(knobs),
            bits=draw.choice((7, 7, 7, 14)),
            favoured=tuple(knob.name for knob in knobs[: draw.randint(0, max(1, count // 4))]),
            destinations_per_knob=max(6, math.ceil(2 * mean)) if draw.randint(1, 3) == 1 else None,
        )

    # Voices

    def families(self) -> list[list[Voice]]:
        """The voices of each family, each from a source, with what its knobs carried there."""
        draw = self.draw
        called, sources = names.numbered(names.VOICES), names.numbered(names.SOURCES)
        places = [next(sources) for _ in range(self.sources)]
        carried: dict[str, list[Travel]] = {source: [] for source in places}
        layers = dict.fromkeys(places, 0)
        # Each source gives a voice before one gives two.
        dealt = cycle(draw.sample(places, len(places)))
        families = []
        for sizes in self.sizes:
            family = []
            for size in sizes:
                source = next(dealt)
                layers[source] += 1
                inner = self.destinations(size, carried[source])
                family.append(Voice(next(called), inner, layers[source], source))
            families.append(family)
        if draw.randint(1, 8) == 1:
            self.hold_some(families)
        return families

    def destinations(self, size: int, carried: list[Travel]) -> tuple[Destination, ...]:
        """Those of one voice. ``carried``: the travel of each knob used in the source so far."""
        draw = self.draw
        kinds: list[str] = []
        while len(kinds) < size:
            left = [(kind, often) for kind, often in names.KINDS if kind not in kinds]
            kinds += draw.choices([kind for kind, _ in left], [often for _, often in left])
        found: list[Destination] = []
        before = len(carried)
        while len(found) < size:
            bundle = kinds[len(found) : len(found) + draw.randint(1, 3)]
            place, travel = None, self.travel()
            if draw.randint(1, 5) > 1:
                position = len(carried)
                if before and draw.randint(1, 6) == 1:
                    position = draw.randrange(before)
                    travel = carried[position]
                else:
                    carried.append(travel)
                place = position + 1
            for kind in bundle:
                priority = draw.choices((1, 2, 3, 4, 5), (15, 25, 30, 20, 10))[0]
                wanted = None if travel == Travel(0, self.top) else travel
                knob = f"S{place}" if place else None
                found.append(Destination(kind, kind, priority, wanted, knob, place))
        return tuple(found)

    def travel(self) -> Travel:
        draw, top = self.draw, self.top
        chance = draw.randint(1, 100)
        if chance <= 55:
            return Travel(0, top)
        if chance <= 65:
            return Travel(0, top // 2)
        if chance <= 75:
            return Travel(top // 2 + 1, top)
        if chance <= 87:
            return Travel(top, 0)
        return Travel(draw.randint(0, top), draw.randint(0, top))

    def hold_some(self, families: list[list[Voice]]) -> None:
        """Make one or two destinations of a voice such that the master must not move them."""
        family = self.draw.choice(families)
        first, *others = family[-1].destinations
        count = self.draw.randint(0, 1)
        held = [attrs.evolve(each, movable=False) for each in (first, *others[:count])]
        family[-1] = attrs.evolve(family[-1], destinations=(*held, *others[count:]))

    # What is asked

    def keep(self, surface: Surface, base: Voice) -> Layout:
        """One or two routes of the base voice, on knobs of their own."""
        draw = self.draw
        count = min(draw.randint(1, 2), len(base.destinations), max(1, self.spare))
        self.spare -= count - 1
        knobs = draw.sample(surface.knob_names, min(count, self.knobs))
        kept = list(zip(draw.sample(base.destinations, count), knobs, strict=False))
        travels = tuple(
            KnobTravel(knob, each.travel or Travel(0, self.top))
            for each, knob in kept
            if draw.randint(1, 3) <= 2
        )
        return Layout(tuple(Route(base.full_name(each), knob) for each, knob in kept), travels)

    def groups(self, families: list[list[Voice]]) -> tuple[Group, ...]:
        """One or two groups, or one for four families: each the voices of one or two families."""
        called = names.numbered(names.GROUPS)
        groups = []
        for _ in range(max(self.draw.randint(1, 2), len(families) // 4)):
            some = self.draw.sample(families, min(len(families), self.draw.randint(1, 2)))
            members = tuple(voice.name for family in some for voice in family)
            groups.append(Group(next(called), members))
        return tuple(groups)

    def snapshots(self, families: list[list[Voice]]) -> tuple[Snapshot, ...]:
        draw = self.draw
        others = max(draw.randint(2, 4), math.ceil(math.log2(len(families) + 1)))
        # Each family's movement is a different set of snapshots, written as bits.
        movements = draw.sample(range(1, 2**others), len(families))
        called = names.numbered(names.SNAPSHOTS)
        everything = tuple(voice.name for family in families for voice in family)
        found = [Snapshot("Everything", everything)]
        for bit in range(others):
            moving = [
                f for f, movement in zip(families, movements, strict=True) if movement >> bit & 1
            ]
            if moving:
                moves = tuple(voice.name for family in moving for voice in family)
                found.append(Snapshot(next(called), moves))
        if self.knobs <= 16 and draw.randint(1, 8) == 1:
            found[-1] = attrs.evolve(found[-1], break_weight=draw.randint(20, 60))
        return tuple(found)
