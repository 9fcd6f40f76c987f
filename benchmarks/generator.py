"""Seeded requests of five sizes, plain, tight and varied, with the distributions they come from.

*Plain* requests are those of :func:`benchmarks.requests.sized`: families that move in different
sets of snapshots, voices of about six destinations from sources of two to three voices, kinds as
common as they are in practice, priorities, travels, bundles, groups, kept routes of a base, a few
rules, sometimes a limit of destinations on a knob. Its docstring gives every distribution.

*Tight* requests are plain ones with seven families to five knobs, so that the knobs cannot go
round: something is left out, or a snapshot broken that may be.

*Varied* requests are plain ones with more asked of them. What is added never makes a request
impossible by itself: most of it is preferred, and the rest leaves room. For ``n`` destinations:

* **Pairs.** A price of its own, 50 to 400 points, for each of ``n / 8`` pairs of one family that
  end on one knob.
* **Together.** ``n / 16`` pairs of one family are preferred on one knob, 50 to 400 points.
* **Barred.** ``n / 8`` destinations are rather not on one to three knobs, 20 to 200 points, and
  ``n / 32`` must not be on an eighth of the knobs.
* **Fixed.** ``n / 16`` destinations are rather on a knob, 20 to 200 points.
* **Breakable.** Two snapshots in five may be broken, 20 to 60 points; the first never.
* **Previous.** One request in three has a layout from before: each family's destinations were
  dealt to knobs of its own in turn, and a fifth of them are new since then. Each knob had the
  travel that the first on it wants.
* **Must be placed.** In one request in four everything essential must be placed.
* **Reserved.** In one request in four a knob that keeps no route takes none.
* **Routes.** One request in eight has room for fewer routes than destinations: 85 to 95 in a
  hundred.

All chance comes from seeded ``random.Random``: the same seed and size give the same request on
every machine. The distributions are chosen to be plausible (common practice, no source).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping

import attrs

from benchmarks.requests import sized
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Fixed,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Together,
    Voice,
)
from knobpack.words.rules import member_lists

SIZES: Mapping[int, int] = {8: 24, 16: 70, 32: 140, 64: 320, 128: 1000}
"""Knobs, and the destinations of a request of that size."""


def destinations_for(knobs: int) -> int:
    """How many destinations a request of so many knobs has; 35 to 8 knobs where no size is set."""
    return SIZES.get(knobs, round(knobs * 35 / 8))


def plain(seed: int, knobs: int) -> Request:
    """The plain request of a size.

    Args:
        seed: any whole number.
        knobs: 2 or more.
    """
    return sized(seed, knobs, destinations_for(knobs))


def tight(seed: int, knobs: int) -> Request:
    """A request of a size with more families than knobs.

    Args:
        seed: any whole number.
        knobs: 5 or more.
    """
    return sized(seed, knobs, destinations_for(knobs), families=round(1.4 * knobs))


def varied(seed: int, knobs: int) -> Request:
    """The plain request of a size with more asked of it, as the module says.

    Args:
        seed: any whole number.
        knobs: 4 or more.
    """
    draw = random.Random(1_000_003 * seed + knobs)  # noqa: S311 (no secret)
    return _Variety(draw, plain(seed, knobs)).request()


KINDS: Mapping[str, Callable[[int, int], Request]] = {
    "plain": plain,
    "tight": tight,
    "varied": varied,
}
"""The kinds of request, each made from a seed and a number of knobs."""


@attrs.define
class _Variety:
    """Draws what is added to a request.

    Args:
        draw: where chance comes from.
        base: the plain request.
    """

    draw: random.Random
    base: Request

    def request(self) -> Request:
        snapshots = self.snapshots()
        previous = self.previous() if self.draw.randint(1, 3) == 1 else None
        rules = (*self.base.rules, *self.rules())
        varied = attrs.evolve(self.base, snapshots=snapshots, previous=previous, rules=rules)
        if self.draw.randint(1, 4) == 1:
            varied = attrs.evolve(varied, voices=tuple(map(_essential, varied.voices)))
        return self.limited(varied)

    def families(self) -> list[list[str]]:
        """The full names of what moves in the same snapshots, two or more of them."""
        moved = [self.base.moved(snapshot) for snapshot in self.base.played]
        found: dict[tuple[bool, ...], list[str]] = {}
        for name in self.base.by_full_name:
            found.setdefault(tuple(name in each for each in moved), []).append(name)
        return [names for names in found.values() if len(names) > 1]

    def rules(self) -> list[Rule]:
        draw, count = self.draw, len(self.base.by_full_name)
        families = self.families()
        found: list[Rule] = []
        for _ in range(count // 8 if families else 0):
            one, other = draw.sample(draw.choice(families), 2)
            found.append(Apart((one,), (other,), draw.randint(50, 400)))
        for _ in range(count // 16 if families else 0):
            pair = draw.sample(draw.choice(families), 2)
            found.append(Together(tuple(pair), draw.randint(50, 400)))
        return found + self.places()

    def places(self) -> list[Rule]:
        draw, count = self.draw, len(self.base.by_full_name)
        knobs = self.base.surface.knob_names
        # What a required rule or the base holds to a place is not barred from it as well.
        held = set(self.base.named(_named_by_required(self.base)))
        held |= {route.destination for route in self.base.keep.routes}
        loose = [name for name in self.base.by_full_name if name not in held]

        def some(parts: int) -> list[str]:
            return draw.sample(loose, min(len(loose), count // parts))

        def off(most: int) -> tuple[str, ...]:
            return tuple(draw.sample(knobs, min(len(knobs), most)))

        rather = [Barred((n,), off(draw.randint(1, 3)), draw.randint(20, 200)) for n in some(8)]
        never = [Barred((name,), off(max(1, len(knobs) // 8))) for name in some(32)]
        fixed = [Fixed((n,), draw.choice(knobs), draw.randint(20, 200)) for n in some(16)]
        return [*rather, *never, *fixed]

    def snapshots(self) -> tuple[Snapshot, ...]:
        first, *others = self.base.played
        return (
            first,
            *(
                attrs.evolve(each, break_weight=self.draw.randint(20, 60))
                if self.draw.randint(1, 5) <= 2
                else each
                for each in others
            ),
        )

    def previous(self) -> Layout:
        knobs = list(self.base.surface.knob_names)
        families = self.families()
        routes = []
        for position, family in enumerate(families):
            own = knobs[position :: len(families)] or knobs[-1:]
            old = [name for name in family if self.draw.randint(1, 5) > 1]
            routes += [Route(name, own[at % len(own)]) for at, name in enumerate(old)]
        first = {route.knob: route.destination for route in reversed(routes)}
        travels = (KnobTravel(knob, self.base.wanted(name)) for knob, name in first.items())
        return Layout(tuple(routes), tuple(travels))

    def limited(self, request: Request) -> Request:
        draw, surface = self.draw, request.surface
        if draw.randint(1, 4) == 1:
            used = {route.knob for route in request.keep.routes}
            used |= {rule.knob for rule in request.rules if isinstance(rule, Fixed)}
            free = [knob for knob in surface.knob_names if knob not in used]
            surface = attrs.evolve(surface, reserved=tuple(draw.sample(free, min(1, len(free)))))
        if draw.randint(1, 8) == 1:
            most = len(request.by_full_name) * draw.randint(85, 95) // 100
            surface = attrs.evolve(surface, routes=most)
        return attrs.evolve(request, surface=surface)


def _named_by_required(request: Request) -> list[str]:
    """Every name that a required rule holds."""
    found: list[str] = []
    for rule in request.rules:
        if rule.weight is None:
            found += [name for side in member_lists(rule).values() for name in side]
    return found


def _essential(voice: Voice) -> Voice:
    def firm(each: Destination) -> Destination:
        return attrs.evolve(each, must_place=True) if each.priority == 1 else each

    return attrs.evolve(voice, destinations=tuple(map(firm, voice.destinations)))
