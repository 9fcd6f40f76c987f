"""Peer: simulated annealing over allocations, in plain Python.

Its moves keep every demand: a unit goes to another knob, two units or two knobs change places, a
unit that is left out pushes others off, and a knob is emptied into another and handed to what it
splits off a third. What is of a bundle and on one knob mostly goes along. What a set of units costs
on a knob is remembered, so a move takes some microseconds. Each tier has a temperature of its own,
and the first that a move changes decides.
"""

from __future__ import annotations

import math
import random

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.placing import placed_well
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import NOWHERE, Change, State, ones
from knobpack.words import Request

HOT, COLD = 250.0, 20.0
"""Temperatures at the ends of a cooling, in points of sharing (tried on seeds not reported)."""

FIRST_ROUND = 600
"""Moves for each unit in the first cooling; each cooling after it is twice as long."""

ALONE = 0.2
"""How often a unit leaves its bundle behind."""

REPORTS = 0.1
"""Seconds between two layouts told, at least."""

FOR_PLACES = 0.1
"""The share of the time that is left for the tiers after *sharing*."""


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Anneal until the time is up; then anneal the places on the panel."""
    clock = Clock.of(seconds)
    costs = Costs(shape_of(request))
    state = State(costs)
    insert_all(state)
    tell(costs.shape.layout(state.knob))
    search = Annealing(state, tell, Clock(clock.end - FOR_PLACES * seconds))
    best = search.run()
    placed = costs.shape.layout(placed_well(costs, best, clock))
    tell(placed)
    return Answer(placed)


class Annealing:
    """One search: rounds of cooling, the best allocation kept."""

    def __init__(self, state: State, tell: Tell, clock: Clock) -> None:
        self.state, self.tell, self.clock = state, tell, clock
        self.draw = random.Random(1)  # noqa: S311 (no secret)
        self.best, self.best_value = list(state.knob), state.value
        shape = state.shape
        self.loose = [
            unit for unit, knobs in enumerate(shape.open) if len(knobs) > shape.required[unit]
        ]
        self.told, self.told_at = state.value, clock.left
        self.scales = _middles(state.costs)

    def run(self) -> list[int]:
        """Cool down again and again until the time is up; the knob of each unit at best.

        Where four tiers cost nothing, none is needed.
        """
        if not self.loose:
            return self.best
        moves = FIRST_ROUND * len(self.loose)
        while self.clock.left > 0 and self.best_value:
            self.cool(moves)
            moves *= 2
        return self.best

    def cool(self, moves: int) -> None:
        """Cool down once, over so many moves, or fewer if the clock does not allow them."""
        step = math.exp(math.log(COLD / HOT) / moves)
        temperature = HOT
        began, whole = self.clock.left, moves
        for done in range(moves):
            if done % 256 == 0:
                left = self.clock.left
                self._report(left)
                if left <= 0:
                    return
                # A round that would outlast the clock cools faster.
                if done and (whole - done) * (began - left) / done > left:
                    whole = done + max(1, int(left * done / (began - left)))
                    step = math.exp(math.log(COLD / temperature) / max(1, whole - done))
            temperature = max(COLD, temperature * step)
            self._move(temperature)

    def _report(self, left: float) -> None:
        """Tell the best now and then, if it is new."""
        if self.best_value < self.told and self.told_at - left > REPORTS:
            self.told, self.told_at = self.best_value, left
            self.tell(self.state.shape.layout(self.best))

    def _move(self, temperature: float) -> None:
        state = self.state
        changes = self._drawn()
        if not changes:
            return
        undo = [(unit, state.knob[unit]) for unit, _ in changes]
        dearer = state.tried(changes)
        if dearer is None:
            return
        if dearer > 0 and not self._taken(dearer, temperature):
            state.undo(undo)
            return
        state.value += dearer
        if state.value < self.best_value:
            self.best_value, self.best = state.value, list(state.knob)

    def _taken(self, dearer: int, temperature: float) -> bool:
        """Whether a move for the worse is made all the same."""
        if 2 * dearer < self.state.breaking:
            heat = dearer / temperature
        else:
            *earlier, sharing = self.state.parted(dearer)
            # The earlier tiers cool down faster, so that what is later is settled under them.
            share = (temperature / HOT) ** 2
            heat = sharing / temperature
            for value, scale in zip(earlier, self.scales, strict=True):
                if value:
                    heat = value / (scale * share)
                    break
        return heat < 700 and self.draw.random() < math.exp(-heat)

    def _drawn(self) -> list[Change]:
        chance, unit = self.draw.random(), self.draw.choice(self.loose)
        if self.state.knob[unit] == NOWHERE and chance < 0.7:
            return self._pushed(unit)
        if chance < 0.45:
            return self._shifted(unit)
        if chance < 0.83:
            return self._swapped(unit)
        if chance < 0.85:
            return self._exchanged(unit)
        return self._handed_over(unit)

    def _mate(self, unit: int) -> int | None:
        """A unit that may share with this one and is on another knob."""
        mates = self.state.shape.mates[unit]
        if not mates:
            return None
        mate = self.draw.choice(mates)
        return None if self.state.knob[mate] in (self.state.knob[unit], NOWHERE) else mate

    def _with_bundle(self, unit: int) -> list[int]:
        """A unit, and mostly with it what is of its bundle and where it is."""
        knob = self.state.knob
        if self.draw.random() < ALONE:
            return [unit]
        return [each for each in self.state.bundle_of[unit] if knob[each] == knob[unit]]

    def _shifted(self, unit: int) -> list[Change]:
        state, going = self.state, self._with_bundle(unit)
        if self.draw.random() < 0.8:
            mate = self._mate(unit)
            to = state.knob[unit if mate is None else mate]
        else:
            to = self.draw.choice(state.shape.open[unit])
            if state.left_out[unit] < state.leaving and self.draw.random() < 0.5:
                # To leave it out costs nothing in the first tier, so that may be best.
                to = NOWHERE
        return [] if to == state.knob[unit] else [(each, to) for each in going]

    def _swapped(self, unit: int) -> list[Change]:
        # What may not share may well change places, but seldom does any good.
        mate = self.draw.choice(self.loose) if self.draw.random() < 0.1 else self._mate(unit)
        if mate is None:
            return []
        here, there = self.state.knob[unit], self.state.knob[mate]
        if here == there:
            return []
        changes = [(each, there) for each in self._with_bundle(unit)]
        return changes + [(each, here) for each in self._with_bundle(mate)]

    def _exchanged(self, unit: int) -> list[Change]:
        """All that is on one knob for all that is on another."""
        state, here = self.state, self.state.knob[unit]
        there = self.draw.choice(state.shape.open[unit])
        if here in (there, NOWHERE):
            return []
        changes = [(each, there) for each in ones(state.on[here])]
        return changes + [(each, here) for each in ones(state.on[there])]

    def _pushed(self, unit: int) -> list[Change]:
        """Put a unit that is left out on a knob; what may not be there with it is left out."""
        state = self.state
        knob = self.draw.choice(state.shape.open[unit])
        coming = self._with_bundle(unit)
        off = 0
        for each in coming:
            off |= state.shape.clashes[each] & state.on[knob]
        changes = [(each, knob) for each in coming]
        changes += [(other, NOWHERE) for other in ones(off)]
        if state.routes >= state.most_routes and not off:
            changes.append((self.draw.choice(self.loose), NOWHERE))
        return changes if len(dict(changes)) == len(changes) else []

    def _handed_over(self, unit: int) -> list[Change]:
        """Empty the knob of this unit onto a mate's, and split another knob onto it."""
        state, mate = self.state, self._mate(unit)
        knob = state.knob[unit]
        other = state.knob[self.draw.choice(self.loose)]
        if mate is None or NOWHERE in (knob, other) or other in (knob, state.knob[mate]):
            return []
        emptied = [(each, state.knob[mate]) for each in ones(state.on[knob])]
        inner = list(ones(state.on[other]))
        if len(inner) < 2:
            return []
        return [*emptied, *((each, knob) for each in self._part(inner))]

    def _part(self, units: list[int]) -> list[int]:
        """Some of these: of one kind, of one voice, or any."""
        costs, shape = self.state.costs, self.state.shape
        numbers = self.draw.choice((costs.kind, costs.voice, None))
        if numbers is None:
            return [each for each in units if self.draw.random() < 0.5]
        like = numbers[shape.units[self.draw.choice(units)][0]]
        return [each for each in units if numbers[shape.units[each][0]] == like]


def _middles(costs: Costs) -> tuple[float, float, float]:
    """About what one change of each of the first three tiers comes to, in their points."""
    unplaced = [each for each in costs.unplaced if each] or [1]
    breaks = [broken.weight for broken in costs.broken] or [1]
    return sum(unplaced) / len(unplaced) / 2, 0.5, sum(breaks) / len(breaks) / 2
