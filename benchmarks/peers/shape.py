"""A request as the peers read it: units, knobs, and what may not share, as whole numbers.

Made from the words alone; nothing of knobpack's own solver is in it. Destinations, units and knobs
are numbered from 0, in the order of the request and of the panel.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from itertools import combinations

import attrs

from knobpack.words import Alone, Apart, Barred, Fixed, Layout, Request, Route, Together

Pair = tuple[int, int]


@attrs.frozen
class Guard:
    """What is inside shares with nothing outside (units)."""

    inside: frozenset[int]


@attrs.frozen(eq=False)
class Shape:
    """What is demanded, in numbers.

    Args:
        request: what was asked.
        units: destinations that are on one knob, or all on none.
        open: for each unit, the knobs that it may be on, in panel order.
        required: for each unit, whether it must be placed.
        movement: for each unit, the number of the set of unbreakable snapshots that move it.
        apart: pairs of units that may not share, the lower one first.
        guards: the required *alone* rules; and what is hidden, may be left out and so joins
            nothing but its bundle, because that is always better.
    """

    request: Request
    units: tuple[tuple[int, ...], ...]
    open: tuple[tuple[int, ...], ...]
    required: tuple[bool, ...]
    movement: tuple[int, ...]
    apart: tuple[Pair, ...]
    guards: tuple[Guard, ...]

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The full names of the destinations."""
        return tuple(self.request.by_full_name)

    @cached_property
    def number(self) -> dict[str, int]:
        """The number of each destination."""
        return {name: at for at, name in enumerate(self.names)}

    @cached_property
    def knob_count(self) -> int:
        """How many knobs there are."""
        return len(self.request.surface.knobs)

    @cached_property
    def unit_of(self) -> tuple[int, ...]:
        """The unit of each destination."""
        found = [0] * len(self.names)
        for at, unit in enumerate(self.units):
            for each in unit:
                found[each] = at
        return tuple(found)

    @cached_property
    def clashes(self) -> tuple[int, ...]:
        """For each unit, the mask of the units that it may not share a knob with."""
        found = [0] * len(self.units)
        for one, other in combinations(range(len(self.units)), 2):
            if self.movement[one] != self.movement[other]:
                found[one] |= 1 << other
                found[other] |= 1 << one
        for one, other in self.apart:
            found[one] |= 1 << other
            found[other] |= 1 << one
        for guard in self.guards:
            inside = sum(1 << unit for unit in guard.inside)
            outside = (1 << len(self.units)) - 1 - inside
            for unit in range(len(self.units)):
                found[unit] |= outside if unit in guard.inside else inside
        return tuple(found)

    @cached_property
    def mates(self) -> tuple[tuple[int, ...], ...]:
        """For each unit, the other units that it may share a knob with."""
        count = len(self.units)
        return tuple(
            tuple(v for v in range(count) if v != u and not self.clashes[u] >> v & 1)
            for u in range(count)
        )

    @cached_property
    def alike_knobs(self) -> tuple[tuple[int, ...], ...]:
        """Knobs that the demands and the first four tiers do not tell apart, two or more."""
        open_to: dict[int, list[int]] = {knob: [] for knob in range(self.knob_count)}
        for unit, knobs in enumerate(self.open):
            for knob in knobs:
                open_to[knob].append(unit)
        kept = {route.knob for route in self.request.keep.routes}
        groups: dict[tuple[int, ...], list[int]] = {}
        for knob, units in open_to.items():
            if self.request.surface.knob_names[knob] not in kept and units:
                groups.setdefault(tuple(units), []).append(knob)
        return tuple(tuple(knobs) for knobs in groups.values() if len(knobs) > 1)

    def layout(self, knob_of: Iterable[int]) -> Layout:
        """The layout that puts each unit on a knob, or nowhere (-1)."""
        knobs = self.request.surface.knob_names
        routes = [
            (knob, each)
            for unit, knob in zip(self.units, knob_of, strict=True)
            for each in unit
            if knob >= 0
        ]
        return Layout(tuple(Route(self.names[each], knobs[knob]) for knob, each in sorted(routes)))


