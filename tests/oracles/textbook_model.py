"""The booleans of the textbook model, and all that is demanded of them."""

from __future__ import annotations

from itertools import pairwise

import attrs

from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Rule,
    Together,
    Travel,
)
from tests.oracles.linear import Programme, Sum, minimise, number, total

NOTHING = number(0)
ONE = number(1)
Pairs = list[tuple[str, str]]


class Model:
    """The booleans of one request: ``x[name, knob]`` is 1 where the knob drives the destination."""

    def __init__(self, request: Request) -> None:
        self.request = request
        self.programme = Programme()
        self.knobs = request.surface.knob_names
        self.names = tuple(request.by_full_name)
        boolean = self.programme.boolean
        self.x = {(name, knob): boolean() for name in self.names for knob in self.knobs}
        self.placed = {name: self.over_knobs(name) for name in self.names}
        for name in self.names:
            self.programme.at_most(self.placed[name], ONE)
        self.used = {knob: self.any_of(self.names, knob) for knob in self.knobs}
        self.takes = {knob: self._travels(knob) for knob in self.knobs}

    def over_knobs(self, name: str) -> Sum:
        """1 if the destination is on a knob, else 0."""
        return total(self.x[name, knob] for knob in self.knobs)

    def _travels(self, knob: str) -> dict[Travel, Sum]:
        """1 for the travel that the knob takes: one wanted on it, unless the base's is kept."""
        if any(route.knob == knob for route in self.request.keep.routes):
            for setting in self.request.keep.travels:
                if setting.knob == knob:
                    return {setting.travel: ONE}
        wanting: dict[Travel, list[Sum]] = {}
        for name in self.names:
            wanting.setdefault(self.request.wanted(name), []).append(self.x[name, knob])
        taken = {travel: self.programme.boolean() for travel in wanting}
        self.programme.equal(total(taken.values()), self.used[knob])
        for travel, on in wanting.items():
            self.programme.at_most(taken[travel], total(on))
        return taken

    def inner(self, name: str) -> Destination:
        """The destination of a full name."""
        return self.request.by_full_name[name]

    def any_of(self, names: tuple[str, ...], knob: str) -> Sum:
        """1 if a knob carries any of these, else 0."""
        return self.either([self.x[name, knob] for name in names])

    def either(self, sums: list[Sum]) -> Sum:
        """1 if any of these booleans is 1, else 0."""
        if not sums:
            return NOTHING
        found = self.programme.boolean()
        self.programme.at_most(found, total(sums))
        for each in sums:
            self.programme.at_most(each, found)
        return found

    def both(self, one: Sum, other: Sum) -> Sum:
        """1 if both booleans are 1, else 0."""
        found = self.programme.boolean()
        self.programme.at_most(found, one)
        self.programme.at_most(found, other)
        self.programme.at_most(one + other, found + ONE)
        return found

    def pairs(self, first: tuple[str, ...], second: tuple[str, ...]) -> Pairs:
        """The pairs of one of ``first`` and another of ``second``, each pair once."""
        a, b = self.request.named(first), self.request.named(second)
        return sorted({(min(i, j), max(i, j)) for i in a for j in b if i != j})


def contradicted(request: Request) -> bool:
    """Whether some destination could be on no open knob, though nothing else had to be placed.

    Each is asked for by itself, in a model of its own on the open knobs, in which what is fixed
    may be left out and is barred from everywhere else, and nothing is kept.
    """
    surface = request.surface
    open_knobs = [knob for knob in surface.knob_names if knob not in surface.reserved]
    kept = {route.destination for route in request.keep.routes}
    alone = attrs.evolve(
        request,
        surface=attrs.evolve(surface, routes=None),
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(attrs.evolve(d, must_place=False) for d in voice.destinations),
            )
            for voice in request.voices
        ),
        rules=tuple(_unfixed(request, rule) for rule in request.rules),
        keep=Layout(),
    )
    for name in request.by_full_name if open_knobs else ():
        model = Model(alone)
        demand(model)
        model.programme.equal(model.placed[name], ONE)
        if name not in kept and minimise(model.programme, NOTHING, 60.0).status == "impossible":
            return True
    return False


def _unfixed(request: Request, rule: Rule) -> Rule:
    if not isinstance(rule, Fixed) or rule.weight is not None:
        return rule
    others = tuple(knob for knob in request.surface.knob_names if knob != rule.knob)
    return Barred(rule.names, others) if others else attrs.evolve(rule, weight=1)


def demand(model: Model) -> None:
    """Lay down every demand of the request, but those on layers and stored snapshots."""
    _demand_places(model)
    _demand_room(model)
    for snapshot in model.request.played:
        if snapshot.break_weight is None:
            moved = model.request.moved(snapshot)
            _part(model, [n for n in model.names if n in moved])
    for rule in model.request.rules:
        if rule.weight is None:
            _demand_rule(model, rule)


def _demand_places(model: Model) -> None:
    kept = {(route.destination, route.knob) for route in model.request.keep.routes}
    for name in model.names:
        if model.inner(name).must_place:
            model.programme.equal(model.placed[name], ONE)
        for knob in model.knobs:
            if (name, knob) in kept:
                model.programme.equal(model.x[name, knob], ONE)
            elif knob in model.request.surface.reserved:
                model.programme.equal(model.x[name, knob], NOTHING)


def _demand_room(model: Model) -> None:
    surface = model.request.surface
    if surface.destinations_per_knob is not None:
        for knob in model.knobs:
            carried = total(model.x[name, knob] for name in model.names)
            model.programme.at_most(carried, number(surface.destinations_per_knob))
    if surface.routes is not None:
        model.programme.at_most(total(model.placed.values()), number(surface.routes))


def _demand_rule(model: Model, rule: Rule) -> None:
    match rule:
        case Together(names=names):
            for one, other in pairwise(model.request.named(names)):
                for knob in model.knobs:
                    model.programme.equal(model.x[one, knob], model.x[other, knob])
        case Apart(first=first, second=second):
            _forbid(model, model.pairs(first, second))
        case Alone(names=names):
            _part(model, list(model.request.named(names)))
        case Fixed(names=names, knob=knob):
            _set(model, names, (knob,), ONE)
        case Barred(names=names, knobs=knobs):
            _set(model, names, knobs, NOTHING)


def _set(model: Model, names: tuple[str, ...], knobs: tuple[str, ...], to: Sum) -> None:
    for name in model.request.named(names):
        for knob in knobs:
            model.programme.equal(model.x[name, knob], to)


def _part(model: Model, inside: list[str]) -> None:
    """None of these shares a knob with any other destination."""
    outside = [name for name in model.names if name not in inside]
    _forbid(model, [(one, other) for one in inside for other in outside])


def _forbid(model: Model, pairs: Pairs) -> None:
    for one, other in pairs:
        for knob in model.knobs:
            model.programme.at_most(model.x[one, knob] + model.x[other, knob], ONE)
