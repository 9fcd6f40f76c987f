"""Relaxed: the textbook model with every demand free to be given up.

It is written apart from :mod:`knobpack.solver.pieces` on purpose: what one says is impossible, the
other must say too.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import cached_property
from typing import TypeAlias

import attrs
from ortools.sat.python import cp_model

from knobpack.solver import cpsat
from knobpack.solver.effects import Effect, Effects, bits
from knobpack.solver.feasible import COUNTS
from knobpack.solver.packing import order_knobs
from knobpack.solver.watch import Watch
from knobpack.words import demand as words
from knobpack.words.demand import Demand

Places: TypeAlias = dict[int, list[cp_model.IntVar]]
"""For each destination that may have to be placed, a boolean for each knob."""


@attrs.frozen
class Correction:
    """Demands given up so that all the others can be met.

    Args:
        demands: those given up, in asking order.
        proven: whether it is proven that none that was not found before costs less.
    """

    demands: tuple[Demand, ...]
    proven: bool


@attrs.frozen(eq=False)
class Relaxed:
    """The model of one request, with a literal for each demand: whether it is met.

    Args:
        demands: every demand of the request.
        effects: what each of them asks.
    """

    demands: tuple[Demand, ...]
    effects: Effects

    def core(self, wanted: Collection[Demand], watch: Watch) -> tuple[Demand, ...]:
        """Some of ``wanted`` that cannot be met together, as CP-SAT says: check them again.

        Returns:
            The demands, in asking order; all of ``wanted`` where the solver gives none.
        """
        model, met = self._built.model.clone(), self._built.met
        model.add_assumptions([met[demand] for demand in self.demands if demand in wanted])
        core = set(cpsat.solve(model, watch).core)
        found = tuple(d for d in self.demands if d in wanted and met[d].index in core)
        return found or tuple(wanted)

    def correction(
        self, known: Iterable[Sequence[Demand]], watch: Watch, effort: float
    ) -> Correction | None:
        """The cheapest demands to give up that do not hold all of a set in ``known``.

        Args:
            known: sets of demands; from each at least one is met.
            watch: what may stop the search.
            effort: how much deterministic effort it may take.

        Returns:
            What to give up; None where there is nothing else, or none was found in time.
        """
        model, met = self._built.model.clone(), self._built.met
        for demands in known:
            model.add_bool_or([met[demand] for demand in demands])
        # What costs nothing must not be given up for nothing either.
        free = sum(1 for demand in self.demands if not demand.price)
        model.minimize(
            sum((demand.price * (free + 1) or 1) * ~met[demand] for demand in self.demands)
        )
        answer = cpsat.solve(model, watch, effort=effort)
        if answer.value is None:
            return None
        given_up = tuple(demand for demand in self.demands if not answer.value(met[demand]))
        return Correction(given_up, answer.status is cpsat.Status.OPTIMAL)

    @cached_property
    def _built(self) -> _Built:
        return _Built.of(self.demands, self.effects)


@attrs.frozen(eq=False)
class _Built:
    model: cp_model.CpModel
    met: dict[Demand, cp_model.IntVar]
    on: Places
    absent: dict[int, cp_model.IntVar]

    @classmethod
    def of(cls, demands: tuple[Demand, ...], effects: Effects) -> _Built:
        model = cp_model.CpModel()
        met = {demand: model.new_bool_var("") for demand in demands}
        knobs = range(len(effects.knobs))
        on = {
            bit: [model.new_bool_var("") for _ in knobs]
            for bit in bits(_concerned(effects.of.values()))
        }
        absent = {bit: model.new_bool_var("") for bit in on}
        built = cls(model, met, on, absent)
        for bit, places in on.items():
            model.add_exactly_one(*places, absent[bit])
        for demand, literal in met.items():
            effect = effects.of[demand]
            built.place(effect, literal)
            built.join(effect, literal)
            built.limit(effect, literal, effects.every_knob)
        built.part([(effects.of[demand], literal) for demand, literal in met.items()], len(knobs))
        built.count(demands)
        _order_alike(model, effects, on)
        return built

    def place(self, effect: Effect, met: cp_model.IntVar) -> None:
        for bit in bits(effect.placed):
            self.model.add_at_most_one(self.absent[bit], met)

    def join(self, effect: Effect, met: cp_model.IntVar) -> None:
        joined = [self.on[bit] for bit in bits(effect.joined) if bit in self.on]
        for places in joined[1:]:
            for here, first in zip(places, joined[0], strict=True):
                self.model.add_bool_or(~here, first, ~met)
                self.model.add_bool_or(here, ~first, ~met)

    def limit(self, effect: Effect, met: cp_model.IntVar, every_knob: int) -> None:
        for destinations, knobs in effect.limits:
            for bit in bits(destinations):
                for knob in bits(every_knob & ~knobs) if bit in self.on else ():
                    self.model.add_at_most_one(self.on[bit][knob], met)

    def part(self, wanted: Sequence[tuple[Effect, cp_model.IntVar]], knobs: int) -> None:
        """Each demand that splits destinations gives each knob a side, and keeps to it."""
        splits = [(pair, met) for effect, met in wanted for pair in effect.split]
        claims = self._claims([pair for pair, _ in splits], knobs)
        for (first, second), met in splits:
            sides = [self.model.new_bool_var("") for _ in range(knobs)]
            for members, claimed in claims.items():
                for here, side in zip(claimed, sides, strict=True):
                    if members & first & ~second:
                        self.model.add_bool_or(~here, side, ~met)
                    elif members & second & ~first:
                        self.model.add_bool_or(~here, ~side, ~met)
            for bit in bits(first & second):
                others = (first | second) & ~(1 << bit)
                for other in bits(others) if bit in self.on else ():
                    for one, two in zip(self.on[bit], self.on.get(other, ()), strict=False):
                        self.model.add_bool_or(~one, ~two, ~met)

    def _claims(
        self, splits: Sequence[tuple[int, int]], knobs: int
    ) -> dict[int, list[cp_model.IntVar]]:
        """Destinations on the same sides everywhere, and whether any of them is on each knob."""
        classes: dict[tuple[tuple[bool, bool], ...], int] = {}
        for bit in self.on:
            sides = tuple((bool(a >> bit & 1), bool(b >> bit & 1)) for a, b in splits)
            classes[sides] = classes.get(sides, 0) | 1 << bit
        claims = {}
        for members in classes.values():
            claims[members] = [self.model.new_bool_var("") for _ in range(knobs)]
            for bit in bits(members):
                for here, claimed in zip(self.on[bit], claims[members], strict=True):
                    self.model.add_implication(here, claimed)
        return claims

    def count(self, demands: Sequence[Demand]) -> None:
        """The limits of the surface: on destinations per knob, routes, layers and snapshots."""
        for demand in demands:
            literal = self.met[demand]
            if demand.kind == words.PER_KNOB:
                for places in zip(*self.on.values(), strict=True):
                    self._at_most(places, demand.subject, literal)
            if demand.kind == words.ROUTES:
                routes = [here for places in self.on.values() for here in places]
                self._at_most(routes, demand.subject, literal, len(self.on))
            for limit, member in COUNTS:
                if demand.kind == limit:
                    members = [self.met[each] for each in demands if each.kind == member]
                    self._at_most(members, demand.subject, literal)

    def _at_most(
        self, what: Sequence[cp_model.IntVar], most: int, met: cp_model.IntVar, ever: int | None = None
    ) -> None:
        """At most ``most`` of these if ``met``; written so that the linear relaxation sees it."""
        excess = (len(what) if ever is None else ever) - most
        if excess > 0:
            self.model.add(sum(what) + excess * met <= most + excess)


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
    alike: dict[tuple[bool, ...], list[int]] = {}
    for knob in range(len(effects.knobs)):
        told = tuple(bool(knobs >> knob & 1) for knobs in named)
        alike.setdefault(told, []).append(knob)
    for members in alike.values():
        order_knobs(model, [dict(enumerate(places)) for places in on.values()], members)