def shape_of(request: Request) -> Shape:
    """Read a request."""
    names = tuple(request.by_full_name)
    number = {name: at for at, name in enumerate(names)}
    units = _units(request, number)
    unit_of = {each: at for at, unit in enumerate(units) for each in unit}

    def of(words: Iterable[str]) -> frozenset[int]:
        return frozenset(unit_of[number[name]] for name in request.named(words))

    firm = [request.moved(each) for each in request.played if each.break_weight is None]
    moves = [tuple(name in moved for moved in firm) for name in names]
    classes = {each: at for at, each in enumerate(dict.fromkeys(moves))}
    apart = {
        (min(one, other), max(one, other))
        for rule in request.rules
        if isinstance(rule, Apart) and rule.weight is None
        for one in of(rule.first)
        for other in of(rule.second)
    }
    # A unit that may not share with itself, or moves both ways, fits nowhere.
    torn = {one for one, other in _torn(request, number, unit_of) if one == other}
    torn |= {at for at, unit in enumerate(units) if len({moves[each] for each in unit}) > 1}
    torn |= set(_half_inside(request, units, names))
    held = _held(request, units, names)
    return Shape(
        request=request,
        units=units,
        open=tuple(() if at in torn else tuple(sorted(held[at])) for at in range(len(units))),
        required=tuple(_required(request, units, names)),
        movement=tuple(classes[moves[unit[0]]] for unit in units),
        apart=tuple(sorted(pair for pair in apart if pair[0] != pair[1])),
        guards=(
            *(
                Guard(of(rule.names))
                for rule in request.rules
                if isinstance(rule, Alone) and rule.weight is None
            ),
            *(Guard(of(names)) for names in _expendable(request)),
        ),
    )


def _units(request: Request, number: dict[str, int]) -> tuple[tuple[int, ...], ...]:
    """Destinations joined by required *together* rules."""
    leader = list(range(len(number)))
    for rule in request.rules:
        if isinstance(rule, Together) and rule.weight is None:
            joined = [leader[number[name]] for name in request.named(rule.names)]
            if joined:
                least = min(joined)
                leader = [least if each in joined else each for each in leader]
    found: dict[int, list[int]] = {}
    for each, lead in enumerate(leader):
        found.setdefault(lead, []).append(each)
    return tuple(tuple(unit) for unit in found.values())


def _torn(request: Request, number: dict[str, int], unit_of: dict[int, int]) -> Iterator[Pair]:
    """The units of each two different destinations that must be apart."""
    for rule in request.rules:
        if isinstance(rule, Apart) and rule.weight is None:
            for one in request.named(rule.first):
                for other in request.named(rule.second):
                    if one != other:
                        yield unit_of[number[one]], unit_of[number[other]]


def _expendable(request: Request) -> list[tuple[str, ...]]:
    """What is never worth joining to anything, each bundle of it at once."""
    bundled = [each.names for each in request.bundles if request.expendable.issuperset(each.names)]
    loose = request.expendable.difference(*bundled)
    return [*bundled, *((name,) for name in request.by_full_name if name in loose)]


def _half_inside(
    request: Request, units: tuple[tuple[int, ...], ...], names: tuple[str, ...]
) -> Iterator[int]:
    """The units of which a required *alone* rule names some destinations and not all."""
    for rule in request.rules:
        if isinstance(rule, Alone) and rule.weight is None:
            inside = set(request.named(rule.names))
            for at, unit in enumerate(units):
                if len({names[each] in inside for each in unit}) > 1:
                    yield at


def _held(
    request: Request, units: tuple[tuple[int, ...], ...], names: tuple[str, ...]
) -> list[set[int]]:
    """The knobs that each unit may be on."""
    at = {knob: position for position, knob in enumerate(request.surface.knob_names)}
    kept = {route.destination: at[route.knob] for route in request.keep.routes}
    reserved = {at[knob] for knob in request.surface.reserved}
    may: dict[str, set[int]] = {name: set(at.values()) - reserved for name in names}
    for name, knob in kept.items():
        may[name] = {knob}
    for rule in request.rules:
        if isinstance(rule, Fixed | Barred) and rule.weight is None:
            for name in request.named(rule.names):
                if isinstance(rule, Fixed):
                    may[name] &= {at[rule.knob]}
                else:
                    may[name] -= {at[knob] for knob in rule.knobs}
    return [set.intersection(*(may[names[each]] for each in unit)) for unit in units]


def _required(
    request: Request, units: tuple[tuple[int, ...], ...], names: tuple[str, ...]
) -> Iterator[bool]:
    kept = {route.destination for route in request.keep.routes}
    fixed = {
        name
        for rule in request.rules
        if isinstance(rule, Fixed) and rule.weight is None
        for name in request.named(rule.names)
    }
    for unit in units:
        inner = [names[each] for each in unit]
        yield any(request.by_full_name[n].must_place or n in kept or n in fixed for n in inner)
