"""Soft: the textbook model of a request in which demands may be given up.

It is written apart from :mod:`knobpack.clash.pieces` on purpose: what one says is impossible, the
other must say too. Demands that are held firm are written without a literal of their own: only so
does the solver's linear relaxation see them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from typing import TypeAlias

import attrs
import networkx as nx
from ortools.sat.python import cp_model

from knobpack.clash.effects import Effect, Effects
from knobpack.clash.isolated import isolated
from knobpack.clash.lone import contradict_nothing
from knobpack.problem import bits
from knobpack.solver.cliques import clique_cover
from knobpack.solver.packing import order_knobs
from knobpack.words import demand as words
from knobpack.words.demand import Demand

Places: TypeAlias = dict[int, list[cp_model.IntVar]]
"""For each destination that may have to be placed, a boolean for each knob."""


@attrs.frozen(eq=False)
class SoftModel:
    """The model, with a literal for each demand that may be given up: whether it is met.

    Args:
        model: to be cloned before anything is added.
        met: the literals; the demands held firm have none.
        on: where the destinations are.
        absent: whether a destination is left out.
    """

    model: cp_model.CpModel
    met: dict[Demand, cp_model.IntVar]
    on: Places
    absent: dict[int, cp_model.IntVar]

    @classmethod
    def build(
        cls,
        demands: Sequence[Demand],
        effects: Effects,
        firm: Collection[Demand] = (),
        *,
        doubtful: int = 0,
    ) -> SoftModel:
        """Write the model.

        Args:
            demands: every demand of the request.
            effects: what each of them asks.
            firm: those that are not given up.
            doubtful: the mask of the destinations that the demands may contradict.
        """
        model = cp_model.CpModel()
        concerned = list(bits(_concerned(effects.of.values())))
        knobs = range(len(effects.knobs))
        built = cls(
            model,
            {demand: model.new_bool_var("") for demand in demands if demand not in firm},
            {bit: [model.new_bool_var("") for _ in knobs] for bit in concerned},
            {bit: model.new_bool_var("") for bit in concerned},
        )
        for bit, places in built.on.items():
            model.add_exactly_one(*places, built.absent[bit])
        for demand in demands:
            effect = effects.of[demand]
            built._place(effect, demand)
            built._join(effect, demand)
            built._limit(effect, demand, effects.every_knob)
            built._count(demand, demands)
        splits = [(demand, pair) for demand in demands for pair in effects.of[demand].split]
        classes = built._part(splits)
        built._count_knobs(isolated(classes, splits), effects)
        _order_alike(model, effects, built.on)
        contradict_nothing(
            model, {demand: built._given_up(demand) for demand in demands}, effects, doubtful
        )
        return built

    def _given_up(self, demand: Demand) -> tuple[cp_model.LiteralT, ...]:
        """The literal that ``demand`` is given up; none if it is held firm."""
        return (~self.met[demand],) if demand in self.met else ()

    def _exclude(self, literal: cp_model.IntVar, demand: Demand) -> None:
        """``literal`` is false where ``demand`` is met."""
        if demand in self.met:
            self.model.add_at_most_one(literal, self.met[demand])
        else:
            self.model.add(literal == 0)

    def _place(self, effect: Effect, demand: Demand) -> None:
        for bit in bits(effect.placed):
            self._exclude(self.absent[bit], demand)

    def _join(self, effect: Effect, demand: Demand) -> None:
        joined = [self.on[bit] for bit in bits(effect.joined) if bit in self.on]
        either = self._given_up(demand)
        for places in joined[1:]:
            for here, first in zip(places, joined[0], strict=True):
                self.model.add_bool_or(~here, first, *either)
                self.model.add_bool_or(here, ~first, *either)

    def _limit(self, effect: Effect, demand: Demand, every_knob: int) -> None:
        for destinations, knobs in effect.limits:
            for bit in bits(destinations):
                for knob in bits(every_knob & ~knobs) if bit in self.on else ():
                    self._exclude(self.on[bit][knob], demand)

    def _count(self, demand: Demand, demands: Sequence[Demand]) -> None:
        """The limits of the surface: on destinations per knob, routes, layers and snapshots."""
        if demand.kind == words.PER_KNOB:
            for places in zip(*self.on.values(), strict=True):
                self._at_most(places, demand)
        if demand.kind == words.ROUTES:
            self._at_most([~absent for absent in self.absent.values()], demand)
        for limit, member in words.COUNTS:
            if demand.kind == limit:
                counted = [each for each in demands if each.kind == member]
                firm = sum(1 for each in counted if each not in self.met)
                self._at_most([self.met[d] for d in counted if d in self.met], demand, firm)

    def _at_most(self, what: Sequence[cp_model.LiteralT], demand: Demand, counted: int = 0) -> None:
        bound = self.model.add(sum(what) + counted <= demand.subject)
        if demand in self.met:
            bound.only_enforce_if(self.met[demand])

    def _part(self, splits: Sequence[tuple[Demand, tuple[int, int]]]) -> tuple[int, ...]:
        """Put what is split on different knobs; gives back the classes.

        Destinations on the same sides of every split claim a knob as one. Splits held firm let at
        most one of a clique of such classes claim a knob; every other one gives each knob a side.
        """
        claims = self._claims([pair for _, pair in splits])
        self._part_firmly(claims, [pair for demand, pair in splits if demand not in self.met])
        for demand, (first, second) in splits:
            both = self._given_up(demand)
            self._part_both_sided(first, second, both)
            if not both:
                continue
            sides: dict[int, cp_model.IntVar] = {}
            for members, claimed in claims.items():
                if not members & (first ^ second):
                    continue
                for knob, here in enumerate(claimed):
                    if knob not in sides:
                        sides[knob] = self.model.new_bool_var("")
                    side = sides[knob] if members & first else ~sides[knob]
                    self.model.add_bool_or(~here, side, *both)
        return tuple(claims)

    def _part_both_sided(
        self, first: int, second: int, either: Sequence[cp_model.LiteralT]
    ) -> None:
        """A destination on both sides of a split shares with no other of either."""
        for bit in bits(first & second):
            others = (first | second) & ~(1 << bit)
            for other in bits(others) if bit in self.on else ():
                for one, two in zip(self.on[bit], self.on.get(other, ()), strict=False):
                    self.model.add_bool_or(~one, ~two, *either)

    def _part_firmly(
        self, claims: dict[int, list[cp_model.IntVar]], splits: Sequence[tuple[int, int]]
    ) -> None:
        classes = list(claims)
        against = dict.fromkeys(classes, 0)
        for first, second in splits:
            for members in classes:
                against[members] |= second if members & first & ~second else 0
                against[members] |= first if members & second & ~first else 0
        rivalry: nx.Graph[int] = nx.Graph()
        for number, members in enumerate(classes):
            for later in range(number + 1, len(classes)):
                if against[members] & classes[later]:
                    rivalry.add_edge(number, later)
        for clique in clique_cover(rivalry):
            for claimed in zip(*(claims[classes[number]] for number in clique), strict=True):
                self.model.add_at_most_one(claimed)
            self._part_one_by_one([list(bits(classes[number])) for number in clique])

    def _count_knobs(
        self, isolated: Sequence[tuple[list[int], list[Demand]]], effects: Effects
    ) -> None:
        """What is parted from everything else counted has a knob to itself: there must be enough.

        This follows from the rest, but without it the solver would try every way of giving up
        splits.

        Args:
            isolated: destinations of one class, and demands that part them from the others.
            effects: what each demand asks of knobs.
        """
        lost = [each for _, parting in isolated for d in parting for each in self._given_up(d)]
        for turn in range(max((len(members) for members, _ in isolated), default=0)):
            chosen = [members[turn % len(members)] for members, _ in isolated]
            closed = _closed(sum(1 << bit for bit in chosen), effects)
            opened = [each for demand in closed.values() for each in self._given_up(demand)]
            placed = cp_model.LinearExpr.sum([~self.absent[bit] for bit in chosen])
            room = cp_model.LinearExpr.sum([*lost, *opened])
            self.model.add(placed <= room + len(effects.knobs) - len(closed))

    def _part_one_by_one(self, classes: Sequence[list[int]]) -> None:
        """Say it of the destinations too, one of each class at a time.

        It follows from the claims, but the solver's linear relaxation does not see that.
        """
        most = max(map(len, classes))
        for turn in range(most) if most > 1 else ():
            chosen = [self.on[members[turn % len(members)]] for members in classes]
            for here in zip(*chosen, strict=True):
                self.model.add_at_most_one(here)

    def _claims(self, splits: Sequence[tuple[int, int]]) -> dict[int, list[cp_model.IntVar]]:
        """Destinations on the same sides everywhere, and whether any of them is on each knob."""
        classes: dict[tuple[tuple[int, int], ...], int] = {}
        for bit in self.on:
            sides = tuple((a >> bit & 1, b >> bit & 1) for a, b in splits)
            classes[sides] = classes.get(sides, 0) | 1 << bit
        claims = {}
        for members in classes.values():
            bits_of = list(bits(members))
            if len(bits_of) == 1:
                claims[members] = self.on[bits_of[0]]
                continue
            claims[members] = [self.model.new_bool_var("") for _ in self.on[bits_of[0]]]
            for bit in bits_of:
                for here, claimed in zip(self.on[bit], claims[members], strict=True):
                    self.model.add_at_most_one(here, ~claimed)
        return claims


def _closed(destinations: int, effects: Effects) -> dict[int, Demand]:
    """The knobs that none of ``destinations`` may be on, each with a demand that says so."""
    closed: dict[int, Demand] = {}
    for demand, effect in effects.of.items():
        for limited, knobs in effect.limits:
            if not destinations & ~limited:
                for knob in bits(effects.every_knob & ~knobs):
                    closed.setdefault(knob, demand)
    return closed


def _concerned(effects: Iterable[Effect]) -> int:
    """What may have to be placed: the rest is left out at no price, whatever is given up."""
    effects = tuple(effects)
    found = 0
    for effect in effects:
        found |= effect.placed
    grown = -1
    while grown != found:
        grown = found
        for effect in effects:
            if effect.joined & found:
                found |= effect.joined
    return found


def _order_alike(model: cp_model.CpModel, effects: Effects, on: Places) -> None:
    """Order the knobs that no demand tells apart: they stay alike, whatever is given up."""
    named = [knobs for effect in effects.of.values() for _, knobs in effect.limits]
    alike: dict[tuple[int, ...], list[int]] = {}
    for knob in range(len(effects.knobs)):
        told = tuple(knobs >> knob & 1 for knobs in named)
        alike.setdefault(told, []).append(knob)
    for members in alike.values():
        order_knobs(model, [dict(enumerate(places)) for places in on.values()], members)
