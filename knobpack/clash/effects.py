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
from knobpack.words.rule_effects import RuleEffect


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


@attrs.frozen
class Effects:
    """A request's destinations and knobs, numbered, and the effect of each of its demands.

    Args:
        names: the full names of the destinations, in order.
        knobs: the names of the knobs, in panel order.
        of: the effect of every demand; limits of the surface and layers have none here.
    """

    names: tuple[str, ...]
    knobs: tuple[str, ...]
    of: dict[Demand, Effect]

    @classmethod
    def read(cls, request: Request) -> Effects:
        """Number everything in ``request`` and read its demands."""
        names, knobs = tuple(request.destinations), request.surface.knob_names
        reader = _Reader(
            request,
            {name: 1 << place for place, name in enumerate(names)},
            {name: 1 << place for place, name in enumerate(knobs)},
        )
        of = {demand: reader.effect(demand) for demand in demands.demands_of(request)}
        return cls(names, knobs, of)

    @property
    def every_knob(self) -> int:
        """The mask of all knobs."""
        return (1 << len(self.knobs)) - 1


@attrs.frozen
class _Reader:
    request: Request
    bit: dict[str, int]
    knob_bit: dict[str, int]

    def effect(self, demand: Demand) -> Effect:
        match demand.kind, demand.subject:
            case demands.PLACE, str(name):
                return Effect(placed=self.bit[name])
            case demands.KEEP, Route(destination=name, knob=knob):
                return self._pinned(self.bit[name], knob)
            case demands.RULE, rule:
                return self._rule(rule)
            case demands.SEPARATE, str(name):
                return self._separate(name)
            case demands.RESERVED, str(knob):
                return self._reserved(knob)
        return Effect()

    def _rule(self, rule: Rule) -> Effect:
        effect = self._effects[rule]
        inside, limited = self._named(effect.alone), self._named(effect.limited)
        split = [tuple(map(self._named, effect.parted))] if effect.parted else []
        split += [(inside, self._others(inside))] if inside else []
        shut = sum(self.knob_bit[knob] for knob in effect.off)
        return Effect(
            placed=limited if effect.on else 0,
            joined=self._named(effect.joined),
            split=tuple((one, other) for one, other in split),
            limits=((limited, self._every_knob & ~shut),) if limited else (),
        )

    def _separate(self, name: str) -> Effect:
        snapshot = next(each for each in self.request.played if each.name == name)
        moved = sum(self.bit[full] for full in self.request.moved(snapshot))
        held = self._others(moved)
        # What shares a knob in a layout in use may go on doing so: it is parted from all else.
        joined = [own for own in self._joined if own & moved and own & held]
        single = moved & ~sum(joined)
        split = [(single, held)] if single else []
        return Effect(split=(*split, *((own & moved, held & ~own) for own in joined)))

    @cached_property
    def _effects(self) -> dict[Rule, RuleEffect]:
        return {each.rule: each for each in self.request.required}

    @cached_property
    def _joined(self) -> tuple[int, ...]:
        """What each knob drives in a layout in use, less what its edit names."""
        use = self.request.use
        found: dict[str, int] = {}
        for name, knob in use.knob_of.items() if use else ():
            if use and name not in use.edited:
                found[knob] = found.get(knob, 0) | self.bit[name]
        return tuple(found.values())

    def _reserved(self, knob: str) -> Effect:
        kept = sum(self.bit[r.destination] for r in self.request.keep.routes if r.knob == knob)
        return Effect(limits=((self._others(kept), self._every_knob & ~self.knob_bit[knob]),))

    def _pinned(self, destinations: int, knob: str) -> Effect:
        return Effect(placed=destinations, limits=((destinations, self.knob_bit[knob]),))

    def _named(self, names: Iterable[str]) -> int:
        return sum(self.bit[full] for full in names)

    def _others(self, destinations: int) -> int:
        return ((1 << len(self.bit)) - 1) & ~destinations

    @property
    def _every_knob(self) -> int:
        return (1 << len(self.knob_bit)) - 1
