"""MARCO: all minimal sets of demands that clash, and all minimal ways out.

A map says which parts of the demands are not known yet: those that hold no clashing set found
before and give up no way out found before whole. A part from the map that nothing can be added to
is either impossible, and then a new clashing set is in it, or what it gives up is a new way out.
Once the map is empty, everything is found. (M. H. Liffiton, A. Previti, A. Malik, J.
Marques-Silva, "Fast, flexible MUS enumeration", Constraints 21, 2016; cited from memory.)
"""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.clash import mcs
from knobpack.clash.every import MORE_SETS, MORE_WAYS
from knobpack.clash.feasible import Feasible
from knobpack.clash.find import WayOut
from knobpack.clash.mus import confirmed, grow, shrink
from knobpack.errors import Fault, Stopped
from knobpack.numbered.problem import bits
from knobpack.solver.cp_sat import cp_model, cpsat
from knobpack.solver.watch import EFFORT
from knobpack.words.demand import Demand

_CHEAPEST = 10
"""Ways out, at most, that are looked for in the order of their prices: that order costs time."""

Part = int
"""Some of the demands of a request, as a mask: bit ``i`` stands for demand number ``i``."""


@attrs.frozen(eq=False)
class Marco:
    """What is found so far, which is also the map of what is not.

    Args:
        feasible: answers for a request that is impossible.
        sets: minimal clashing sets.
        ways: what to give up; minimal.
        least: proven prices: every other way out costs as much as the last of them, or more.
    """

    feasible: Feasible
    sets: list[Part] = attrs.field(factory=list)
    ways: list[Part] = attrs.field(factory=list)
    least: list[int] = attrs.field(factory=list)

    def cheapest(self, most: int) -> None:
        """Find the ``most`` cheapest ways out, or fewer, with half of the effort that is left."""
        half = self.feasible.watch.slice(self.feasible.watch.effort / 2)
        for way in mcs.ways_out(attrs.evolve(self.feasible, watch=half), min(most, _CHEAPEST)):
            # What is proven the cheapest that holds no other way out is minimal.
            certain = way if way.proven else grow(self.feasible, way.demands)
            part = self._part(certain.demands)
            rest = self._demands(self._part(self.feasible.demands) & ~part)
            if certain.proven and part not in self.ways and confirmed(self.feasible, rest).possible:
                self.ways.append(part)
                self.least.extend([self._price(part)] if way.proven else [])

    def explore(self, most: int) -> Stopped | None:
        """Find everything else, until the map is empty.

        Args:
            most: of the sets and of the ways out.

        Returns:
            Why it stopped before; None: everything is found.
        """
        while True:
            status, seed = self._seed()
            if status is cpsat.Status.IMPOSSIBLE:
                return None
            wanted = self._demands(seed)
            known = status is not cpsat.Status.UNKNOWN
            possible = confirmed(self.feasible, wanted).possible if known else None
            if possible is None:
                break
            if possible:
                if len(self.ways) >= most:
                    return MORE_WAYS
                # Nothing can be added to the seed without a clash: what it lacks must all go.
                self.ways.append(self._part(self.feasible.demands) & ~seed)
                if self._price(self.ways[-1]) < max(self.least, default=0):
                    raise Fault("two models disagree on which ways out are the cheapest")
                continue
            if len(self.sets) >= most:
                return MORE_SETS
            part = shrink(self.feasible, wanted)
            if not part.proven:
                break
            self.sets.append(self._part(part.demands))
        return self.feasible.watch.stopped or EFFORT

    def told_sets(self) -> tuple[tuple[Demand, ...], ...]:
        """The clashing sets, in their order."""
        ordered = sorted(self.sets, key=lambda part: (part.bit_count(), [*bits(part)]))
        return tuple(map(self._demands, ordered))

    def told_ways(self, *, complete: bool) -> tuple[WayOut, ...]:
        """The ways out, in their order; if not all are found, a cheaper one may be missing."""

        def order(part: Part) -> tuple[int, int, list[int]]:
            last = [-position for position in reversed([*bits(part)])]
            return self._price(part), part.bit_count(), last

        proven = max(self.least, default=-1)
        return tuple(
            WayOut(self._demands(part), self._price(part), complete or self._price(part) <= proven)
            for part in sorted(self.ways, key=order)
        )

    def _seed(self) -> tuple[cpsat.Status, Part]:
        """A part that is still on the map and that nothing can be added to, if one was found."""
        model = cp_model.CpModel()
        kept = [model.new_bool_var("") for _ in self.feasible.demands]
        for part in self.sets:
            model.add_bool_or([~kept[position] for position in bits(part)])
        for part in self.ways:
            model.add_bool_or([kept[position] for position in bits(part)])
        answer = cpsat.solve(model, self.feasible.watch)
        if answer.value is None:
            return answer.status, 0
        seed = sum(answer.value(each) << position for position, each in enumerate(kept))
        demands = self.feasible.demands
        # The dearest are taken in first, so that what is left to give up is cheap.
        for position in sorted(range(len(demands)), key=lambda each: -demands[each].price):
            larger = seed | 1 << position
            if not any(part & ~larger == 0 for part in self.sets):
                seed = larger
        return answer.status, seed

    def _price(self, part: Part) -> int:
        return sum(demand.price for demand in self._demands(part))

    def _demands(self, part: Part) -> tuple[Demand, ...]:
        return tuple(self.feasible.demands[position] for position in bits(part))

    def _part(self, demands: Iterable[Demand]) -> Part:
        chosen = set(demands)
        return sum(1 << p for p, demand in enumerate(self.feasible.demands) if demand in chosen)
