"""Effects: what each demand asks of knobs and destinations, and what some leave to be put on knobs.

A mask is a whole number whose bit ``i`` stands for destination (or knob) number ``i`` of the
request.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property, reduce
from operator import or_

import attrs

from knobpack.numbered.problem import bits
from knobpack.solver.rivals import Piece, Pieces
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
        self.names, self.knobs = tuple(request.by_full_name), request.surface.knob_names
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
                limits = ((self._bit[name], self._knob_bit[knob]),)
                return Effect(placed=self._bit[name], limits=limits)
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

    def _named(self, names: Iterable[str]) -> int:
        return sum(self._bit[full] for full in names)

    def _others(self, destinations: int) -> int:
        return ((1 << len(self._bit)) - 1) & ~destinations


def pieces_under(effects: Effects, wanted: Iterable[Demand], among: int | None = None) -> Pieces:
    """The pieces that ``wanted`` leave to be put on knobs, in the order of the request.

    Args:
        effects: what each demand of the request asks.
        wanted: some of the demands.
        among: the mask of the destinations that pieces are made of; None: what must be placed.
    """
    asked = [effects.of[demand] for demand in wanted]
    among = placed_by(asked) if among is None else among
    limits = [limit for effect in asked for limit in effect.limits]
    split = [pair for effect in asked for pair in effect.split]
    return Pieces(
        tuple(
            Piece(mask, _allowed(mask, limits, effects.every_knob), against(mask, split))
            for mask in _joined(asked, among)
        )
    )


def limit_of(wanted: Iterable[Demand], kind: str) -> int | None:
    """The limit of this kind that ``wanted`` sets; None: none."""
    return next((demand.subject for demand in wanted if demand.kind == kind), None)


def placed_by(asked: Iterable[Effect]) -> int:
    """The mask of the destinations that some demands want to be placed."""
    return reduce(or_, (effect.placed for effect in asked), 0)


def against(mask: int, split: Iterable[tuple[int, int]]) -> int:
    """What shares no knob with ``mask``; some of ``mask`` itself if two of its members cannot."""
    found = 0
    for a, b in split:
        in_a, in_b = mask & a, mask & b
        if in_a and in_b:
            # One destination alone on both sides is no rival of itself.
            found |= (a | b) & ~mask if (in_a | in_b).bit_count() == 1 else a | b
        elif in_a:
            found |= b
        elif in_b:
            found |= a
    return found


def _joined(asked: Iterable[Effect], among: int) -> list[int]:
    """The masks of the pieces: of some destinations, with all that must be together with them."""
    groups: list[int] = []
    for own in (effect.joined for effect in asked if effect.joined):
        meeting = [group for group in groups if group & own]
        groups = [group for group in groups if not group & own]
        groups.append(reduce(or_, meeting, own))
    pieces = [group for group in groups if group & among]
    alone = bits(among & ~reduce(or_, pieces, 0))
    return sorted((*pieces, *(1 << bit for bit in alone)), key=lambda mask: mask & -mask)


def _allowed(mask: int, limits: Sequence[tuple[int, int]], every_knob: int) -> int:
    allowed = every_knob
    for destinations, knobs in limits:
        if destinations & mask:
            allowed &= knobs
    return allowed
