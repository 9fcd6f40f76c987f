"""The textbook model: a boolean for each unit and knob, in the best form that a solver gets.

What may not share is said by cliques (one set of snapshots to a knob) rather than pair by pair; a
knob's travel is a facility that destinations are served from, the form with the tight relaxation;
knobs that nothing tells apart are taken in order, as long as only the first three tiers are asked.
"""

from __future__ import annotations

from itertools import pairwise

from benchmarks.peers.booleans import Booleans
from benchmarks.peers.costs import Costs

UNPLACED, INDEPENDENCE, SHARING, CHANGE, LAYOUT = range(5)


class Textbook:
    """The demands of one request as booleans; ``on[unit, knob]`` says that the one is there.

    Args:
        costs: the request and its tables.
        ordered: whether knobs that the first three tiers do not tell apart are taken in order.

    ``units_on`` lists, for each knob, the units that it may carry.
    """

    def __init__(self, costs: Costs, *, ordered: bool) -> None:
        self.costs, self.shape = costs, costs.shape
        self.model = Booleans()
        self.on: dict[tuple[int, int], int] = {}
        for unit, knobs in enumerate(self.shape.open):
            for knob in knobs:
                self.on[unit, knob] = self.model.new()
        self.units_on: dict[int, list[int]] = {knob: [] for knob in range(self.shape.knob_count)}
        for unit, knob in self.on:
            self.units_on[knob].append(unit)
        self.placed = [self._placed(unit) for unit in range(len(self.shape.units))]
        self._movements()
        self._pairs_and_guards()
        self._limits()
        if ordered:
            for knobs in self.shape.alike_knobs:
                self._in_order(knobs)

    def here(self, destination: int, knob: int) -> int | None:
        """The variable of a destination on a knob; None where it cannot be there."""
        return self.on.get((self.shape.unit_of[destination], knob))

    def all_here(self, knob: int, destinations: tuple[int, ...]) -> list[int]:
        """The variables of some destinations on a knob, each once."""
        found = (self.here(each, knob) for each in destinations)
        return list(dict.fromkeys(each for each in found if each is not None))

    def knob_of(self, true: list[bool]) -> list[int]:
        """The knob of each unit, -1 where it has none, in an assignment."""
        found = [-1] * len(self.shape.units)
        for (unit, knob), variable in self.on.items():
            if true[variable]:
                found[unit] = knob
        return found

    def _placed(self, unit: int) -> int:
        places = [self.on[unit, knob] for knob in self.shape.open[unit]]
        self.model.at_most(places, 1)
        placed = self.model.any_of(places)
        if self.shape.required[unit]:
            self.model.clause(placed)
        return placed

    def _movements(self) -> None:
        """A knob moves in one set of the unbreakable snapshots."""
        for knob in range(self.shape.knob_count):
            by_movement: dict[int, list[int]] = {}
            for unit in self.units_on[knob]:
                variables = by_movement.setdefault(self.shape.movement[unit], [])
                variables.append(self.on[unit, knob])
            if len(by_movement) > 1:
                used = [self.model.reached_by(each) for each in by_movement.values()]
                self.model.at_most(used, 1)

    def _pairs_and_guards(self) -> None:
        on = self.on
        for knob in range(self.shape.knob_count):
            for one, other in self.shape.apart:
                if (one, knob) in on and (other, knob) in on:
                    self.model.clause(-on[one, knob], -on[other, knob])
            for guard in self.shape.guards:
                guarded = self.model.new()
                for unit in self.units_on[knob]:
                    kept = guarded if unit in guard.inside else -guarded
                    self.model.clause(-on[unit, knob], kept)

    def _limits(self) -> None:
        surface, units = self.shape.request.surface, self.shape.units
        if surface.destinations_per_knob is not None:
            for knob in range(self.shape.knob_count):
                here = [self.on[u, knob] for u in self.units_on[knob] for _ in units[u]]
                self.model.at_most(here, surface.destinations_per_knob)
        if surface.routes is not None:
            placed = [self.placed[unit] for unit, inner in enumerate(units) for _ in inner]
            self.model.at_most(placed, surface.routes)

    def _in_order(self, knobs: tuple[int, ...]) -> None:
        """A unit is on one of these knobs only if one before it is on the knob before.

        The units are gone through with one of each movement first: those cannot share, so that
        the first choices are settled at once.
        """
        units = list(self.units_on[knobs[0]])
        first = {self.shape.movement[unit]: unit for unit in reversed(units)}
        units.sort(key=lambda unit: (first[self.shape.movement[unit]] != unit, unit))
        for before, after in pairwise(knobs):
            opened: int | None = None
            for unit in units:
                later = self.on[unit, after]
                self.model.clause(*((-later, opened) if opened else (-later,)))
                here = [self.on[unit, before], *([opened] if opened else [])]
                # True only where a unit up to this one is on the knob before.
                opened = self.model.new()
                self.model.clause(-opened, *here)
