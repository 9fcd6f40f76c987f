"""The textbook model: a boolean for each unit and knob, in the best form that a solver gets.

What may not share is said by cliques (one set of snapshots to a knob) rather than pair by pair; a
knob's travel is a facility that destinations are served from, the form with the tight relaxation;
knobs that nothing tells apart are taken in order, as long as only the first four tiers are asked.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from benchmarks.peers.booleans import Booleans
from benchmarks.peers.completion import completed
from benchmarks.peers.costs import Costs

UNPLACED, BUNDLES, INDEPENDENCE, SHARING, CHANGE, LAYOUT = range(6)


class Textbook:
    """The demands of one request as booleans; ``on[unit, knob]`` says that the one is there.

    Args:
        costs: the request and its tables.
        ordered: whether knobs that the first four tiers do not tell apart are taken in order.

    ``units_on`` lists, for each knob, the units that it may carry. The goals list what they leave
    to choose: in ``takes`` the variable of each travel that a knob may take, in ``spare`` whether
    there is no second, third, … load on a knob, in ``follows`` those that say whether a knob
    follows a snapshot that may be broken, with the knob and what moves.
    """

    def __init__(self, costs: Costs, *, ordered: bool) -> None:
        self.costs, self.shape = costs, costs.shape
        self.model = Booleans()
        self.takes: dict[int, dict[int, int]] = {}
        self.spare: dict[int, list[int]] = {}
        self.follows: list[tuple[int, int, frozenset[int]]] = []
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
        self.ordered = self.shape.alike_knobs if ordered else ()
        for knobs in self.ordered:
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

    def assignment(self, knob_of: Sequence[int]) -> dict[int, bool]:
        """A value for each variable in which units are on these knobs, at the least price.

        Knobs that are taken in order change places where they have to.
        """
        places = self._renamed(knob_of)
        given = {variable: places[unit] == knob for (unit, knob), variable in self.on.items()}
        inner: dict[int, list[int]] = {}
        for each, unit in enumerate(self.shape.unit_of):
            inner.setdefault(places[unit], []).append(each)
        missed, wanted = self.costs.missed, self.costs.wanted
        for knob, takes in self.takes.items():
            here = inner.get(knob, [])
            had = self.costs.had.get(knob)
            prices = {
                travel: (sum(missed[each][travel] for each in here), travel != had, travel)
                for travel in {wanted[each] for each in here}
            }
            best = min(prices, key=prices.__getitem__, default=None)
            given |= {variable: travel == best for travel, variable in takes.items()}
        for knob, spare in self.spare.items():
            loads = {self.costs.load[each] for each in inner.get(knob, [])}
            given |= {place: at >= len(loads) for at, place in enumerate(spare, start=1)}
        for variable, knob, moved in self.follows:
            here = inner.get(knob, [])
            given[variable] = 2 * sum(each in moved for each in here) > len(here)
        return completed(self.model, given)

    def _renamed(self, knob_of: Sequence[int]) -> list[int]:
        """The same sets with knobs that are alike in order."""
        new = {knob: knob for knob in range(-1, self.shape.knob_count)}
        for knobs in self.ordered:
            used = dict.fromkeys(
                knob_of[unit] for unit in self._sequence(knobs) if knob_of[unit] in knobs
            )
            new |= dict(zip((*used, *(k for k in knobs if k not in used)), knobs, strict=True))
        return [new[knob] for knob in knob_of]

    def _sequence(self, knobs: Sequence[int]) -> list[int]:
        """The units that may be on these knobs, one of each movement first.

        Those cannot share, so that the first choices are settled at once.
        """
        units = self.units_on[knobs[0]]
        first = {self.shape.movement[unit]: unit for unit in reversed(units)}
        return sorted(units, key=lambda unit: (first[self.shape.movement[unit]] != unit, unit))

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
                inside = [unit for unit in self.units_on[knob] if unit in guard.inside]
                self.model.means(guarded, (on[unit, knob] for unit in inside))
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
        """A unit is on one of these knobs only if one before it is on the knob before."""
        units = self._sequence(knobs)
        for before, after in pairwise(knobs):
            opened: int | None = None
            for unit in units:
                later = self.on[unit, after]
                self.model.clause(*((-later, opened) if opened else (-later,)))
                here = [self.on[unit, before], *([opened] if opened else [])]
                # True only where a unit up to this one is on the knob before.
                opened = self.model.new()
                self.model.clause(-opened, *here)
                self.model.means(opened, here)
