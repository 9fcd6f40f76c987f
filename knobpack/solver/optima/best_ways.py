"""Every best way to share, not only those that may be laid out better than others.

All divisions of the knobs among the families, and in each all cheapest ways of each family, are
gone through. Each is a best way if its best arrangement costs what the best layout does.
"""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.errors import Fault
from knobpack.numbered.less import breaking_only, broken_by_atoms
from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.arrange import TooManyStatesError, arrange, lower_bound
from knobpack.solver.arrangement.cluster import Places, Signature, Variant
from knobpack.solver.optima.dominance import TooManyVariantsError, Variants
from knobpack.solver.outcome import UPPER, Values
from knobpack.solver.value_functions.of_families import ValueFunctions, proven_value_functions_of
from knobpack.solver.watch import Watch

MOST_EXAMINED = 100_000
"""Ways that are best in the first four tiers and are looked at, at most."""

EFFORT_PER_WAY = 2e-5
"""Effort to look at one way."""

EFFORT_PER_ARRANGEMENT = 1e-3
"""Effort to arrange one way on the panel, besides what the search itself counts."""


def best_ways(problem: Problem, values: Values, watch: Watch) -> Iterator[dict[int, int]] | None:
    """Go through every best way to share.

    Args:
        problem: the problem.
        values: the values of its best placement, proven.
        watch: what may cut the search short.

    Returns:
        None where the value functions are not sure to be exact. Else an iterator, which gives the
        knob of each item that is placed, for one best placement of each way; it ends early when
        the watch stops it, and raises TooManyVariantsError or TooManyStatesError where it would
        take too long.
    """
    broken = broken_by_atoms(problem, (1 << problem.items) - 1)
    placed = not values[0] and all(each.needed or each.omission for each in problem.atoms)
    if problem.breakable and values[2] == broken and (placed or not broken):
        # What breaks no more than its atoms do by themselves is valid, at the same price but for
        # that, where nothing may be broken.
        problem, values = breaking_only(problem), (*values[:2], 0, *values[3:])
    solved = proven_value_functions_of(problem, watch)
    if solved is None or solved.values != values[:UPPER]:
        return None
    return _Walk(problem, solved, values).all(watch)


class _Walk:
    """Goes through the ways that are best in the first four tiers."""

    def __init__(self, problem: Problem, solved: ValueFunctions, values: Values) -> None:
        self.problem = problem
        self.solved = solved
        places = Places.of(problem)
        self.families = [Variants(family, places) for family in solved.families]
        self.lost = sum(places.omission(a.items) for a in problem.atoms if not a.knobs)
        self.cost = values[UPPER] * places.change + values[UPPER + 1]
        self.signatures: dict[Signature, int] = {}
        self.too_dear: set[tuple[object, ...]] = set()

    def all(self, watch: Watch) -> Iterator[dict[int, int]]:
        """The best ways, each placed on knobs."""
        examined = 0
        for counts in self.solved.division.all():
            for way in self._ways(counts):
                examined += 1
                if examined > MOST_EXAMINED:
                    raise TooManyVariantsError
                watch.spend(EFFORT_PER_WAY)
                if watch.over():
                    return
                found = self._arranged(way, watch)
                if found is not None:
                    yield found

    def _ways(self, counts: tuple[int, ...], own: tuple[Variant, ...] = ()) -> Iterator[Variant]:
        """Every way to share, each family taking so many knobs that no atom is pinned to.

        Those of the first families are ``own`` already.
        """
        if len(own) == len(counts):
            yield Variant.joined(own, self.lost)
            return
        for each in self.families[len(own)].every(counts[len(own)]):
            yield from self._ways(counts, (*own, each))

    def _arranged(self, way: Variant, watch: Watch) -> dict[int, int] | None:
        """The knob of each item, if its best arrangement costs no more than the best layout."""
        # Ways whose clusters are alike are arranged for the same: see Signature.
        alike = sorted(
            (self.signatures.setdefault(each.signature, len(self.signatures)), each.pull)
            for each in way.clusters
        )
        key = (way.omission, *alike)
        if key in self.too_dear:
            return None
        most = self.cost - way.omission
        if lower_bound(self.problem, way.clusters) <= most:
            watch.spend(EFFORT_PER_ARRANGEMENT)
            found = arrange(self.problem, way.clusters, watch)
            if found is not None and found.cost < most:
                raise Fault(
                    "a layout was found that is better than the one proven best; "
                    "please report this request"
                )
            if found is not None and found.cost == most:
                return found.knobs
            if found is not None and found.bound <= most and watch.stopped is None:
                raise TooManyStatesError
        self.too_dear.add(key)
        return None
