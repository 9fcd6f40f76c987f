"""Effects: what each demand asks of knobs and destinations, in bit masks.

A mask is a whole number whose bit ``i`` stands for destination (or knob) number ``i`` of the
request.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import attrs

from knobpack.words import Request, Route, Rule
from knobpack.words import demand as demands
from knobpack.words.demand import Demand


@attrs.frozen
class Effect:
    """What one demand asks.

    Args:
        placed: destinations that must be placed.
        joined: destinations that are all on one knob, or none of them placed.
        split: pairs of masks; no destination of the one shares a knob with another of the other.
        limits: pairs of destinations and knobs; if placed, these are on one of those.
    """

    placed: int = 0
    joined: int = 0
    split: tuple[tuple[int, int], ...] = ()
    limits: tuple[tuple[int, int], ...] = ()

    def touches(self, destinations: int) -> bool:
        """Whether it asks anything of a layout that places just these destinations."""
        return bool(
            destinations & (self.placed | self.joined)
            or any(destinations & a and destinations & b for a, b in self.split)
            or any(destinations & limited for limited, _ in self.limits)
        )


class Effects:
    """A request's destinations and knobs, numbered, and the effect of each of its demands.

    Args:
        request: what is asked.

    Attributes:
        names: the full names of the destinations, in order.
        knobs: the names of the knobs, in panel order.
        every_knob: the mask of all knobs.
        of: the effect of every demand; limits of the surface and layers have none here.
    """

    def __init__(self, request: Request) -> None:
        self.names, self.knobs = tuple(request.destinations), request.surface.knob_names
        self.every_knob = (1 << len(self.knobs)) - 1
        self._request = request
        self._bit = {name: 1 << place for place, name in enumerate(self.names)}
        self._knob_bit = {name: 1 << place for place, name in enumerate(self.knobs)}
        self._rules = {each.rule: each for each in request.required}
        self.of = {demand: self._effect(demand) for demand in demands.demands_of(request)}

    def _effect(self, demand: Demand) -> Effect:
        match demand.kind, demand.subject:
            case demands.PLACE, str(name):
                return Effect(placed=self._bit[name])
            case demands.KEEP, Route(destination=name, knob=knob):
                return self._pinned(self._bit[name], knob)
            case demands.RULE, rule:
                return self._rule(rule)
            case demands.SEPARATE, str(name):
                return self._separate(name)
            case demands.RESERVED, str(knob):
                return self._reserved(knob)
        return Effect()

    def _rule(self, rule: Rule) -> Effect:
        effect = self._rules[rule]
        inside, limited = self._named(effect.alone), self._named(effect.limited)
        split = [tuple(map(self._named, effect.parted))] if effect.parted else []
        split += [(inside, self._others(inside))] if inside else []
        shut = sum(self._knob_bit[knob] for knob in effect.off)
        return Effect(
            placed=limited if effect.on else 0,
            joined=self._named(effect.joined),
            split=tuple((one, other) for one, other in split),
            limits=((limited, self.every_knob & ~shut),) if limited else (),
        )

    def _separate(self, name: str) -> Effect:
        snapshot = next(each for each in self._request.played if each.name == name)
        moved = sum(self._bit[full] for full in self._request.moved(snapshot))
        held = self._others(moved)
        # What shares a knob in a layout in use may go on doing so: it is parted from all else.
        joined = [own for own in self._joined if own & moved and own & held]
        single = moved & ~sum(joined)
        split = [(single, held)] if single else []
        return Effect(split=(*split, *((own & moved, held & ~own) for own in joined)))

    @cached_property
    def _joined(self) -> tuple[int, ...]:
        """What each knob drives in a layout in use, less what its edit names."""
        use = self._request.use
        found: dict[str, int] = {}
        for name, knob in use.knob_of.items() if use else ():
            if use and name not in use.edited:
                found[knob] = found.get(knob, 0) | self._bit[name]
        return tuple(found.values())

    def _reserved(self, knob: str) -> Effect:
        kept = sum(self._bit[r.destination] for r in self._request.keep.routes if r.knob == knob)
        return Effect(limits=((self._others(kept), self.every_knob & ~self._knob_bit[knob]),))

    def _pinned(self, destinations: int, knob: str) -> Effect:
        return Effect(placed=destinations, limits=((destinations, self._knob_bit[knob]),))

    def _named(self, names: Iterable[str]) -> int:
        return sum(self._bit[full] for full in names)

    def _others(self, destinations: int) -> int:
        return ((1 << len(self._bit)) - 1) & ~destinations
