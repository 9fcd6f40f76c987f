"""Lone: what may be contradicted has a knob of its own that could take it, all else left out.

Written for the textbook model, apart from :mod:`knobpack.clash.pieces` on purpose. Each such
destination is looked at by itself: a boolean for every other says whether it is bound to it by the
demands that are met, and one of the knobs is chosen that could take all of those. Destinations
that the same demands bind, and that every demand treats alike, count as one.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import attrs
from ortools.sat.python import cp_model

from knobpack.clash.effects import Effects
from knobpack.problem import bits
from knobpack.words import demand as words
from knobpack.words.demand import Demand

Unless = tuple[cp_model.LiteralT, ...]
"""Literals of which one is enough for a demand not to count; none if it is held firm."""


def contradict_nothing(
    model: cp_model.CpModel, given_up: Mapping[Demand, Unless], effects: Effects, doubtful: int
) -> None:
    """Demand that what is met leaves each of some destinations a knob, all else left out.

    Args:
        model: what to add this to.
        given_up: every demand of the request, with the literal that it is given up.
        effects: what each of them asks.
        doubtful: the mask of the destinations.
    """
    alike = _alike(given_up, effects, doubtful)
    closing = [given_up[d] for d in given_up if d.kind == words.RESERVED]
    if alike and len(closing) == len(effects.knobs):
        # While all knobs are closed, nothing is contradicted.
        closed = model.new_bool_var("")
        for unless in closing:
            for literal in unless:
                model.add_implication(closed, ~literal)
        given_up = {demand: (*unless, closed) for demand, unless in given_up.items()}
    for root in alike:
        _Lone.build(model, alike, effects, root).demand(given_up)


def _alike(given_up: Mapping[Demand, Unless], effects: Effects, doubtful: int) -> dict[int, int]:
    """The first of each class of destinations that count as one, and how many they are."""
    first: dict[object, int] = {}
    alike: dict[int, int] = {}
    for bit in bits(doubtful):
        told = tuple(
            (effect.joined >> bit & 1, effect.sides(bit))
            for effect in (effects.of[demand] for demand in given_up)
        )
        leader = first.setdefault(told, bit)
        alike[leader] = alike.get(leader, 0) + 1
    return alike


@attrs.frozen(eq=False)
class _Lone:
    """One destination, with what is bound to it, on a knob of its own.

    Args:
        model: what to add to.
        alike: the first of each class, and how many they are.
        effects: what each demand asks.
        root: the destination.
        bound: for each class whether it is bound to the root.
        several: whether the others of the root's class are, too.
        on: for each knob whether it is the one.
    """

    model: cp_model.CpModel
    alike: Mapping[int, int]
    effects: Effects
    root: int
    bound: dict[int, cp_model.IntVar]
    several: cp_model.IntVar
    on: Sequence[cp_model.IntVar]

    @classmethod
    def build(
        cls, model: cp_model.CpModel, alike: Mapping[int, int], effects: Effects, root: int
    ) -> _Lone:
        bound = {bit: model.new_bool_var("") for bit in alike}
        on = [model.new_bool_var("") for _ in effects.knobs]
        model.add(bound[root] == 1)
        model.add_exactly_one(on)
        return cls(model, alike, effects, root, bound, model.new_bool_var(""), on)

    def demand(self, given_up: Mapping[Demand, Unless]) -> None:
        for demand, unless in given_up.items():
            effect = self.effects.of[demand]
            self._bind(effect.joined, unless)
            for first, second in effect.split:
                self._part(first, second, unless)
            for limited, knobs in effect.limits:
                self._limit(limited, knobs, unless)
            if demand.kind == words.PER_KNOB:
                self._count(demand.subject, unless)

    def _within(self, destinations: int) -> list[int]:
        return [bit for bit in self.alike if destinations >> bit & 1]

    def _bind(self, joined: int, unless: Unless) -> None:
        for one, other in pairwise(self._within(joined)):
            self.model.add_bool_or(~self.bound[one], self.bound[other], *unless)
            self.model.add_bool_or(self.bound[one], ~self.bound[other], *unless)
        if joined >> self.root & 1:
            self.model.add_bool_or(self.several, *unless)

    def _part(self, first: int, second: int, unless: Unless) -> None:
        ones, others = self._within(first), self._within(second)
        if not ones or not others:
            return
        side = self.model.new_bool_var("")
        for bit in ones:
            if not second >> bit & 1:
                self.model.add_implication(self.bound[bit], side)
        for bit in others:
            if not first >> bit & 1:
                self.model.add_bool_or(~self.bound[bit], ~side, *unless)
        for bit in self._within(first & second):
            # It is at odds with every other on either side, those of its own class included.
            for other in self._within((first | second) & ~(1 << bit)):
                self.model.add_bool_or(~self.bound[bit], ~self.bound[other], *unless)
            if self.alike[bit] > 1:
                alone = (~self.several,) if bit == self.root else ()
                self.model.add_bool_or(~self.bound[bit], *alone, *unless)

    def _limit(self, limited: int, knobs: int, unless: Unless) -> None:
        for bit in self._within(limited):
            for knob in bits(self.effects.every_knob & ~knobs):
                self.model.add_bool_or(~self.bound[bit], ~self.on[knob], *unless)

    def _count(self, most: int, unless: Unless) -> None:
        own = 1 + (self.alike[self.root] - 1) * self.several
        rest = (n * self.bound[bit] for bit, n in self.alike.items() if bit != self.root)
        limit = self.model.add(own + sum(rest) <= most)
        if unless:
            limit.only_enforce_if([~literal for literal in unless])
